import { z } from 'zod';
import { choice, day, id, int, shape } from '../platform/shapes.js';

const wholeNumber = int(0, 2_000_000_000);
export const ArrivalComponentKind = choice('ArrivalComponentKind', ['history', 'promise', 'backOrder']);
export const ArrivalComponent = shape(
  'ArrivalComponent',
  {
    kind: ArrivalComponentKind,
    share: z.number().meta({ description: 'Its share in the forecast after the wait so far.' }),
    receipts: wholeNumber.meta({
      scalar: 'Int',
      description: 'Receipts that it rests on; 0 when the rest of the shop speaks.',
    }),
    outstanding: wholeNumber.meta({ scalar: 'Int', description: 'Lines still out that count as at least so long.' }),
  },
  "One of the guides that an arrival forecast mixes: the lead times, the supplier's promise, or the record of back-orders.",
);
export const Arrival = shape(
  'Arrival',
  {
    orderLineId: id,
    supplierId: id,
    asOf: day,
    waitedDays: wholeNumber,
    promisedDate: day.nullable(),
    backOrdered: z.boolean(),
    p50Date: day
      .nullable()
      .meta({ description: 'By this day it has come with one chance in two; null beyond two years.' }),
    p80Date: day.nullable(),
    p95Date: day.nullable(),
    probabilityByDate: z
      .number()
      .nullable()
      .meta({ description: 'Chance that it has come by the end of the day asked about.' }),
    probabilityBeyondHorizon: z.number().meta({ description: 'Chance that it does not come within two years.' }),
    components: z.array(ArrivalComponent),
    reasons: z.array(z.string()),
  },
  'When the rest of an order line is expected, given that it has not come yet.',
);

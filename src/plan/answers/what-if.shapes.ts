import { z } from 'zod';
import { day, decimal, id, int, shape, wholeNumber } from '../../platform/shapes.js';
import { PlaceKind } from '../../shop/shop.shapes.js';

const share = z.number().meta({ scalar: 'Float' });

export const WhatIfInput = z.strictObject({
  orderLineId: id.nullish().meta({ scalar: 'ID', description: 'An outstanding order line that comes later …' }),
  daysLate: int(-365, 365)
    .nullish()
    .meta({ scalar: 'Int', description: '… by so many days than it would have; negative is sooner.' }),
  offFrom: day.nullish().meta({ scalar: 'Day', description: 'Days off from this day …' }),
  offTo: day.nullish().meta({ scalar: 'Day', description: '… to this; the same day unless said.' }),
  offPersonId: id.nullish().meta({ scalar: 'ID', description: 'For one person; for all unless said.' }),
  extraPlace: PlaceKind.nullish().meta({ description: 'One more of a kind, such as a second spray area.' }),
  withoutJobId: id.nullish().meta({ scalar: 'ID', description: 'A job that is given up.' }),
  heatedCureCelsius: decimal(5, 60).nullish().meta({
    scalar: 'Float',
    description: 'Coats cure at this temperature: parts stand on a heated rack, or the area is heated …',
  }),
  heatedCureJobId: id.nullish().meta({ scalar: 'ID', description: '… those of one job; all unless said.' }),
  heatedSprayArea: z
    .boolean()
    .nullish()
    .meta({ description: 'Paint may go on in all working hours: the spray area is heated.' }),
  extraMinutesADay: int(1, 720).nullish().meta({ scalar: 'Int', description: 'Every working day ends so much later.' }),
});

export const JobDifference = shape(
  'JobDifference',
  {
    jobId: id,
    jobNumber: wholeNumber,
    jobTitle: z.string(),
    expectedBefore: day.nullable(),
    expectedAfter: day.nullable(),
    p80Before: day.nullable(),
    p80After: day.nullable(),
    meanDays: share
      .nullable()
      .meta({ scalar: 'Float', description: 'Mean over the scenarios, each beside itself; negative is sooner.' }),
    probabilitySooner: share.meta({
      scalar: 'Float',
      description: 'Share of the scenarios in which it would be finished sooner.',
    }),
    probabilityLater: share,
    probabilityByDueBefore: share.nullable(),
    probabilityByDueAfter: share.nullable(),
    probabilityBeforeSnowBefore: share.nullable(),
    probabilityBeforeSnowAfter: share.nullable(),
  },
  'One job with the change beside the same job without it.',
);

export const WhatIf = shape(
  'WhatIf',
  {
    change: z.string().meta({ description: 'What was asked, in words.' }),
    scenarios: wholeNumber,
    seed: wholeNumber,
    expectedReadyBefore: share.nullable().meta({
      scalar: 'Float',
      description:
        'How many jobs are likely finished before the first snow, as the plan is; null while no chance is known.',
    }),
    expectedReadyAfter: share.nullable().meta({ scalar: 'Float' }),
    jobs: z.array(JobDifference).meta({ description: 'Those most moved first.' }),
    reasons: z.array(z.string()),
    cautions: z.array(z.string()).meta({ description: 'What to mind where the change can hurt somebody.' }),
  },
  'What a change would do, without making it.',
);

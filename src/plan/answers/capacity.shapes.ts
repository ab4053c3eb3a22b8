/** How many more machines can be ready, as chances. */
import { z } from 'zod';
import { MachineKind } from '../../machines/machines.shapes.js';
import { day, decimal, shape, wholeNumber } from '../../platform/shapes.js';

export const CapacityLevel = shape(
  'CapacityLevel',
  {
    probability: decimal(0, 1),
    count: wholeNumber.meta({ scalar: 'Int', description: 'So many more are all in time with at least this chance.' }),
    lastIntakeDates: z.array(day).meta({
      description:
        'The last day, week by week, to take the first, the second, … in, those before it having come today. One that fits only ' +
        'in the plan for a greater number has none.',
    }),
  },
  'How many more at one chance.',
);
export const CapacitySeries = shape(
  'CapacitySeries',
  {
    kind: MachineKind.nullable().meta({ description: 'Null: kinds by turns.' }),
    routeNames: z.array(z.string()),
    levels: z.array(CapacityLevel).meta({ description: 'At 50, 80 and 95 %.' }),
    probabilities: z
      .array(decimal(0, 1))
      .meta({ description: 'The chance that one more, two more, … are all in time without making an open one late.' }),
  },
  'How many more machines of a kind, or of kinds by turns, can be in time.',
);
export const Capacity = shape(
  'Capacity',
  {
    asOf: day,
    readyBy: day.nullable(),
    series: z
      .array(CapacitySeries)
      .meta({ description: 'Each kind by itself, then mixed; none while the season is unknown.' }),
    reasons: z.array(z.string()),
  },
  'How many more machines can be ready before the snow, planned among the open jobs, as chances.',
);

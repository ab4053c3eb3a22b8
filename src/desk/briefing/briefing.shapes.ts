import { z } from 'zod';
import { MachineKind } from '../../machines/machines.shapes.js';
import { BenchList, CapacityByKind } from '../../plan/answers/plan.shapes.js';
import { day, id, priced, shape } from '../../platform/shapes.js';
import { PriceBasis } from '../../resale/price.shapes.js';
import { JobStatus } from '../../work/work.shapes.js';

const share = z.number().nullable().meta({ scalar: 'Float' });

export const BriefingJob = shape(
  'BriefingJob',
  {
    jobId: id,
    number: z.number().int().meta({ scalar: 'Int' }),
    title: z.string(),
    status: JobStatus,
    p50Date: day.nullable().meta({ scalar: 'Day', description: 'Finished by this day with one chance in two …' }),
    p80Date: day.nullable().meta({ scalar: 'Day', description: '… and by this with four in five.' }),
    probabilityBeforeSnow: share,
    waitsFor: z.string().nullable().meta({
      description: 'The wait most worth telling; of a finished machine, the safety checks that stand against it.',
    }),
    cashCost: priced,
    fullCost: priced,
    ask: priced,
    askBasedOn: PriceBasis.nullable().meta({ description: 'Null without an ask.' }),
  },
  'One open job at a glance.',
);

export const BriefingBid = shape(
  'BriefingBid',
  { kind: MachineKind, highestBid: priced, expectedPrice: priced, reasons: z.array(z.string()) },
  'What to pay at most for the next machine of a kind.',
);

export const Briefing = shape(
  'Briefing',
  {
    shopName: z.string(),
    currency: z.string(),
    today: day,
    bench: BenchList.meta({
      description: '1. What to work on: today, or the next day on which something can be done.',
    }),
    jobs: z
      .array(BriefingJob)
      .meta({ description: '2. When each will be done; 3. what each has cost; 4. what to ask for it.' }),
    bids: z.array(BriefingBid).meta({ description: '5. What to pay for the next one.' }),
    capacity: z.array(CapacityByKind).meta({ description: '6. How many more can be ready before it snows.' }),
    readyBy: day.nullable(),
    firstSnowMedian: day.nullable(),
    readyCount: z
      .number()
      .int()
      .nullable()
      .meta({ scalar: 'Int', description: 'How many are likely finished by readyBy; null while that is unknown.' }),
    inSeasonCount: z.number().int().meta({ scalar: 'Int' }),
    bottleneck: z.string().meta({ description: 'What stands most in the way of more.' }),
    notes: z
      .array(z.string())
      .meta({ description: 'What is not known, and what is taken for granted where the shop has not said it yet.' }),
  },
  'The six answers, today.',
);

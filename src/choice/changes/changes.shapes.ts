import { z } from 'zod';
import { choice, decimal, int, money, shape, wholeNumber } from '../../platform/shapes.js';
import { leverCodes, scarceThings } from './levers.js';

const share = z.number().meta({ scalar: 'Float' });

export const ChangesQuestion = z.strictObject({
  helperWeeks: int(1, 52)
    .nullish()
    .meta({ scalar: 'Int', description: 'For how many weeks a helper would come; 4 unless given.' }),
  heatedCelsius: decimal(10, 40)
    .nullish()
    .meta({ scalar: 'Float', description: 'To what the rack would be heated; 20 unless given.' }),
});

export const ScarceThing = choice('ScarceThing', scarceThings, 'paintWeather: days warm and dry enough to spray.');
export const ChangeCode = choice('ChangeCode', leverCodes);

export const Scarcity = shape(
  'Scarcity',
  {
    resource: ScarceThing,
    decidedShare: share.meta({
      scalar: 'Float',
      description:
        'Share of futures in which more of it than anybody needs would finish some machine a day or more sooner.',
    }),
    worth: money.meta({ scalar: 'Money', description: 'What that much would add.' }),
    worthStandardError: money,
  },
  'How often a resource decided, and what having plenty of it would be worth.',
);

export const PlanChange = shape(
  'PlanChange',
  {
    code: ChangeCode,
    resource: ScarceThing,
    change: z.string(),
    gain: money.meta({ scalar: 'Money', description: 'In margin over the open jobs, before what the change costs.' }),
    gainStandardError: money,
    readyGain: share.meta({ scalar: 'Float', description: 'Throwers more that are ready for the first snow.' }),
    readyGainStandardError: share,
    daysSooner: share.meta({ scalar: 'Float', description: 'Each machine, on average.' }),
    cautions: z.array(z.string()),
    reasons: z.array(z.string()),
  },
  'A change to the shop and what it would bring.',
);

export const PlanChanges = shape(
  'PlanChanges',
  {
    answer: z.string(),
    changes: z.array(PlanChange).meta({ description: 'Those whose gain stands out of its error, the most first.' }),
    withoutClearGain: z.array(z.string()).meta({ description: 'What was tried and cannot be told from no gain.' }),
    scarcity: z.array(Scarcity).meta({ description: 'What decides most often first.' }),
    expectedMargin: money,
    expectedReady: share.nullable(),
    futures: wholeNumber,
    seed: wholeNumber,
    reasons: z.array(z.string()),
  },
  'What is scarce, what it is worth in money, and what to change.',
);

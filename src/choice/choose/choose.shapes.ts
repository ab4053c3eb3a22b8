import { z } from 'zod';
import { MachineKind } from '../../machines/machines.shapes.js';
import { amount, choice, day, decimal, id, int, money, shape, text, wholeNumber } from '../../platform/shapes.js';
import { BidQuestion } from '../../resale/price.shapes.js';
import { treatments } from '../value/machine-value.js';

const share = z.number().meta({ scalar: 'Float' });
/** More at once is no choice that two people can look at. */
export const MAX_CANDIDATES = 24;

export const CandidateGiven = shape(
  'CandidateGiven',
  {
    ...BidQuestion.omit({ targetMarginPercent: true, acceptedProbabilityOfLoss: true }).shape,
    title: text(120).nullish().meta({ description: 'What to call it in the answer.' }),
    floorSpaceSquareMetres: decimal(0.01, 100).nullish().meta({
      scalar: 'Float',
      description: 'The floor it takes; 0.6 a single-stage thrower, 1.2 a two-stage one, 1 any other unless given.',
    }),
  },
  'A machine seen for sale.',
);

export const ChoiceQuestion = z.strictObject({
  candidates: z
    .array(CandidateGiven)
    .max(MAX_CANDIDATES)
    .nullish()
    .meta({ description: 'Machines seen for sale, each as in the bid.' }),
  maxCash: amount.nullish().meta({
    scalar: 'Money',
    description: 'Money that may be out at any time; kept in nine of ten futures.',
  }),
  hoursAWeek: decimal(0.5, 1000).nullish().meta({
    scalar: 'Float',
    description: 'Hours that will be worked in a week, all people together; as entered in the shop unless given.',
  }),
  maxMachines: int(0, 500)
    .nullish()
    .meta({ scalar: 'Int', description: 'Machines in the shop at once, those here among them.' }),
  freeFloorSquareMetres: decimal(0, 100_000)
    .nullish()
    .meta({ scalar: 'Float', description: 'Floor that is free for what is bought.' }),
  changesJobs: z.boolean().nullish().meta({
    description: 'Whether open jobs may be deferred, reduced, sold as found or taken apart; yes unless said.',
  }),
});

export const Treatment = choice(
  'Treatment',
  treatments,
  'defer: behind all others; mechanical: mended, not painted; sellAsFound: described so, not safe to run; partOut: for its parts.',
);

const gain = {
  gain: money.meta({ scalar: 'Money', description: 'Mean over common futures.' }),
  gainStandardError: money,
};

export const MachineChoice = shape(
  'MachineChoice',
  {
    position: wholeNumber.meta({ scalar: 'Int', description: 'Its place in the question, from 1.' }),
    title: z.string(),
    kind: MachineKind,
    buy: z.boolean(),
    price: money.meta({ scalar: 'Money', description: 'The asked price; the highest bid where none was given.' }),
    payUpTo: money.meta({
      scalar: 'Money',
      description:
        'The most to pay: what it adds to the best set, or what the bid allows, whichever is less; zero when not to buy at any price.',
    }),
    ...gain,
    expectedProceeds: money,
    expectedMargin: money.meta({
      scalar: 'Money',
      description: 'Its own: proceeds less price, parts and paint, own time and space.',
    }),
    probabilityOfLoss: share.meta({ scalar: 'Float', description: 'That the cash put into it does not come back.' }),
    startDate: day.nullable(),
    p50Date: day.nullable(),
    p80Date: day.nullable(),
    probabilityReady: share
      .nullable()
      .meta({ scalar: 'Float', description: 'Finished before the first snow, less the margin of days.' }),
    reasons: z.array(z.string()),
  },
  'A machine seen for sale, and what it adds to the best set.',
);

export const JobChoice = shape(
  'JobChoice',
  {
    jobId: id,
    jobNumber: wholeNumber,
    jobTitle: z.string(),
    treatment: Treatment,
    gain: money.nullable(),
    gainStandardError: money.nullable(),
    p50Before: day.nullable().meta({ description: 'With nothing bought and nothing changed.' }),
    p50After: day.nullable(),
    probabilityReadyBefore: share.nullable(),
    probabilityReadyAfter: share.nullable(),
  },
  'An open job, and what to do with it.',
);

export const WorkStep = shape(
  'WorkStep',
  {
    jobId: id.nullable().meta({ description: 'Null for a machine that is not bought yet.' }),
    title: z.string(),
    startDate: day,
    p50Date: day.nullable(),
  },
  'A machine in the order in which work on it begins.',
);

export const ChoiceOption = shape(
  'ChoiceOption',
  {
    buys: z.array(z.string()),
    changes: z.array(z.string()),
    expectedMargin: money,
    ...gain,
    probabilityWorse: share.meta({
      scalar: 'Float',
      description: 'Share of futures in which buying and changing nothing leaves more.',
    }),
  },
  'One thing that could be done.',
);

export const PurchaseChoice = shape(
  'PurchaseChoice',
  {
    answer: z.string(),
    machines: z.array(MachineChoice),
    jobs: z.array(JobChoice).meta({ description: 'Open jobs that are to be done otherwise than planned first.' }),
    orderOfWork: z.array(WorkStep),
    expectedMargin: money.meta({
      scalar: 'Money',
      description:
        'What the open jobs and what is bought still leave: proceeds to come less cash, own time and space to come.',
    }),
    ...gain,
    probabilityOfLoss: share.nullable().meta({
      scalar: 'Float',
      description:
        'That the cash put into what is bought does not come back, taken together; null when nothing is bought.',
    }),
    probabilityWorse: share,
    cashNeeded: money.meta({ scalar: 'Money', description: 'Out at the worst time, with even chances.' }),
    cashNeededHigh: money.meta({ scalar: 'Money', description: 'The same, not exceeded in nine of ten futures.' }),
    expectedReady: share.nullable().meta({
      scalar: 'Float',
      description: 'Throwers finished before the first snow, less the margin of days, on average.',
    }),
    expectedReadyUnchanged: share.nullable(),
    options: z.array(ChoiceOption).meta({
      description: 'The best first; buying nothing and the unchanged plan are always among those compared.',
    }),
    setsScored: wholeNumber,
    setsRuledOut: wholeNumber,
    exhaustive: z.boolean().meta({ description: 'Every set that could still win was looked at.' }),
    futures: wholeNumber,
    seed: wholeNumber,
    reasons: z.array(z.string()),
  },
  'Which machines to buy, up to what price, in which order to work, and what to do with the open jobs.',
);

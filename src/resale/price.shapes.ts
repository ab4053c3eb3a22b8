import { z } from 'zod';
import { CostRange } from '../cost/cost.shapes.js';
import { condition, MachineKind } from '../machines/machines.shapes.js';
import { amount, choice, day, decimal, id, int, money, shape, text, wholeNumber } from '../platform/shapes.js';

const share = z.number().meta({ scalar: 'Float' });

export const MarkdownStep = shape(
  'MarkdownStep',
  { onDay: day, askPrice: money, probabilitySoldBefore: share },
  'What to ask from a day on, if it has not been sold by then.',
);
export const ProbabilityByDate = shape(
  'ProbabilityByDate',
  { day, probability: share },
  'The chance that it is sold by a day.',
);

export const PriceBasis = choice(
  'PriceBasis',
  ['comparables', 'cost'],
  'Seen prices of the kind, or for want of any the cost with a markup: what is wanted, not what is paid.',
);
export const AskMakeUp = shape(
  'AskMakeUp',
  {
    likely: money.meta({ scalar: 'Money', description: 'What is likely paid on the first day on offer.' }),
    season: money.meta({
      scalar: 'Money',
      description: 'For the season at its strongest while this ask stands; below zero when it was stronger before.',
    }),
    bargaining: money.meta({ scalar: 'Money', description: 'What buyers usually bargain off.' }),
    hope: money.meta({
      scalar: 'Money',
      description: 'The rest: in hope of a buyer who pays more than most, or, below zero, to sell in time.',
    }),
  },
  'What an ask is made of; the four add up to it.',
);

export const PriceAdvice = shape(
  'PriceAdvice',
  {
    jobId: id,
    basedOn: PriceBasis,
    expected: CostRange.meta({
      description:
        'What such a machine should bring on the day of expectedDate, before sales tax on top: one in ten below low, one in ten above high.',
    }),
    expectedDate: day.meta({
      scalar: 'Day',
      description: 'The first day on offer: when it is expected to be finished, or today.',
    }),
    ask: money.meta({ scalar: 'Money', description: 'Before sales tax on top.' }),
    askMakeUp: AskMakeUp,
    floor: money.meta({ scalar: 'Money', description: 'Below this, not selling is better.' }),
    floorWhy: z.string(),
    markdowns: z.array(MarkdownStep),
    sellBy: day.meta({ scalar: 'Day', description: 'The end of the season, to which the steps lead.' }),
    probabilityOfSale: z.array(ProbabilityByDate),
    expectedNet: money.meta({
      scalar: 'Money',
      description:
        'What the ask and its steps are expected to leave over all ends, unsold among them, after tax, the cost of selling and the space while on offer.',
    }),
    expectedMargin: money.meta({
      scalar: 'Money',
      description: 'expectedNet less the likely full cost at completion.',
    }),
    marginRange: CostRange.meta({
      description:
        'That margin over every end and every cost, the two taken as independent: one in ten below low, one in ten above high.',
    }),
    gainOnPurchase: money.meta({
      scalar: 'Money',
      description: 'expectedNet less what the machine was bought for, harvested parts left out.',
    }),
    earningsPerHour: money.nullable().meta({
      scalar: 'Money',
      description: 'expectedNet less all that is paid out, over all hours worked and still to work.',
    }),
    comparablesUsed: wholeNumber,
    reasons: z.array(z.string()),
  },
  'What to ask for a machine, and why.',
);

export const BidQuestion = z.strictObject({
  kind: MachineKind,
  maker: text(80).nullish(),
  yearEstimate: int(1900, 2200).nullish(),
  clearingWidthMillimetres: int(1, 10_000).nullish(),
  finishedCondition: condition
    .nullish()
    .meta({ scalar: 'Int', description: 'The condition it will be sold in; 4 unless given.' }),
  partsCost: amount.nullish().meta({
    scalar: 'Money',
    description:
      "What parts and paint will cost; when not given, the mean of the shop's own finished jobs of the kind.",
  }),
  handsOnMinutes: int(0, 100_000).nullish().meta({
    scalar: 'Int',
    description: "When not given, the mean of the shop's own finished jobs of the kind, or its route.",
  }),
  haulKilometres: decimal(0, 20_000).nullish(),
  feesPercent: decimal(0, 200).nullish().meta({
    scalar: 'Float',
    description: "What comes on top of the bid, in percent of it, such as a buyer's premium; none unless given.",
  }),
  targetMarginPercent: z
    .number()
    .min(0)
    .max(95)
    .nullish()
    .meta({ scalar: 'Float', description: 'Margin on price that the job should leave; 15 unless given.' }),
});

export const BidAdvice = shape(
  'BidAdvice',
  {
    kind: MachineKind,
    expected: CostRange.meta({
      description:
        'What it should bring finished, before sales tax on top: one in ten below low, one in ten above high.',
    }),
    partsCost: money,
    handsOnMinutes: wholeNumber,
    readyDate: day
      .nullable()
      .meta({ description: 'When it would be finished if it came in today, behind all that is open.' }),
    highestBid: money.meta({
      scalar: 'Money',
      description: 'The most to pay, haul and fees left out; zero when no price is low enough.',
    }),
    breakEvenBid: money.meta({
      scalar: 'Money',
      description:
        'At this price the job is expected to leave nothing beyond its own costs, time and space among them; zero when it costs more in any case.',
    }),
    comparablesUsed: wholeNumber,
    reasons: z.array(z.string()),
  },
  'The most to pay for a machine not yet bought, and why.',
);

import { z } from 'zod';
import { CostRange } from '../cost/cost.shapes.js';
import { condition, MachineKind } from '../machines/machines.shapes.js';
import { amount, choice, day, decimal, id, int, money, shape, text, wholeNumber } from '../platform/shapes.js';
import { hiddenFaultNames } from './unknown-faults.js';

export const HiddenFault = choice(
  'HiddenFault',
  hiddenFaultNames,
  'engine: low compression or worse; gearbox: worn gears or a leaking case; housing: rusted through.',
);

const share = z.number().meta({ scalar: 'Float' });

export const MarkdownStep = shape(
  'MarkdownStep',
  {
    onDate: day,
    askPrice: money,
    acceptOffersFrom: money.meta({ scalar: 'Money', description: 'Take an offer of this or more rather than wait.' }),
    probabilitySoldBefore: share,
  },
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
export const AskBreakdown = shape(
  'AskBreakdown',
  {
    market: money.meta({ scalar: 'Money', description: 'What is likely paid on the first day on offer.' }),
    season: money.meta({
      scalar: 'Money',
      description: 'For the season at its height while this ask stands; below zero when it was stronger before.',
    }),
    negotiationAllowance: money.meta({ scalar: 'Money', description: 'What buyers usually negotiate off.' }),
    premium: money.meta({
      scalar: 'Money',
      description: 'The rest: for a buyer who pays more than most or, below zero, to be believed and to sell in time.',
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
        'What such a machine should bring on the day of expectedDate, before sales ' +
        'tax on top: one in ten below low, one in ten above high.',
    }),
    expectedDate: day.meta({
      scalar: 'Day',
      description: 'The first day on offer: when it is expected to be finished, or today.',
    }),
    ask: money.meta({ scalar: 'Money', description: 'Before sales tax on top.' }),
    askBreakdown: AskBreakdown,
    reservationPrice: money.meta({
      scalar: 'Money',
      description:
        'Below this, not selling is better. Waiting for another buyer may be worth more: see acceptOffersFrom.',
    }),
    reservationReasons: z.array(z.string()),
    acceptOffersFrom: money.meta({
      scalar: 'Money',
      description: 'Take an offer of this or more now rather than wait; it falls with time.',
    }),
    markdowns: z.array(MarkdownStep),
    sellByDate: day.meta({ scalar: 'Day', description: 'The end of the season, to which the steps lead.' }),
    probabilityOfSale: z.array(ProbabilityByDate),
    expectedNet: money.meta({
      scalar: 'Money',
      description:
        'What the ask and its steps are expected to leave over all ends, unsold among ' +
        'them, after tax, the cost of selling and the space while on offer.',
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
  model: text(80).nullish(),
  yearEstimate: int(1900, 2200).nullish(),
  clearingWidthMillimetres: int(1, 10_000).nullish(),
  finishedCondition: condition
    .nullish()
    .meta({ scalar: 'Int', description: 'The condition it will be sold in; 4 unless given.' }),
  foundCondition: condition
    .nullish()
    .meta({ scalar: 'Int', description: 'The condition it is in now; 2, not running, unless given.' }),
  equipmentBalance: int(-10, 10).nullish().meta({
    scalar: 'Int',
    description: 'Pieces of equipment beyond the usual, less those that are missing.',
  }),
  faultsSeen: z.array(HiddenFault).max(3).nullish().meta({ description: 'Faults that are there for certain.' }),
  claimedSound: z
    .array(HiddenFault)
    .max(3)
    .nullish()
    .meta({ description: 'What the seller says is sound: its fault is taken to be half as likely.' }),
  askedPrice: amount.nullish().meta({ scalar: 'Money', description: 'What the seller asks.' }),
  partsCost: amount.nullish().meta({
    scalar: 'Money',
    description: 'What parts and paint will cost, where known better than from the own jobs of the kind.',
  }),
  handsOnMinutes: int(0, 100_000).nullish().meta({
    scalar: 'Int',
    description: 'Own work, where known better than from the own jobs of the kind.',
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
  acceptedProbabilityOfLoss: z
    .number()
    .min(0.01)
    .max(0.9)
    .nullish()
    .meta({ scalar: 'Float', description: 'Chance accepted that the cash does not come back; 0.2 unless given.' }),
});

export const BidLimits = shape(
  'BidLimits',
  { targetMargin: money, earningsPerHour: money, probabilityOfLoss: money },
  'The highest price under each rule alone; below zero where it fails even for a gift.',
);
export const BidRule = choice('BidRule', ['targetMargin', 'earningsPerHour', 'probabilityOfLoss']);
export const BidOutcome = shape(
  'BidOutcome',
  {
    price: money,
    expectedNet: money.meta({ scalar: 'Money', description: 'What the sale leaves after tax, selling and space.' }),
    expectedMargin: money.meta({ scalar: 'Money', description: 'That, less cash, own time and space.' }),
    earningsPerHour: money.nullable(),
    probabilityOfLoss: share,
  },
  'What buying at a price leads to.',
);
export const CheckBeforePaying = shape(
  'CheckBeforePaying',
  {
    fault: HiddenFault,
    check: z.string(),
    probability: share.meta({ scalar: 'Float', description: 'That the fault is there.' }),
    value: money.meta({
      scalar: 'Money',
      description: 'What knowing it is worth at the asked price, or at the bid where none was given.',
    }),
  },
  'Something nobody has looked for, and what looking is worth.',
);

export const OfferAction = choice('OfferAction', ['accept', 'counter', 'refuse']);
export const OfferAdvice = shape(
  'OfferAdvice',
  {
    jobId: id,
    ask: money.meta({ scalar: 'Money', description: 'What it stands at.' }),
    amount: money.meta({ scalar: 'Money', description: 'What is offered.' }),
    action: OfferAction,
    counterPrice: money.nullable(),
    acceptingLeaves: money.meta({ scalar: 'Money', description: 'After tax and the cost of selling.' }),
    waitingLeaves: money.meta({
      scalar: 'Money',
      description: 'What waiting is worth, given that such an offer came: a good one is news of the market.',
    }),
    waitingLeftBefore: money.meta({ scalar: 'Money', description: 'What waiting was worth before it came.' }),
    probabilityCounterTaken: share.nullable(),
    reservationPrice: money,
    reasons: z.array(z.string()),
  },
  'What to do about an offer.',
);

export const BidAdvice = shape(
  'BidAdvice',
  {
    kind: MachineKind,
    expected: CostRange.meta({
      description:
        'What it should bring finished, before sales tax on top: one in ten below low, one in ten above high.',
    }),
    partsCost: money.meta({ scalar: 'Money', description: 'On average, faults that may be there included.' }),
    repairCost: CostRange.meta({ description: 'Parts and paint without a fault that was not seen.' }),
    handsOnMinutes: wholeNumber.meta({
      scalar: 'Int',
      description: 'On average, faults that may be there included.',
    }),
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
        'At this price the job is expected to leave nothing beyond its own costs, time ' +
        'and space among them; zero when it costs more in any case.',
    }),
    limits: BidLimits,
    bindingRule: BidRule,
    atBid: BidOutcome,
    atAskedPrice: BidOutcome.nullable(),
    checks: z.array(CheckBeforePaying).meta({ description: 'Worth the most first.' }),
    valueOfKnowingAll: money,
    comparablesUsed: wholeNumber,
    reasons: z.array(z.string()),
  },
  'The most to pay for a machine not yet bought, and why.',
);

import { Decimal } from 'decimal.js';
import { dayNumber, isoDay } from '../days.js';
import { EngineError } from '../error.js';
import { last as lastOf } from '../look-up.js';
import { type Amount, minorUnits, parseAmount, roundAmount } from '../money/index.js';
import { type BuyerBehaviour, type ReservationValues, splitPrediction, usualBehaviour } from './buyers-model.js';
import type { Demand } from './demand.js';
import { type PriceEstimate, seasonShift } from './expected-price.js';
import { logPriceQuantile, mixtureQuantile } from './price-distribution.js';
import { seasonDemand } from './seasonality.js';
import { planSelling, type SellingPolicy, type SellingSituation } from './selling.js';
import { agreedPrice, netFunction, outlayFactor, type SellingTerms } from './terms.js';

export interface AskInput {
  estimate: PriceEstimate;
  /** First day on offer, YYYY-MM-DD; the estimate is for this day. */
  listFrom: string;
  /** The first day on which it counts as unsold, YYYY-MM-DD. */
  deadline: string;
  terms: SellingTerms;
  /** What it costs to have it stand here another week. */
  holdingCostPerWeek: Amount;
  unsold: UnsoldWorth;
  /** How many enquire, and how they respond to the ask. */
  demand: Pick<Demand, 'rates' | 'elasticity'>;
  /** Market levels by their probability, where the listing's own history says more than the estimate. */
  joint?: readonly (readonly number[])[];
  /** How many different asks at most; default five. None is kept for less than two weeks. */
  maxAsks?: number;
}

/**
 * What it is worth when the deadline passes: sold next season at a share of the level, less a cost, and never below
 * another use; or a fixed amount.
 */
export type UnsoldWorth =
  { kind: 'nextSeason'; share: number; cost: Amount; atLeast: Amount } | { kind: 'fixed'; amount: Amount };

/** One ask kept for a while. */
export interface AskStep {
  from: string;
  /** First day after it. */
  to: string;
  ask: Decimal;
  /** Take an offer of this or more at the start of the step rather than wait. */
  acceptAtLeast: Decimal;
  /** Probability of having sold by the end of the step, from the first day on. */
  probabilitySold: number;
}

/** What the first ask is made of; the four add up to it. All are agreed prices, before sales tax on top. */
export interface AskBreakdown {
  /** The median price on the first day on offer. */
  market: Decimal;
  /** What more is paid on the day of strongest demand while this ask stands; below zero when it was stronger before. */
  season: Decimal;
  /** How far asking prices stand above what is paid. */
  negotiationAllowance: Decimal;
  /** The rest: for a buyer who pays more than most or, below zero, to be believed and to sell in time. */
  premium: Decimal;
}

export interface AskPlan {
  currency: string;
  ask: Decimal;
  breakdown: AskBreakdown;
  steps: AskStep[];
  /** What was kept from being asked: the highest ask that is believable, and why. */
  cap: { ask: Decimal; reason: string };
  /** Net of tax, selling and holding costs, over every end, unsold among them. */
  expectedNet: Decimal;
  probabilitySold: number;
  /** Probability of having sold by the end of each week, as [first day after it, probability]. */
  soldBy: [date: string, probability: number][];
  listFrom: string;
  /**
   * Every way it may end: an agreed price after so many weeks and what it leaves, or null and what the machine is then
   * worth; holding costs are not taken off. Probabilities add up to one.
   */
  endings: { price: number | null; net: number; weeks: number; probability: number }[];
  holdingCostPerWeek: number;
  situation: SellingSituation;
  policy: SellingPolicy;
  reasons: string[];
}

const MAX_WEEKS = 104;
const MIN_WEEKS_PER_ASK = 2;
const MAX_CANDIDATES = 60;
/** The first ask is capped at this quantile of what the market level may be, with the season and the negotiation allowance. */
const LEVEL_QUANTILE = 0.8;
/** … and at this quantile of the asking prices seen, adjusted to the machine, where there are a few of them. */
const ASKS_QUANTILE = 0.9;
const MIN_ASKS = 3;
/** … but never below this over the going price at the season's height. */
const MIN_OVER_GOING = 1.05;
/** … and never above this, by the number of comparables: an ask beyond it is not taken in earnest. Judgement, no source. */
const maxOverGoing = (comparables: number): number => (comparables >= 8 ? 1.25 : comparables > 0 ? 1.4 : 1.55);

/**
 * The ask and the markdown steps of greatest expected net proceeds before a deadline, among asks that buyers believe.
 *
 * The estimate is split into a market level that all buyers share and nobody knows, and the scatter between buyers
 * (`splitPrediction`). Enquiries arrive by chance, more in season and fewer the further the ask is above the going price;
 * whoever finds it worth the ask pays it, others may make an offer (`planSelling`). Weeks unsold are news that the level
 * is lower, so the asks come down. Starting high costs little in such a model, so the cap, not the optimum, decides what
 * can be believed. Asks are round.
 * @throws EngineError `no-time` when the deadline is not after the first day or beyond two years, `bad-number`
 */
export function planAsk(input: AskInput): AskPlan {
  const { estimate, terms } = input;
  const { currency } = estimate;
  const from = dayNumber(input.listFrom, 'listFrom');
  const days = dayNumber(input.deadline, 'deadline') - from;
  if (days < 1)
    throw new EngineError(
      'no-time',
      `the deadline ${input.deadline} is not after the first day on offer, ${input.listFrom}`,
      'deadline',
    );
  const weeks = Math.ceil(days / 7);
  if (weeks > MAX_WEEKS)
    throw new EngineError(
      'no-time',
      `the deadline ${input.deadline} lies more than two years after ${input.listFrom}`,
      'deadline',
    );
  const maxAsks = Math.max(1, Math.floor(input.maxAsks ?? 5));
  const behaviour: BuyerBehaviour = { ...usualBehaviour, elasticity: input.demand.elasticity };
  const values = splitPrediction(estimate.distribution, behaviour);
  const middles = Array.from({ length: weeks }, (_, week) => from + Math.min(7 * week + 3, days - 1));
  const shifts = middles.map((day) => seasonShift(estimate, day));
  const demands = middles.map(
    (day, week) => seasonDemand(estimate.seasonality, day) * (Math.min(7, days - 7 * week) / 7),
  );
  const onTop = Math.log(outlayFactor(terms.tax).toNumber());
  const cap = capOf(estimate, behaviour, Math.max(...shifts));
  const lowest = Math.min(values.levels[0]!.log + Math.min(...shifts), cap.log - 0.3);
  const asks = roundAsks(Math.exp(lowest - onTop), Math.exp(cap.log - onTop), currency);
  const net = netFunction(terms, currency);
  const netOf = (price: number): number => net(Math.exp(price - onTop));
  const holding = amountOf(input.holdingCostPerWeek, currency, 'holdingCostPerWeek').toNumber();
  const blocks = equalShares(demands, maxAsks);
  const situation: SellingSituation = {
    values,
    rates: input.demand.rates,
    ...(input.joint ? { jointProbabilities: input.joint } : {}),
    behaviour,
    weeks: shifts.map((shift, week) => ({ shift, demand: demands[week]! })),
    net: netOf,
    holding,
    unsold: unsoldFunction(input, values, netOf, currency),
    asks: asks.map((ask) => Math.log(ask.toNumber()) + onTop),
    blocks,
    mayRaise: false,
  };
  const policy = planSelling(situation);
  const unsoldShare = Array.from({ length: weeks + 1 }, (_, week) =>
    policy.reach.reduce((sum, there) => sum + there[week]!, 0),
  );
  const day = (week: number): string => isoDay(from + Math.min(7 * week, days));
  const agreed = (log: number): Decimal => roundAmount(new Decimal(Math.exp(log - onTop)), currency);
  const steps = blocks
    .map((week, block): AskStep => ({
      from: day(week),
      to: day(blocks[block + 1] ?? weeks),
      ask: asks[policy.choice[block]!]!,
      acceptAtLeast: Decimal.min(agreed(policy.leastAccepted[week]!), asks[policy.choice[block]!]!),
      probabilitySold: round4(1 - unsoldShare[blocks[block + 1] ?? weeks]!),
    }))
    .reduce<AskStep[]>((merged, step) => {
      const last = merged.at(-1);
      if (last?.ask.equals(step.ask)) Object.assign(last, { to: step.to, probabilitySold: step.probabilitySold });
      else merged.push(step);
      return merged;
    }, []);
  const first = steps[0]!;
  const shiftThen = Math.max(...shifts.filter((_, week) => middles[week]! < dayNumber(first.to)));
  const breakdown = breakdownOf(first.ask, estimate, shiftThen, terms);
  const probabilitySold = round4(1 - lastOf(unsoldShare));
  return {
    currency,
    ask: first.ask,
    breakdown,
    steps,
    cap: { ask: lastOf(asks), reason: cap.reason },
    expectedNet: roundAmount(new Decimal(policy.expectedNet), currency),
    probabilitySold,
    soldBy: unsoldShare.slice(1).map((share, week) => [day(week + 1), round4(1 - share)]),
    listFrom: input.listFrom,
    endings: policy.endings.map(({ price, net: left, weeks: after, probability }) => ({
      price: price === null ? null : price / Math.exp(onTop),
      net: left + holding * after,
      weeks: after,
      probability,
    })),
    holdingCostPerWeek: holding,
    situation,
    policy,
    reasons: reasonsOf(input, steps, breakdown, probabilitySold, lastOf(asks), cap.reason),
  };
}

/** The highest log outlay that is believable as a first ask. */
function capOf(
  estimate: PriceEstimate,
  { sharedNoise }: BuyerBehaviour,
  seasonHeight: number,
): { log: number; reason: string } {
  const { components } = estimate.distribution;
  const premium = Math.max(0, estimate.effects.askingPremium.mean);
  const going = logPriceQuantile(estimate.distribution, 0.5) + seasonHeight;
  const level = mixtureQuantile(
    components.map(({ weight, mean, meanVariance, noise }) => ({
      weight,
      mean,
      deviation: Math.sqrt(meanVariance + sharedNoise * noise * noise),
    })),
    LEVEL_QUANTILE,
  );
  const count = estimate.counts.sold + estimate.counts.asking;
  const limits = [
    { log: level + seasonHeight + premium, reason: 'one market in five would carry more' },
    ...(estimate.adjustedAsks.length >= MIN_ASKS
      ? [
          {
            log: quantileOf(estimate.adjustedAsks, ASKS_QUANTILE) + seasonHeight,
            reason: 'nine in ten asking prices seen for such a machine are lower',
          },
        ]
      : []),
    {
      log: going + Math.log(maxOverGoing(count)),
      reason:
        `with ${count === 0 ? 'no comparable' : `${count} comparable${count === 1 ? '' : 's'}`} no more than ` +
        `${Math.round(100 * (maxOverGoing(count) - 1))} % above the going price is taken in earnest`,
    },
  ];
  const tightest = limits.reduce((low, each) => (each.log < low.log ? each : low));
  const least = going + Math.log(MIN_OVER_GOING);
  return tightest.log >= least
    ? tightest
    : { log: least, reason: 'some room to come down is always left: 5 % above the going price' };
}

function unsoldFunction(
  { unsold }: AskInput,
  _values: ReservationValues,
  netOf: (price: number) => number,
  currency: string,
): (level: number) => number {
  if (unsold.kind === 'fixed') {
    const fixed = amountOf(unsold.amount, currency, 'unsold/amount').toNumber();
    return () => fixed;
  }
  const cost = amountOf(unsold.cost, currency, 'unsold/cost').toNumber();
  const atLeast = amountOf(unsold.atLeast, currency, 'unsold/atLeast').toNumber();
  return (level) => Math.max(atLeast, unsold.share * netOf(level) - cost);
}

function breakdownOf(ask: Decimal, estimate: PriceEstimate, shift: number, { tax }: SellingTerms): AskBreakdown {
  const premium = Math.max(0, estimate.effects.askingPremium.mean);
  const at = (log: number): Decimal => agreedPrice(estimate.p50.times(Math.exp(log)), tax, estimate.currency);
  const [market, inSeason, withAllowance] = [at(0), at(shift), at(shift + premium)];
  return {
    market,
    season: inSeason.minus(market),
    negotiationAllowance: withAllowance.minus(inSeason),
    premium: ask.minus(withAllowance),
  };
}

function reasonsOf(
  { estimate, terms, deadline }: AskInput,
  steps: readonly AskStep[],
  breakdown: AskBreakdown,
  probabilitySold: number,
  capAsk: Decimal,
  capReason: string,
): string[] {
  const { currency } = estimate;
  const [low, likely, high] = [estimate.p10, estimate.p50, estimate.p90].map((price) =>
    agreedPrice(price, terms.tax, currency).toFixed(),
  );
  const before = terms.tax.kind === 'salesTax' ? ' before sales tax' : '';
  const first = steps[0]!;
  const last = lastOf(steps);
  return [
    estimate.method === 'costPlus'
      ? `From cost, not from the market: ${likely} ${currency}${before} is the ` +
        `cost with a markup, and ${low} to ${high} a guess around it`
      : `Half of such machines bring ${likely} ${currency}${before} or more on ${estimate.on}, four in five ` +
        `between ${low} and ${high} (${estimate.counts.sold + estimate.counts.asking} comparables)`,
    breakdownSentence(breakdown, first.ask, estimate.on),
    ...(first.ask.equals(capAsk) ? [`It is not higher because ${capReason}`] : []),
    steps.length > 1
      ? `Ask ${first.ask.toFixed()} until ${first.to}, then come down in ${steps.length - 1} ` +
        `${steps.length === 2 ? 'step' : 'steps'} to ${last.ask.toFixed()}; each week unsold says that the market is lower`
      : `Ask ${first.ask.toFixed()} to the end: coming down would give away more than it gains before ${deadline}`,
    `Until ${first.to} accept an offer of ${first.acceptAtLeast.toFixed()} or more at first; a lower one is worth less than waiting`,
    `${Math.round(100 * probabilitySold)} % likely to sell by ${deadline}`,
  ];
}

function breakdownSentence(
  { market, season, negotiationAllowance, premium }: AskBreakdown,
  ask: Decimal,
  on: string,
): string {
  const adds = [
    ...(season.isZero() ? [] : [`${signed(season)} for the season at its height while it stands`]),
    ...(negotiationAllowance.isZero() ? [] : [`${signed(negotiationAllowance)} that buyers negotiate off`]),
    ...(premium.isZero()
      ? []
      : [
          `${signed(premium)} ${premium.isNegative() ? 'to be believed and to sell in time' : 'for a buyer who pays more than most'}`,
        ]),
  ];
  return `The ask of ${ask.toFixed()} is the likely ${market.toFixed()} of ${on}${adds.map((add) => `, ${add}`).join('')}`;
}

const signed = (amount: Decimal): string => `${amount.isNegative() ? '−' : '+'}${amount.abs().toFixed()}`;

/**
 * Probability of having sold by a day, between the weeks of the plan by straight line.
 * Before the first day on offer it is zero; from the deadline on it stays.
 */
export function probabilitySoldBy(plan: Pick<AskPlan, 'listFrom' | 'soldBy'>, on: string): number {
  const target = dayNumber(on, 'on');
  let before: [number, number] = [dayNumber(plan.listFrom), 0];
  if (target <= before[0]) return 0;
  for (const [date, probability] of plan.soldBy) {
    const end = dayNumber(date);
    if (target <= end)
      return round4(before[1] + ((probability - before[1]) * (target - before[0])) / (end - before[0]));
    before = [end, probability];
  }
  return before[1];
}

/** First weeks of at most `most` stretches of two weeks or more in which about as many buyers are expected. */
function equalShares(arrivals: readonly number[], most: number): number[] {
  const sum = arrivals.reduce((all, each) => all + each, 0);
  const starts = [0];
  let before = 0;
  arrivals.forEach((each, week) => {
    const longEnough = week - lastOf(starts) >= MIN_WEEKS_PER_ASK && arrivals.length - week >= MIN_WEEKS_PER_ASK;
    if (starts.length < most && longEnough && before >= (sum * starts.length) / most - 1e-9) starts.push(week);
    before += each;
  });
  return starts;
}

/** Round figures from low up to high, none above it: steps of about one percent of the middle, 1, 2 or 5 times a power of ten. */
function roundAsks(low: number, high: number, currency: string): Decimal[] {
  const unit = new Decimal(10).pow(-minorUnits(currency));
  let step = Decimal.max(unit, roundStep(high * 0.008));
  while ((high - low) / step.toNumber() > MAX_CANDIDATES) step = roundStep(step.toNumber() * 1.5);
  const first = Decimal.max(1, new Decimal(low).div(step).floor());
  const count = new Decimal(high).div(step).floor().minus(first).toNumber() + 1;
  return Array.from({ length: Math.max(1, count) }, (_, k) => step.times(first.plus(k)));
}

/** The least of 1, 2, 5 × 10ᵏ that is not below `size`. */
function roundStep(size: number): Decimal {
  const power = Math.floor(Math.log10(size));
  const lead = [1, 2, 5, 10].find((each) => each * 10 ** power >= size * (1 - 1e-12)) ?? 10;
  return new Decimal(10).pow(power).times(lead);
}

function quantileOf(values: readonly number[], p: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  const at = p * (sorted.length - 1);
  const low = Math.floor(at);
  return sorted[low]! + (at - low) * ((sorted[low + 1] ?? sorted[low]!) - sorted[low]!);
}

function amountOf(amount: Amount, currency: string, path: string): Decimal {
  return typeof amount === 'string' ? parseAmount(amount, currency, path) : amount;
}

function round4(value: number): number {
  return Math.round(value * 10_000) / 10_000;
}

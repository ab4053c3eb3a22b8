import { Decimal } from 'decimal.js';
import { dayNumber, isoDay } from '../days.js';
import { EngineError } from '../error.js';
import { type Amount, minorUnits, parseAmount, roundAmount } from '../money/index.js';
import { studentQuantile } from '../statistics/index.js';
import { type Season, seasonDemand } from './comparable.js';
import { logShift, type PriceEstimate } from './estimate.js';
import { bestPath } from './path.js';
import { agreedPrice, netOfSale, outlayFactor, priceForNet, type SellingTerms } from './terms.js';

export interface AskInput {
  estimate: PriceEstimate;
  season: Season | null;
  /** First day on offer, YYYY-MM-DD. */
  listFrom: string;
  /** The day by which it should be gone (the first day on which it counts as unsold). */
  deadline: string;
  terms: SellingTerms;
  /** What it costs to have it stand here another week. */
  holdingCostPerWeek: Amount;
  /** What it is worth to the shop when the deadline passes: kept for next year, parted out. */
  valueIfUnsold: Amount;
  /** Serious buyers a week at the height of demand; default 1.5 (a judgement, no source). */
  buyersPerWeek?: number;
  /** How much buyers differ in what they would pay, as a standard deviation of log price; default 0.1 (a judgement). */
  buyerSpread?: number;
  /** How many different asks at most; default five. None is kept for less than two weeks. */
  mostAsks?: number;
  /** Whether a later ask may be higher; default false, since a rising ask puts off whoever saw the lower one. */
  mayRaise?: boolean;
}

/** One ask kept for a while. */
export interface AskStep {
  from: string;
  /** First day after it. */
  to: string;
  ask: Decimal;
  /** What is paid after the usual bargaining. */
  expectedPrice: Decimal;
  /** Take an offer of this or more at the start of the step rather than wait. */
  acceptAtLeast: Decimal;
  /** Chance of having sold by the end of the step, from the first day on. */
  probabilitySold: number;
}

/** What the first ask is made of; the four add up to it. All are agreed prices, before sales tax on top. */
export interface AskMakeUp {
  /** The median price on the first day on offer. */
  likely: Decimal;
  /** What more is paid on the day of strongest demand while this ask stands; below zero where it is offered after it. */
  season: Decimal;
  /** What is usually bargained off an ask. */
  bargaining: Decimal;
  /** The rest: in hope of a buyer who pays more than most, or below zero, to sell in time. */
  hope: Decimal;
}

export interface AskPlan {
  currency: string;
  ask: Decimal;
  makeUp: AskMakeUp;
  steps: AskStep[];
  /** Net of tax, selling and holding costs, the unsold case counted at its value. */
  expectedNet: Decimal;
  probabilitySold: number;
  /** Chance of having sold by the end of each week, as [first day after it, chance]. */
  soldBy: [day: string, probability: number][];
  listFrom: string;
  /** Every way it may end: an agreed price after so many weeks, or `null` for unsold. Chances add up to one. */
  outcomes: { price: Decimal | null; weeks: number; probability: number }[];
  reasons: string[];
}

const LEVELS = 15;
const MOST_WEEKS = 104;
const LEAST_WEEKS_AN_ASK = 2;
const MOST_CANDIDATES = 60;
/** No ask is above what one machine in ten would bring: nobody takes it in earnest, and the offer goes stale. Common practice, no source. */
const MOST_HOPEFUL = 0.9;

/**
 * The ask and the markdown steps of greatest expected net proceeds before a deadline.
 *
 * What this machine's market will bear is unknown and taken as the estimate's distribution (15 levels of equal chance);
 * serious buyers arrive by chance, more in season; each would pay about the level, give or take `buyerSpread`
 * (log-logistic). The level is the same for all of them, so weeks unsold are news and the path comes down, a few times
 * and each time after about as many buyers. What is paid is the ask less the learnt asking premium. Asks are round.
 * @throws EngineError `no-time` when the deadline is not after the first day or beyond two years, `bad-number`
 */
export function planAsk(input: AskInput): AskPlan {
  const { estimate, season, terms } = input;
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
  if (weeks > MOST_WEEKS)
    throw new EngineError(
      'no-time',
      `the deadline ${input.deadline} lies more than two years after ${input.listFrom}`,
      'deadline',
    );
  const buyers = positive(input.buyersPerWeek ?? 1.5, 'buyersPerWeek');
  const tail = (positive(input.buyerSpread ?? 0.1, 'buyerSpread') * Math.sqrt(3)) / Math.PI;
  const mostAsks = Math.max(1, Math.floor(positive(input.mostAsks ?? 5, 'mostAsks')));
  const holding = amountOf(input.holdingCostPerWeek, currency, 'holdingCostPerWeek');
  const salvage = amountOf(input.valueIfUnsold, currency, 'valueIfUnsold');

  const levels = Array.from(
    { length: LEVELS },
    (_, k) => estimate.logLocation + estimate.logScale * studentQuantile((k + 0.5) / LEVELS, estimate.freedom),
  );
  const middles = Array.from({ length: weeks }, (_, week) => from + Math.min(7 * week + 3, days - 1));
  const shifts = middles.map((day) => logShift(estimate, season, day));
  const premium = Math.max(0, estimate.effects.askingPremium.mean);
  const hopeful = estimate.logLocation + estimate.logScale * studentQuantile(MOST_HOPEFUL, estimate.freedom);
  const onTop = Math.log(outlayFactor(terms.tax).toNumber());
  const asks = roundAsks(
    Math.exp(levels[0]! + Math.min(...shifts) + premium - onTop),
    Math.exp(hopeful + Math.max(...shifts) + premium - onTop),
    currency,
  );
  const agreed = asks.map((ask) => roundAmount(ask.times(Math.exp(-premium)), currency));
  const outlays = agreed.map((price) => Math.log(price.toNumber()) + onTop);
  const arrivals = middles.map((day, week) => buyers * seasonDemand(season, day) * (Math.min(7, days - 7 * week) / 7));
  const blocks = equalShares(arrivals, mostAsks);
  const path = bestPath({
    levels: levels.map(() => 1 / LEVELS),
    arrivals,
    accept: (level, week, price) => 1 / (1 + Math.exp((outlays[price]! - levels[level]! - shifts[week]!) / tail)),
    net: agreed.map((price) => netOfSale(price, terms, currency).toNumber()),
    holding: holding.toNumber(),
    salvage: salvage.toNumber(),
    blocks,
    mayRaise: input.mayRaise ?? false,
  });

  const day = (week: number): string => isoDay(from + Math.min(7 * week, days));
  const steps = blocks
    .map((week, block): AskStep => {
      const price = path.choice[block]!;
      const end = blocks[block + 1] ?? weeks;
      return {
        from: day(week),
        to: day(end),
        ask: asks[price]!,
        expectedPrice: agreed[price]!,
        acceptAtLeast: priceForNet(roundAmount(new Decimal(path.continuation[block]!), currency), terms, currency),
        probabilitySold: round4(1 - path.unsold[end]!),
      };
    })
    .reduce<AskStep[]>((merged, step) => {
      const last = merged.at(-1);
      if (last?.ask.equals(step.ask)) Object.assign(last, { to: step.to, probabilitySold: step.probabilitySold });
      else merged.push(step);
      return merged;
    }, []);
  const outcomes: AskPlan['outcomes'] = path.unsold.slice(0, -1).map((probability, week) => ({
    price: agreed[path.choice[blocks.findLastIndex((start) => start <= week)]!]!,
    weeks: week + 1,
    probability: probability - path.unsold[week + 1]!,
  }));
  const probabilitySold = round4(1 - path.unsold.at(-1)!);
  const first = steps[0]!;
  const last = steps.at(-1)!;
  const shiftThen = Math.max(...shifts.filter((_, week) => middles[week]! < dayNumber(first.to)));
  const makeUp = makeUpOf(first.ask, estimate, shiftThen, premium, terms);
  const range = [estimate.p10, estimate.p50, estimate.p90].map((price) =>
    agreedPrice(price, terms.tax, currency).toFixed(),
  );
  const before = terms.tax.kind === 'salesTax' ? ' before sales tax' : '';
  return {
    currency,
    ask: first.ask,
    makeUp,
    steps,
    expectedNet: roundAmount(new Decimal(path.value), currency),
    probabilitySold,
    soldBy: path.unsold.slice(1).map((probability, week) => [day(week + 1), round4(1 - probability)]),
    listFrom: input.listFrom,
    outcomes: [...outcomes, { price: null, weeks, probability: path.unsold.at(-1)! }],
    reasons: [
      estimate.method === 'costPlus'
        ? `from cost, not from the market: ${range[1]!} ${currency}${before} is what it costs with a markup, and ${range[0]!} to ${range[2]!} a guess around it`
        : `half of such machines bring ${range[1]!} ${currency}${before} or more on ${estimate.on}, four in five between ${range[0]!} and ${range[2]!} (${estimate.counts.sold + estimate.counts.asking} comparables)`,
      makeUpWords(makeUp, first.ask, estimate.on),
      steps.length > 1
        ? `ask ${first.ask.toFixed()} until ${first.to}, then come down in ${steps.length - 1} ${steps.length === 2 ? 'step' : 'steps'} to ${last.ask.toFixed()}; each week unsold says that the market is lower than hoped`
        : `ask ${first.ask.toFixed()} to the end: coming down would give away more than it gains before ${input.deadline}`,
      `${percent(probabilitySold)} likely to sell by ${input.deadline}; unsold it is worth ${salvage.toFixed()}`,
    ],
  };
}

function makeUpOf(
  ask: Decimal,
  estimate: PriceEstimate,
  shift: number,
  premium: number,
  { tax }: SellingTerms,
): AskMakeUp {
  const at = (log: number): Decimal => agreedPrice(estimate.p50.times(Math.exp(log)), tax, estimate.currency);
  const [likely, inSeason, bargained] = [at(0), at(shift), at(shift + premium)];
  return { likely, season: inSeason.minus(likely), bargaining: bargained.minus(inSeason), hope: ask.minus(bargained) };
}

function makeUpWords({ likely, season, bargaining, hope }: AskMakeUp, ask: Decimal, on: string): string {
  const adds = [
    ...(season.isZero() ? [] : [`${signed(season)} for the season at its strongest while it stands`]),
    ...(bargaining.isZero() ? [] : [`${signed(bargaining)} that buyers bargain off`]),
    ...(hope.isZero()
      ? []
      : [`${signed(hope)} ${hope.isNegative() ? 'to be sold in time' : 'in hope of one who pays more than most'}`]),
  ];
  return `the ask of ${ask.toFixed()} is ${[`the likely ${likely.toFixed()} of ${on}`, ...adds].join(', ')}`;
}

const signed = (amount: Decimal): string => `${amount.isNegative() ? '−' : '+'}${amount.abs().toFixed()}`;

/** Every end of a plan with what it leaves: net of tax and selling, and of the holding cost until then. */
export function endingsOf(
  plan: AskPlan,
  { terms, holdingCostPerWeek, valueIfUnsold }: Pick<AskInput, 'terms' | 'holdingCostPerWeek' | 'valueIfUnsold'>,
): { net: Decimal; probability: number }[] {
  const nets = new Map<string, Decimal>();
  return plan.outcomes.map(({ price, weeks, probability }) => {
    const key = price === null ? '' : price.toString();
    if (!nets.has(key))
      nets.set(key, price === null ? new Decimal(valueIfUnsold) : netOfSale(price, terms, plan.currency));
    return { net: nets.get(key)!.minus(new Decimal(holdingCostPerWeek).times(weeks)), probability };
  });
}

/**
 * Chance of having sold by a day, between the weeks of the plan by straight line.
 * Before the first day on offer it is zero; from the deadline on it stays.
 */
export function probabilitySoldBy(plan: AskPlan, on: string): number {
  const target = dayNumber(on, 'on');
  let before: [number, number] = [dayNumber(plan.listFrom), 0];
  if (target <= before[0]) return 0;
  for (const [day, probability] of plan.soldBy) {
    const end = dayNumber(day);
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
    const longEnough = week - starts.at(-1)! >= LEAST_WEEKS_AN_ASK && arrivals.length - week >= LEAST_WEEKS_AN_ASK;
    if (starts.length < most && longEnough && before >= (sum * starts.length) / most - 1e-9) starts.push(week);
    before += each;
  });
  return starts;
}

/** Round figures from low to high: steps of about two percent of the middle, of the form 1, 2 or 5 times a power of ten. */
function roundAsks(low: number, high: number, currency: string): Decimal[] {
  const unit = new Decimal(10).pow(-minorUnits(currency));
  let step = Decimal.max(unit, roundStep(Math.sqrt(low * high) * 0.02));
  while ((high - low) / step.toNumber() > MOST_CANDIDATES) step = roundStep(step.toNumber() * 1.5);
  const first = Decimal.max(1, new Decimal(low).div(step).floor());
  const count = new Decimal(high).div(step).ceil().minus(first).toNumber() + 1;
  return Array.from({ length: Math.max(1, count) }, (_, k) => step.times(first.plus(k)));
}

/** The least of 1, 2, 5 × 10ᵏ that is not below `size`. */
function roundStep(size: number): Decimal {
  const power = Math.floor(Math.log10(size));
  const lead = [1, 2, 5, 10].find((each) => each * 10 ** power >= size * (1 - 1e-12)) ?? 10;
  return new Decimal(10).pow(power).times(lead);
}

function amountOf(amount: Amount, currency: string, path: string): Decimal {
  return typeof amount === 'string' ? parseAmount(amount, currency, path) : amount;
}

function positive(value: number, path: string): number {
  if (!(Number.isFinite(value) && value > 0))
    throw new EngineError('bad-number', `${path} is above zero, not ${value}`, path);
  return value;
}

function percent(probability: number): string {
  return `${Math.round(100 * probability)} %`;
}

function round4(value: number): number {
  return Math.round(value * 10_000) / 10_000;
}

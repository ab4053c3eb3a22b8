import { Decimal } from 'decimal.js';
import { EngineError } from '../error.js';
import { minorUnits, roundAmount } from '../money/index.js';
import { type EffortBelief, logNormalNodes, type Spread } from './effort.js';

/** How the sale of the finished machine may end: a price or, unsold, a worth, after so many weeks on offer. */
export interface SaleEnding {
  price: number | null;
  worth: number;
  weeks: number;
  probability: number;
}

/** A fault that the machine may have and nobody has looked for. */
export interface UnknownFault {
  name: string;
  probability: number;
  cash: Spread;
  minutes: Spread;
  /** What tells before paying, such as a compression test. */
  check: string;
}

export interface BidInput {
  currency: string;
  endings: readonly SaleEnding[];
  holdingCostPerWeek: number;
  /** What a sale at a price leaves when the machine was bought for an amount: a margin scheme's tax depends on it. */
  netOfSale(price: number, purchasePrice: number): number;
  effort: Pick<EffortBelief, 'cash' | 'minutes'>;
  unknowns: readonly UnknownFault[];
  haul: number;
  /** Paid on top of the bid, in percent of it. */
  feesPercent: number;
  hourlyValue: number;
  spaceCost: number;
  minEarningsPerHour: number;
  /** Margin wanted, in percent of the net proceeds. */
  targetMarginPercent: number;
  /** Probability accepted of not getting the cash back. */
  acceptedProbabilityOfLoss: number;
  /** What the machine leaves as it stands, if a fault is found that does not pay to repair; from parts, as found, or scrap. */
  fallback: number;
  /** What the seller asks. */
  askedPrice: number | null;
}

export const bidRules = ['targetMargin', 'earningsPerHour', 'probabilityOfLoss'] as const;
export type BidRule = (typeof bidRules)[number];

export interface BidResult {
  /** The highest price that keeps all rules; zero when even a gift would not. */
  bid: Decimal;
  /** The highest price under each rule alone; below zero where it fails even for a gift. */
  limits: Record<BidRule, Decimal>;
  bindingRule: BidRule;
  worthwhile: boolean;
  /** At the bid. */
  atBid: BidOutcome;
  /** At the price asked. */
  atAsked: BidOutcome | null;
  /** Unknowns by what knowing them before paying is worth at the asked price, or at the bid without one; the most first. */
  checks: { name: string; check: string; probability: number; value: Decimal }[];
  /** What knowing all of them is worth. */
  valueOfKnowingAll: Decimal;
}

export interface BidOutcome {
  price: Decimal;
  expectedNet: Decimal;
  /** Net less cash, time, space, the wanted margin not counted. */
  expectedMargin: Decimal;
  earningsPerHour: Decimal | null;
  probabilityOfLoss: number;
}

const SEARCH_LOW = -1_000_000;
const MAX_UNKNOWNS = 8;

/** What may be true of the unknown faults together. */
interface FaultState {
  probability: number;
  has: boolean[];
  cash: Spread;
  minutes: number;
  cashNodes: number[];
}

/**
 * The highest sensible price for a machine not yet bought, and what is worth checking before paying.
 *
 * The ends of the sale, what the repair takes and the faults nobody has looked for (each there or not, independently) are
 * distributions. Three rules must hold and the tightest sets the bid: the margin wanted on the net proceeds, what an
 * own hour earns, and the probability that the cash does not come back. Where a fault turns up that does not pay to
 * repair, the machine is taken as it stands instead. The value of a check is the expected value of perfect information
 * (Raiffa and Schlaifer, Applied Statistical Decision Theory, 1961; from memory): the mean over what it may show of the
 * better of buying and leaving it, less the better of the two now.
 * @throws EngineError `bad-number`
 */
export function highestBid(input: BidInput): BidResult {
  const { currency } = input;
  checkInput(input);
  const states = faultStates(input);
  const unit = 10 ** -minorUnits(currency);
  const margin = input.targetMarginPercent / 100;
  const mean = (of: (state: FaultState) => number): number =>
    states.reduce((sum, state) => sum + state.probability * of(state), 0);

  const outcomeAt = (price: number): Figures => figuresAt(input, states, price);
  const rules: Record<BidRule, (price: number) => boolean> = {
    targetMargin: (price) => outcomeAt(price).surplus(margin) >= 0,
    earningsPerHour: (price) => {
      const { cashMargin, hours } = outcomeAt(price);
      return cashMargin >= input.minEarningsPerHour * hours;
    },
    probabilityOfLoss: (price) => outcomeAt(price).probabilityOfLoss <= input.acceptedProbabilityOfLoss,
  };
  const limits = Object.fromEntries(
    bidRules.map((rule) => [rule, new Decimal(highest(rules[rule], unit)).toDecimalPlaces(minorUnits(currency))]),
  ) as Record<BidRule, Decimal>;
  const bindingRule = bidRules.reduce((low, rule) => (limits[rule].lessThan(limits[low]) ? rule : low));
  const bid = Decimal.max(0, limits[bindingRule]);
  const at = input.askedPrice ?? bid.toNumber();
  // What buying is worth beyond the wanted margin, given what is known of each fault.
  const valueGiven = (known: readonly (boolean | null)[]): number => {
    let all = 0;
    let sum = 0;
    for (const state of states) {
      if (state.has.some((has, i) => known[i] !== null && known[i] !== undefined && known[i] !== has)) continue;
      all += state.probability;
      sum += state.probability * surplusIn(input, state, at, margin);
    }
    return all > 0 ? sum / all : 0;
  };
  const now = Math.max(0, valueGiven(input.unknowns.map(() => null)));
  const checks = input.unknowns
    .map(({ name, check, probability }, index) => {
      const known = (has: boolean) => input.unknowns.map((_, i) => (i === index ? has : null));
      const value =
        probability * Math.max(0, valueGiven(known(true))) +
        (1 - probability) * Math.max(0, valueGiven(known(false))) -
        now;
      return { name, check, probability, value: roundAmount(new Decimal(Math.max(0, value)), currency) };
    })
    .sort((a, b) => b.value.comparedTo(a.value));
  return {
    bid,
    limits,
    bindingRule,
    worthwhile: !limits[bindingRule].isNegative(),
    atBid: told(outcomeAt(bid.toNumber()), bid, currency),
    atAsked:
      input.askedPrice === null ? null : told(outcomeAt(input.askedPrice), new Decimal(input.askedPrice), currency),
    checks,
    valueOfKnowingAll: roundAmount(
      new Decimal(Math.max(0, mean((state) => Math.max(0, surplusIn(input, state, at, margin))) - now)),
      currency,
    ),
  };
}

interface Figures {
  expectedNet: number;
  cashMargin: number;
  fullMargin: number;
  hours: number;
  probabilityOfLoss: number;
  surplus(margin: number): number;
}

function figuresAt(input: BidInput, states: readonly FaultState[], price: number): Figures {
  const nets = netsAt(input, price);
  const sale = expected(nets);
  const outlay = price * (1 + input.feesPercent / 100) + input.haul;
  const [sorted, cumulative] = distributionOf(nets);
  let [expectedNet, cash, minutes, loss, time] = [0, 0, 0, 0, 0];
  for (const state of states) {
    const { probability } = state;
    if (finishes(input, state, sale)) {
      expectedNet += probability * sale;
      cash += probability * state.cash.mean;
      minutes += probability * state.minutes;
      time += probability * timeValue(input, state);
      for (const node of state.cashNodes)
        loss += (probability / state.cashNodes.length) * below(sorted, cumulative, node + outlay);
    } else {
      expectedNet += probability * input.fallback;
      loss += input.fallback < outlay ? probability : 0;
    }
  }
  const cashMargin = expectedNet - cash - outlay;
  return {
    expectedNet,
    cashMargin,
    fullMargin: cashMargin - time,
    hours: minutes / 60,
    probabilityOfLoss: loss,
    surplus: (margin) => cashMargin - time - margin * Math.max(0, expectedNet),
  };
}

/** Whether repairing leaves more than taking the machine as it stands. What was paid for it counts for neither. */
function finishes(input: BidInput, state: FaultState, sale: number): boolean {
  return sale - state.cash.mean - timeValue(input, state) >= input.fallback;
}

const timeValue = (input: BidInput, state: FaultState): number =>
  (state.minutes / 60) * input.hourlyValue + input.spaceCost;

function surplusIn(input: BidInput, state: FaultState, price: number, margin: number): number {
  return figuresAt(input, [{ ...state, probability: 1 }], price).surplus(margin);
}

function netsAt(input: BidInput, price: number): { net: number; probability: number }[] {
  const purchase = Math.max(0, price);
  return input.endings.map((end) => ({
    net: (end.price === null ? end.worth : input.netOfSale(end.price, purchase)) - input.holdingCostPerWeek * end.weeks,
    probability: end.probability,
  }));
}

const expected = (nets: readonly { net: number; probability: number }[]): number =>
  nets.reduce((sum, { net, probability }) => sum + net * probability, 0);

function distributionOf(nets: readonly { net: number; probability: number }[]): [number[], number[]] {
  const sorted = [...nets].sort((a, b) => a.net - b.net);
  let sum = 0;
  return [sorted.map(({ net }) => net), sorted.map(({ probability }) => (sum += probability))];
}

/** Probability of a net below a value. */
function below(sorted: readonly number[], cumulative: readonly number[], value: number): number {
  let low = 0;
  let high = sorted.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sorted[middle]! < value) low = middle + 1;
    else high = middle;
  }
  return low === 0 ? 0 : cumulative[low - 1]!;
}

function faultStates({ effort, unknowns }: BidInput): FaultState[] {
  return Array.from({ length: 2 ** unknowns.length }, (_, bits) => {
    const has = unknowns.map((__, i) => Boolean(bits & (1 << i)));
    const present = unknowns.filter((__, i) => has[i]);
    const cash: Spread = {
      mean: present.reduce((sum, fault) => sum + fault.cash.mean, effort.cash.mean),
      deviation: Math.hypot(effort.cash.deviation, ...present.map((fault) => fault.cash.deviation)),
    };
    return {
      probability: unknowns.reduce((all, fault, i) => all * (has[i] ? fault.probability : 1 - fault.probability), 1),
      has,
      cash,
      minutes: present.reduce((sum, fault) => sum + fault.minutes.mean, effort.minutes.mean),
      cashNodes: logNormalNodes(cash),
    };
  }).filter((state) => state.probability > 0);
}

function told(figures: Figures, price: Decimal, currency: string): BidOutcome {
  const { expectedNet, fullMargin, cashMargin, hours, probabilityOfLoss } = figures;
  return {
    price,
    expectedNet: roundAmount(new Decimal(expectedNet), currency),
    expectedMargin: roundAmount(new Decimal(fullMargin), currency),
    earningsPerHour: hours > 0 ? roundAmount(new Decimal(cashMargin / hours), currency) : null,
    probabilityOfLoss: Math.round(probabilityOfLoss * 10_000) / 10_000,
  };
}

/** The highest price in minor units at which a rule holds; the rules only get harder as the price rises. */
function highest(holds: (price: number) => boolean, unit: number): number {
  if (!holds(SEARCH_LOW)) return SEARCH_LOW;
  let low = Math.round(SEARCH_LOW / unit);
  let high = 1;
  while (holds(high)) high *= 2;
  high = Math.ceil(high / unit);
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (holds(middle * unit)) low = middle;
    else high = middle;
  }
  return low * unit;
}

function checkInput(input: BidInput): void {
  const { acceptedProbabilityOfLoss: accepted, targetMarginPercent, feesPercent, unknowns } = input;
  if (!(accepted > 0 && accepted < 1))
    throw new EngineError(
      'bad-number',
      `a probability of loss lies between 0 and 1, not ${accepted}`,
      'acceptedProbabilityOfLoss',
    );
  if (!(targetMarginPercent < 100))
    throw new EngineError('bad-number', 'a margin on price stays under 100 %', 'targetMarginPercent');
  if (!(feesPercent >= 0)) throw new EngineError('bad-number', 'fees are zero percent or more', 'feesPercent');
  if (unknowns.length > MAX_UNKNOWNS)
    throw new EngineError('bad-number', `at most ${MAX_UNKNOWNS} unknowns are weighed at once`, 'unknowns');
  unknowns.forEach(({ probability }, index) => {
    if (!(probability >= 0 && probability <= 1))
      throw new EngineError('bad-number', 'a probability lies between 0 and 1', `unknowns/${index}/probability`);
  });
}

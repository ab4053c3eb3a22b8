import { Decimal } from 'decimal.js';
import { EngineError } from '../error.js';
import {
  type Amount,
  type CompletionEstimate,
  labourValue,
  minorUnits,
  parseAmount,
  probabilityCostAtMost,
  roundAmount,
  spaceCost,
} from '../money/index.js';
import { type AskInput, type AskPlan, endingsOf, planAsk } from './ask.js';

export interface BidInput {
  /** How it will be sold once finished; `terms.purchasePrice` is left out, since the bid is it. */
  sale: Omit<AskInput, 'terms'> & { terms: Omit<AskInput['terms'], 'purchasePrice'> };
  /** Cash it will take to finish it (parts, consumables, paid work), as `estimateAtCompletion` of what remains. */
  refurbishment: CompletionEstimate;
  /** Getting it here. */
  haul: Amount;
  /** Paid on top of the bid, in percent of it: a buyer's premium. Default none. It is no part of what a margin scheme computes from. */
  feesPercent?: Decimal.Value;
  /** Own hands-on time expected. */
  ownMinutes: Decimal.Value;
  hourlyValue: Decimal.Value;
  /** From purchase to the first day on offer. */
  spaceDays: Decimal.Value;
  spaceCostPerDay: Decimal.Value;
  /** What an own hour must earn at least; default the hourly value. */
  minimumEarningsPerHour?: Decimal.Value;
  /** Full margin wanted, in percent of the net proceeds; default 0. */
  targetMarginPercent?: Decimal.Value;
  /** Chance accepted of not even getting the cash back; default 0.2. */
  probabilityOfLoss?: number;
}

export type BidLimit = 'earningsPerHour' | 'targetMargin' | 'probabilityOfLoss';

export interface Bid {
  currency: string;
  /** The highest sensible price for the machine itself; zero when even a gift would not pay. */
  bid: Decimal;
  /** What each rule alone would allow; negative when the rule fails even for a gift. */
  limits: Record<BidLimit, Decimal>;
  bindingLimit: BidLimit;
  worthwhile: boolean;
  /** At the bid. */
  expectedNetProceeds: Decimal;
  expectedCashMargin: Decimal;
  earningsPerHour: Decimal | null;
  probabilityOfLoss: number;
  ask: AskPlan;
  reasons: string[];
}

/** A gift that has to be hauled and finished can be worth less than nothing; below this no rule needs to look. */
const SEARCH_LOW = '-1000000';

/**
 * The highest sensible bid for a machine not yet bought: the selling plan run backwards.
 *
 * The plan for the finished machine gives every way the sale may end (`planAsk`); each bid then has a tax under the
 * margin scheme, a cash margin, earnings for the hours, and a chance that the cash does not come back, over the
 * outcomes of the sale and of the cost to finish. Three rules must hold, and the tightest sets the bid: earnings per own
 * hour, full margin on the net proceeds, chance of a loss in cash (the allowance for risk).
 * @throws EngineError `bad-number`, `bad-amount`, and as `planAsk`
 */
export function highestBid(input: BidInput): Bid {
  const { currency } = input.sale.estimate;
  const accepted = input.probabilityOfLoss ?? 0.2;
  if (!(accepted > 0 && accepted < 1))
    throw new EngineError('bad-number', `a chance of loss lies between 0 and 1, not ${accepted}`, 'probabilityOfLoss');
  const margin = new Decimal(input.targetMarginPercent ?? 0).div(100);
  if (!margin.isFinite() || margin.greaterThanOrEqualTo(1))
    throw new EngineError('bad-number', 'a margin on price stays under 100 %', 'targetMarginPercent');
  const withFees = new Decimal(input.feesPercent ?? 0).div(100).plus(1);
  if (!withFees.isFinite() || withFees.lessThan(1))
    throw new EngineError('bad-number', 'fees on top of a bid are zero percent or more', 'feesPercent');
  const haul = typeof input.haul === 'string' ? parseAmount(input.haul, currency, 'haul') : input.haul;
  const hours = new Decimal(input.ownMinutes).div(60);
  const wages = labourValue(
    input.ownMinutes,
    input.minimumEarningsPerHour ?? input.hourlyValue,
    currency,
    'minimumEarningsPerHour',
  );
  const time = labourValue(input.ownMinutes, input.hourlyValue, currency, 'hourlyValue').plus(
    spaceCost(input.spaceDays, input.spaceCostPerDay, currency),
  );
  const cash = input.refurbishment.expected.plus(haul);

  // The tax depends on the bid, and with it, a little, the best asks: settle on a bid, plan again, settle again.
  let plan = planFor(input, new Decimal(0));
  let limits = limitsOf(plan);
  for (let round = 0; round < 2 && input.sale.terms.tax.kind === 'marginScheme'; round++) {
    plan = planFor(input, Decimal.max(0, lowest(limits).amount));
    limits = limitsOf(plan);
  }
  const { name: bindingLimit, amount } = lowest(limits);
  const bid = Decimal.max(0, amount);
  const net = expectedNet(plan, input, bid);
  const expectedCashMargin = roundAmount(net.minus(cash).minus(bid.times(withFees)), currency);
  const probabilityOfLoss =
    Math.round(computeProbabilityOfLoss(plan, input, bid, bid.times(withFees).plus(haul)) * 10_000) / 10_000;
  const worthwhile = !amount.isNegative();
  const earningsPerHour = hours.isZero() ? null : roundAmount(expectedCashMargin.div(hours), currency);
  return {
    currency,
    bid,
    limits,
    bindingLimit,
    worthwhile,
    expectedNetProceeds: roundAmount(net, currency),
    expectedCashMargin,
    earningsPerHour,
    probabilityOfLoss,
    ask: plan,
    reasons: [
      worthwhile
        ? `up to ${bid.toFixed()} ${currency}; ${LIMIT_WORDS[bindingLimit]} sets the limit`
        : amount.greaterThan(SEARCH_LOW)
          ? `not even as a gift: ${LIMIT_WORDS[bindingLimit]} would want ${amount.negated().toFixed()} ${currency} on top of the machine`
          : `not even as a gift: ${LIMIT_WORDS[bindingLimit]} cannot be met at any price`,
      `finished it is expected to leave ${roundAmount(net, currency).toFixed()} net by ${input.sale.deadline}, after ${input.refurbishment.expected.toFixed()} to finish (one time in ten over ${input.refurbishment.p90.toFixed()}) and ${haul.toFixed()} haul`,
      `${hours.toDecimalPlaces(1).toFixed()} own hours${earningsPerHour ? ` would earn ${earningsPerHour.toFixed()} each` : ''}; the cash fails to come back ${timesInAHundred(probabilityOfLoss)}`,
    ],
  };

  function limitsOf(selling: AskPlan): Record<BidLimit, Decimal> {
    return {
      earningsPerHour: highest(currency, (price) =>
        expectedNet(selling, input, price).minus(cash).minus(price.times(withFees)).greaterThanOrEqualTo(wages),
      ),
      targetMargin: highest(currency, (price) => {
        const proceeds = expectedNet(selling, input, price);
        return proceeds
          .times(new Decimal(1).minus(margin))
          .greaterThanOrEqualTo(cash.plus(time).plus(price.times(withFees)));
      }),
      probabilityOfLoss: highest(
        currency,
        (price) => computeProbabilityOfLoss(selling, input, price, price.times(withFees).plus(haul)) <= accepted,
      ),
    };
  }
}

const LIMIT_WORDS: Record<BidLimit, string> = {
  earningsPerHour: 'what an own hour must earn',
  targetMargin: 'the margin wanted',
  probabilityOfLoss: 'the chance of losing cash',
};

function planFor(input: BidInput, purchasePrice: Decimal): AskPlan {
  return planAsk({ ...input.sale, terms: { ...input.sale.terms, purchasePrice } });
}

/** Every end of the plan at a purchase price. A bid below zero stands for being paid to take it; the tax then computes from nothing paid. */
const endings = (plan: AskPlan, { sale }: BidInput, purchasePrice: Decimal): { net: Decimal; probability: number }[] =>
  endingsOf(plan, { ...sale, terms: { ...sale.terms, purchasePrice: Decimal.max(0, purchasePrice) } });

function expectedNet(plan: AskPlan, input: BidInput, purchasePrice: Decimal): Decimal {
  return endings(plan, input, purchasePrice).reduce(
    (sum, end) => sum.plus(end.net.times(end.probability)),
    new Decimal(0),
  );
}

/** Chance that what the sale leaves does not cover the cost to finish and what was paid to have it here: bid, fees and haul. */
function computeProbabilityOfLoss(plan: AskPlan, input: BidInput, bid: Decimal, paid: Decimal): number {
  const loss = endings(plan, input, bid).reduce(
    (sum, end) => sum + end.probability * (1 - probabilityCostAtMost(input.refurbishment, end.net.minus(paid))),
    0,
  );
  return Math.min(1, Math.max(0, loss));
}

function lowest(limits: Record<BidLimit, Decimal>): { name: BidLimit; amount: Decimal } {
  return (Object.keys(limits) as BidLimit[])
    .map((name) => ({ name, amount: limits[name] }))
    .reduce((low, each) => (each.amount.lessThan(low.amount) ? each : low));
}

/** The highest amount at which a rule holds, in minor units; the rules only get harder as the bid rises. */
function highest(currency: string, holds: (price: Decimal) => boolean): Decimal {
  const unit = new Decimal(10).pow(-minorUnits(currency));
  let low = new Decimal(SEARCH_LOW);
  let high = new Decimal(1);
  while (holds(high)) {
    low = high;
    high = high.times(2);
  }
  low = low.div(unit).floor();
  high = high.div(unit).floor();
  while (high.minus(low).greaterThan(1)) {
    const middle = low.plus(high).div(2).floor();
    if (holds(middle.times(unit))) low = middle;
    else high = middle;
  }
  return low.times(unit);
}

function timesInAHundred(probability: number): string {
  const times = Math.round(100 * probability);
  return times === 1 ? 'once in a hundred times' : `${times} times in a hundred`;
}

/** What to pay at most for a machine not yet bought: the way from its sale back to its purchase. Pure. */
import { Decimal } from 'decimal.js';
import { at, last, lookUp } from '../engine/look-up.js';
import { roundAmount } from '../engine/money/index.js';
import {
  type BidResult,
  type BidRule,
  type EffortBelief,
  highestBid,
  learnEffort,
  logNormalNodes,
  type MachineTraits,
  netFunction,
  type PastEffort,
  planAsk,
  type Spread,
} from '../engine/price/index.js';
import { addDays, daysBetween } from '../platform/days.js';
import { deadlineFor, demandOf, estimateOf, expectedRange, likelyNet, type Market, nextSeason } from './market.js';
import { CLAIM_FACTOR, type HiddenFault, hiddenFaultNames, hiddenFaults } from './unknown-faults.js';

export interface BidRequest {
  market: Market;
  /** As it would be sold, and as it was found. */
  machine: MachineTraits;
  foundCondition: number;
  faultsSeen: readonly HiddenFault[];
  claimedSound: readonly HiddenFault[];
  askedPrice: Decimal | null;
  /** Parts and paint, and own hands-on minutes, where the asker knows better. */
  partsCost: Decimal | null;
  handsOnMinutes: number | null;
  /** Of the shop's route for the kind. */
  routeMinutes: number;
  past: readonly PastEffort[];
  sellingCost: Decimal;
  haul: Decimal;
  /** A buyer's premium, in percent of the bid. */
  feesPercent: number;
  hourlyValue: Decimal;
  spacePerDay: Decimal;
  /** When it would be finished if it came in today; null when there is no room in the plan. */
  readyDate: string | null;
  targetMarginPercent: number;
  acceptedProbabilityOfLoss: number;
}

/** Of parts and paint, as a share of what a finished machine brings, before the first own job. Judgement, no source. */
const BASE_CASH_SHARE = 0.12;
/** Where the asker states a figure, it is off by so much. Judgement, no source. */
const STATED_SPREAD = 0.3;
/** A machine not worth finishing still brings this share of what one as found brings. Judgement, no source. */
const FALLBACK_SHARE = 0.5;

export type BidFacts = ReturnType<typeof bidOf>;

export function bidOf(request: BidRequest) {
  const { market, machine, readyDate, hourlyValue, spacePerDay, feesPercent } = request;
  const { currency, tax, today } = market;
  const { kind } = machine;
  const listFrom = readyDate ?? addDays(today, 365);
  const estimate = estimateOf(market, machine, listFrom);
  const effort = effortOf(request, estimate.p50.toNumber());
  const terms = { tax, fixedCost: roundAmount(request.sellingCost, currency), purchasePrice: new Decimal(0) };
  const plan = planAsk({
    estimate,
    listFrom,
    deadline: deadlineFor(market, kind, listFrom),
    terms,
    holdingCostPerWeek: roundAmount(spacePerDay.times(7), currency),
    unsold: nextSeason(spacePerDay, currency),
    demand: demandOf(market, kind),
  });
  const asFound = estimateOf(market, { ...machine, condition: request.foundCondition }, addDays(today, 30));
  const unknowns = hiddenFaultNames
    .filter((fault) => !request.faultsSeen.includes(fault))
    .map((fault) => {
      const { probability, cash, minutes } = lookUp(effort.faults, fault);
      return {
        name: fault,
        check: hiddenFaults[fault].check,
        probability: probability * (request.claimedSound.includes(fault) ? CLAIM_FACTOR : 1),
        cash,
        minutes,
      };
    });
  const input = {
    currency,
    endings: plan.endings.map(({ price, net, weeks, probability }) => ({ price, worth: net, weeks, probability })),
    holdingCostPerWeek: plan.holdingCostPerWeek,
    netOfSale: netFunction(terms, currency),
    effort,
    unknowns,
    haul: request.haul.toNumber(),
    feesPercent,
    hourlyValue: hourlyValue.toNumber(),
    spaceCost: spacePerDay.times(Math.max(0, daysBetween(today, listFrom))).toNumber(),
    minEarningsPerHour: hourlyValue.toNumber(),
    targetMarginPercent: request.targetMarginPercent,
    acceptedProbabilityOfLoss: request.acceptedProbabilityOfLoss,
    fallback: likelyNet(asFound, terms, currency).times(FALLBACK_SHARE).toNumber(),
    askedPrice: request.askedPrice?.toNumber() ?? null,
  };
  const result = highestBid(input);
  const money = (value: number): Decimal => roundAmount(new Decimal(value), currency);
  const withUnknowns = (of: 'cash' | 'minutes'): number =>
    unknowns.reduce((sum, fault) => sum + fault.probability * fault[of].mean, effort[of].mean);
  const range = (spread: Spread) => {
    const nodes = logNormalNodes(spread);
    return { low: money(at(nodes, 0)), likely: money(at(nodes, 4)), high: money(last(nodes)) };
  };
  return {
    kind,
    expected: expectedRange(estimate, tax, currency),
    partsCost: money(withUnknowns('cash')),
    repairCost: range(effort.cash),
    handsOnMinutes: Math.round(withUnknowns('minutes')),
    readyDate,
    highestBid: result.bid,
    // Of the rules only that of the margin: what an hour must earn and the risk are what a bid is lowered for.
    breakEvenBid: Decimal.max(0, highestBid({ ...input, targetMarginPercent: 0 }).limits.targetMargin),
    limits: result.limits,
    bindingRule: result.bindingRule,
    atBid: result.atBid,
    atAskedPrice: result.atAsked,
    checks: result.checks.map(({ name, ...check }) => ({ fault: name as HiddenFault, ...check })),
    valueOfKnowingAll: result.valueOfKnowingAll,
    comparablesUsed: estimate.used.length,
    reasons: reasonsOf(request, result, effort, estimate.reasons, currency),
  };
}

/** Of a machine with the faults that were seen; what the asker states takes the place of what is learnt. */
function effortOf(request: BidRequest, finishedPrice: number): EffortBelief {
  const effort = learnEffort(
    request.past,
    {
      cash: BASE_CASH_SHARE * finishedPrice,
      minutes: request.routeMinutes,
      faults: hiddenFaultNames.map((name) => {
        const { probability, cashShare, minutes } = hiddenFaults[name];
        return { name, probability, cash: cashShare * finishedPrice, minutes };
      }),
    },
    request.faultsSeen,
  );
  const stated = (mean: number): Spread => ({ mean, deviation: STATED_SPREAD * mean });
  return {
    ...effort,
    ...(request.partsCost ? { cash: stated(request.partsCost.toNumber()) } : {}),
    ...(request.handsOnMinutes === null ? {} : { minutes: stated(request.handsOnMinutes) }),
  };
}

const RULES: Record<BidRule, string> = {
  targetMargin: 'the margin wanted',
  earningsPerHour: 'what an own hour must earn',
  probabilityOfLoss: 'the accepted chance of losing cash',
};

function reasonsOf(
  request: BidRequest,
  result: BidResult,
  effort: EffortBelief,
  priceReasons: readonly string[],
  currency: string,
): string[] {
  const { past, faultsSeen, partsCost, handsOnMinutes, feesPercent, readyDate, askedPrice } = request;
  const binding = result.limits[result.bindingRule];
  const hours = `${(effort.minutes.mean / 60).toFixed(1)} hours`;
  const cash = `${roundAmount(new Decimal(effort.cash.mean), currency).toFixed()} ${currency}`;
  const withFaults = faultsSeen.length > 0 ? ` with the faults seen (${faultsSeen.join(', ')})` : '';
  const origin = (isStated: boolean, withoutJobs: string): string =>
    isStated ? 'as stated' : past.length > 0 ? `from ${past.length} own sold of the kind` : withoutJobs;
  const best = result.checks[0];
  return [
    result.worthwhile
      ? `Pay up to ${result.bid.toFixed()} ${currency}; ${RULES[result.bindingRule]} sets the limit`
      : `Do not buy: even at a price of 0 it would miss ${RULES[result.bindingRule]} by ${binding.negated().toFixed()} ${currency}`,
    `At that price it leaves ${result.atBid.expectedMargin.toFixed()} beyond cash, time and space, and ` +
      `the cash does not come back ${Math.round(100 * result.atBid.probabilityOfLoss)} times in a hundred`,
    ...(result.atAsked && askedPrice
      ? [
          `At the asked ${askedPrice.toFixed()} it leaves ${result.atAsked.expectedMargin.toFixed()}, and the ` +
            `cash does not come back ${Math.round(100 * result.atAsked.probabilityOfLoss)} times in a hundred`,
        ]
      : []),
    `Parts and paint${withFaults}: ${cash}, ${origin(partsCost !== null, 'a share of what it brings, for want of an own job')}`,
    `Own work${withFaults}: ${hours}, ${origin(handsOnMinutes !== null, "from the shop's route")}`,
    ...(request.sellingCost.greaterThan(0)
      ? [
          `Selling one cost ${roundAmount(request.sellingCost, currency).toFixed()} ${currency} on average of ${past.length}`,
        ]
      : []),
    ...(best?.value.greaterThan(0)
      ? [
          `Before paying, ${best.check} is worth ${best.value.toFixed()} ${currency}: what it shows may change the decision`,
        ]
      : ['Nothing that could be checked before paying would change the decision']),
    ...(feesPercent > 0 ? [`Fees of ${feesPercent} % come on top of the bid`] : []),
    readyDate
      ? `Taken in today it would be finished about ${readyDate}, behind all that is open`
      : 'There is no room for it in the plan within its reach; a sale a year from now is assumed',
    ...priceReasons,
  ];
}

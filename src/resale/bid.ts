/** What to pay at most for a machine not yet bought: the way from its sale back to its purchase. Pure. */
import { Decimal } from 'decimal.js';
import { estimateAtCompletion, roundAmount, type TaxScheme } from '../engine/money/index.js';
import { estimatePrice, highestBid, type PricedMachine } from '../engine/price/index.js';
import { addDays, daysBetween } from '../platform/days.js';
import { buyersOf, deadlineFor, expectedRange, likelyNet, type Market, seasonOf, worthNextSeason } from './market.js';

export interface BidRequest {
  market: Market;
  currency: string;
  today: string;
  /** As it would be sold. */
  machine: PricedMachine;
  partsCost: Decimal;
  haul: Decimal;
  /** A buyer's premium, in percent of the bid. */
  feesPercent: number;
  /** Own hands-on minutes, and where the figure is from when nothing of the kind has been sold here. */
  minutes: number;
  minutesFrom: 'asked' | 'route';
  /** Of the kind, and what selling one cost on average. */
  soldHere: { jobs: number; sellingCost: Decimal };
  tax: TaxScheme;
  hourlyValue: Decimal;
  spacePerDay: Decimal;
  /** When it would be finished if it came in today; null when there is no room in the plan. */
  readyDate: string | null;
  targetMarginPercent: number;
}

/** Parts and hours of a machine not seen yet, in shares of the likely: from half as much to twice as much. A judgement, no source. */
const UNSEEN = { low: 0.5, high: 2 };

export type BidFacts = ReturnType<typeof bidOf>;

export function bidOf({
  market,
  currency,
  today,
  machine,
  partsCost,
  haul,
  feesPercent,
  minutes,
  minutesFrom,
  soldHere,
  tax,
  hourlyValue,
  spacePerDay,
  readyDate,
  targetMarginPercent,
}: BidRequest) {
  const { kind } = machine;
  const listFrom = readyDate ?? addDays(today, 365);
  const season = seasonOf(market, kind);
  const estimate = estimatePrice({ machine, comparables: market.comparables, on: listFrom, today, season, currency });
  const refurbishment = estimateAtCompletion(
    new Decimal(0),
    [
      {
        what: 'parts and paint',
        low: roundAmount(partsCost.times(UNSEEN.low), currency),
        likely: partsCost,
        high: roundAmount(partsCost.times(UNSEEN.high), currency),
      },
    ],
    currency,
  );
  const terms = { tax, fixedCost: soldHere.sellingCost };
  const { buyersPerWeek } = buyersOf(market, kind);
  const settled = (marginPercent: number, purchasePrice: Decimal) =>
    highestBid({
      sale: {
        estimate,
        season,
        listFrom,
        deadline: deadlineFor(market, kind, listFrom),
        terms,
        buyersPerWeek,
        holdingCostPerWeek: roundAmount(spacePerDay.times(7), currency),
        valueIfUnsold: worthNextSeason(
          likelyNet(estimate, { ...terms, purchasePrice }, currency),
          spacePerDay,
          currency,
        ),
      },
      refurbishment,
      haul,
      feesPercent,
      ownMinutes: minutes,
      hourlyValue,
      spaceDays: Math.max(0, daysBetween(today, listFrom)),
      spaceCostPerDay: spacePerDay,
      targetMarginPercent: marginPercent,
    });
  // Under a margin scheme the tax on next season's sale depends on the bid too: once from nothing paid, once from that.
  const bidFor = (marginPercent: number) => {
    const first = settled(marginPercent, new Decimal(0));
    return tax.kind === 'marginScheme' ? settled(marginPercent, first.bid) : first;
  };
  const bid = bidFor(targetMarginPercent);
  return {
    kind,
    expected: expectedRange(estimate, tax, currency),
    partsCost,
    handsOnMinutes: minutes,
    readyDate,
    highestBid: bid.bid,
    // Of the three rules only that of the margin: what an hour must earn and the risk are what a bid is lowered for.
    breakEvenBid: Decimal.max(0, bidFor(0).limits.targetMargin),
    comparablesUsed: estimate.used.length,
    reasons: [
      ...bid.reasons,
      ...(feesPercent > 0 ? [`fees of ${feesPercent} % come on top of the bid`] : []),
      effortWords(),
      ...(readyDate
        ? [`taken in today it would be finished about ${readyDate}, behind all that is open`]
        : ['there is no room for it in the plan']),
      ...estimate.reasons,
    ],
  };

  function effortWords(): string {
    const hours = `${(minutes / 60).toFixed(1)} hours`;
    const own = `the shop's own ${soldHere.jobs} sold of the kind`;
    const selling = soldHere.sellingCost.greaterThan(0)
      ? `, and ${soldHere.sellingCost.toFixed()} ${currency} to sell one`
      : '';
    if (minutesFrom === 'asked') return `${hours} as asked${selling && `${selling}, as ${own} took`}`;
    if (soldHere.jobs > 0)
      return `parts and hours as on ${own}: ${partsCost.toFixed()} ${currency} and ${hours}${selling}`;
    return `${hours} from the shop's route; nothing of the kind has been sold here yet`;
  }
}

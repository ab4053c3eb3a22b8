/** The market as the shop knows it: prices seen elsewhere, prices made here, and the season. */
import { Decimal } from 'decimal.js';
import { snowKinds } from '../intake/intake.shapes.js';
import { addDays } from '../platform/days.js';
import { isoDay, monthDay, onYear } from '../engine/days.js';
import { roundAmount } from '../engine/money/index.js';
import { learnBuyers, netOfSale, type Buyers, type Comparable as Seen, type PriceEstimate, type Season, type SellingTerms } from '../engine/price/index.js';
import type { Call } from '../platform/operation/operation.js';
import { figure } from '../platform/money.js';
import { asDate, asDay } from '../platform/operation/records.js';
import { snowOutlook } from '../season/first-snow.queries.js';
import { readShop } from '../shop/shop.queries.js';

/** What a machine leaves the shop as, unless it says otherwise: good, not as new. */
export const FINISHED_CONDITION = 4;
/** A machine carried over to the next season is worth so much less then, beside the year's space: a judgement, no source. */
const NEXT_SEASON_SHARE = 0.85;
/** Comparables older than this tell little of today's prices. */
const YEARS_BACK = 5;
/** Kinds without a season of their own are given so long to sell. */
const DAYS_WITHOUT_SEASON = 180;
const forSnow = new Set<string>(snowKinds);


export interface Market {
  comparables: Seen[];
  seasonOf(kind: string): Season | null;
  /** Serious buyers of a kind, learnt from the shop's own offers. */
  buyersOf(kind: string): Buyers;
  /** The day on which a kind's season ends for a machine offered on a day. */
  deadlineFor(kind: string, from: string): string;
}

/** Prices seen elsewhere and made here, offers and the season: five statements and the station's, whatever is asked. */
export async function readMarket(call: Call): Promise<Market> {
  const since = asDate(addDays(call.today, -365 * YEARS_BACK));
  const seen = await call.tx.comparable.findMany({ where: { retiredAt: null, seenOn: { gte: since } } });
  // What was given away says nothing of prices.
  const sales = await call.tx.sale.findMany({ where: { reversedOn: null, price: { gt: 0 }, soldOn: { gte: since } }, include: { job: { select: { machine: true } } } });
  const offers = await call.tx.offer.findMany({ where: { offeredOn: { gte: since } }, include: { job: { select: { machine: { select: { kind: true } }, sales: { where: { reversedOn: null }, select: { soldOn: true } } } } } });
  const outlook = await snowOutlook(call);
  const { seasonEndsOn } = await readShop(call);
  const snow: Season | null = outlook.medianDay === null ? null : { peakOn: outlook.medianDay.slice(5) };
  const seasonOf = (kind: string): Season | null => (forSnow.has(kind) ? snow : null);
  return {
    comparables: [
      ...seen.map((one): Seen => ({
        id: one.id,
        kind: one.kind,
        maker: one.maker,
        model: one.model,
        condition: one.condition,
        yearEstimate: one.yearEstimate,
        clearingWidthMillimetres: one.clearingWidthMillimetres,
        priceKind: one.priceKind,
        price: figure(one.price),
        seenOn: asDay(one.seenOn),
        distanceKilometres: one.distanceKilometres?.toString() ?? null,
      })),
      ...sales.map(({ id: saleId, price, soldOn, job: { machine } }): Seen => ({
        id: saleId,
        kind: machine.kind,
        maker: machine.maker,
        model: machine.model,
        condition: FINISHED_CONDITION,
        yearEstimate: machine.yearEstimate,
        clearingWidthMillimetres: machine.clearingWidthMillimetres,
        priceKind: 'sold',
        price: figure(price),
        seenOn: asDay(soldOn),
        distanceKilometres: 0,
      })),
    ],
    seasonOf,
    buyersOf: (kind) =>
      learnBuyers(
        offers
          .filter((offer) => offer.job.machine.kind === kind)
          .map((offer) => ({
            from: asDay(offer.offeredOn),
            to: offer.withdrawnOn ? asDay(offer.withdrawnOn) : call.today,
            sold: offer.withdrawnOn !== null && offer.job.sales.some((sale) => asDay(sale.soldOn) === asDay(offer.withdrawnOn!)),
          })),
        seasonOf(kind),
      ),
    deadlineFor(kind, from) {
      if (!forSnow.has(kind)) return addDays(from, DAYS_WITHOUT_SEASON);
      const endIn = (year: number): string => isoDay(onYear(monthDay(seasonEndsOn), year));
      const year = Number(from.slice(0, 4));
      // An end less than a month off leaves no time to sell: the season after it is meant.
      return endIn(year) > addDays(from, 28) ? endIn(year) : endIn(year + 1);
    },
  };
}

/** What a machine is worth that the season passes over: what it would leave then, less the space of a year. Never below nothing. */
export function worthNextSeason(netOfSale: Decimal, spacePerDay: Decimal, currency: string): Decimal {
  return roundAmount(Decimal.max(0, netOfSale.times(NEXT_SEASON_SHARE).minus(spacePerDay.times(365))), currency);
}

/** What a sale at an estimate's quantiles leaves after tax and selling. */
export const netRange = (estimate: PriceEstimate, terms: SellingTerms, currency: string) => ({
  low: netOfSale(estimate.p10, terms, currency),
  likely: netOfSale(estimate.p50, terms, currency),
  high: netOfSale(estimate.p90, terms, currency),
});

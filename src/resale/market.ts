/** The market as the shop knows it: prices seen elsewhere, prices made here, the season. Pure. */
import { Decimal } from 'decimal.js';
import { isoDay, monthDay, onYear } from '../engine/days.js';
import { roundAmount, type TaxScheme } from '../engine/money/index.js';
import {
  agreedPrice,
  type Buyers,
  type Comparable as Seen,
  learnBuyers,
  netOfSale,
  type PastOffer,
  type PriceEstimate,
  type Season,
  type SellingTerms,
} from '../engine/price/index.js';
import { addDays } from '../platform/days.js';

/** What a machine leaves the shop as, unless it says otherwise: good, not as new. */
export const FINISHED_CONDITION = 4;
/** A machine carried over to the next season is worth so much less then, beside the year's space: a judgement, no source. */
const NEXT_SEASON_SHARE = 0.85;
/** Kinds without a season of their own are given so long to sell. */
const DAYS_WITHOUT_SEASON = 180;

export interface Market {
  comparables: Seen[];
  /** The shop's own past and standing offers. */
  offers: (PastOffer & { kind: string })[];
  /** The kinds whose season is the snow. */
  snowKinds: readonly string[];
  /** Month and day of the median first snow; null when nothing is known of it. */
  snowPeakMonthDay: string | null;
  /** Month and day on which the season of the snow is over. */
  seasonEndMonthDay: string;
}

export const isKnown = ({ comparables }: Market, kind: string): boolean => comparables.some((one) => one.kind === kind);

export const seasonOf = ({ snowKinds, snowPeakMonthDay }: Market, kind: string): Season | null =>
  snowPeakMonthDay !== null && snowKinds.includes(kind) ? { peakOn: snowPeakMonthDay } : null;

/** Serious buyers of a kind, learnt from the shop's own offers. */
export const buyersOf = (market: Market, kind: string): Buyers =>
  learnBuyers(
    market.offers.filter((offer) => offer.kind === kind),
    seasonOf(market, kind),
  );

/** The day on which a kind's season ends for a machine offered on a day. */
export function deadlineFor({ snowKinds, seasonEndMonthDay }: Market, kind: string, from: string): string {
  if (!snowKinds.includes(kind)) return addDays(from, DAYS_WITHOUT_SEASON);
  const endIn = (year: number): string => isoDay(onYear(monthDay(seasonEndMonthDay), year));
  const year = Number(from.slice(0, 4));
  // An end less than a month off leaves no time to sell: the season after it is meant.
  return endIn(year) > addDays(from, 28) ? endIn(year) : endIn(year + 1);
}

/** What a machine is worth that the season passes over: what it would leave then, less the space of a year. Never below nothing. */
export function worthNextSeason(netOfSale: Decimal, spacePerDay: Decimal, currency: string): Decimal {
  return roundAmount(Decimal.max(0, netOfSale.times(NEXT_SEASON_SHARE).minus(spacePerDay.times(365))), currency);
}

export interface Range {
  low: Decimal;
  likely: Decimal;
  high: Decimal;
}

/** An estimate as prices that are agreed on, before sales tax on top: it tells what buyers hand over in all. */
export const expectedRange = (estimate: PriceEstimate, tax: TaxScheme, currency: string): Range => ({
  low: agreedPrice(estimate.p10, tax, currency),
  likely: agreedPrice(estimate.p50, tax, currency),
  high: agreedPrice(estimate.p90, tax, currency),
});

/** What a sale at the likely price of an estimate leaves after tax and selling. */
export const likelyNet = (estimate: PriceEstimate, terms: SellingTerms, currency: string): Decimal =>
  netOfSale(agreedPrice(estimate.p50, terms.tax, currency), terms, currency);

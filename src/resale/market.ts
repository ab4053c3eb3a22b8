/** The market as the shop knows it: prices seen elsewhere, prices and offers made here, the season. Pure. */
import { Decimal } from 'decimal.js';
import { dayNumber, isoDay, monthDay, onYear } from '../engine/days.js';
import type { JobScope } from '../engine/diagnosis/index.js';
import { at, last } from '../engine/look-up.js';
import { roundAmount, type TaxScheme } from '../engine/money/index.js';
import {
  agreedPrice,
  type Demand,
  estimateFromMarket,
  learnDemand,
  learnMarket,
  listingHistory,
  type ListingRecord,
  type MachineTraits,
  type MarketModel,
  netOfSale,
  outlayFactor,
  type PriceEstimate,
  type Seasonality,
  type SeenPrice,
  type SellingTerms,
  splitPrediction,
  type UnsoldWorth,
  usualBehaviour,
  usualBeliefs,
} from '../engine/price/index.js';
import { addDays } from '../platform/days.js';

/** What a machine leaves the shop as, unless it says otherwise: good, not as new. */
export const FINISHED_CONDITION = 4;
/** Mended where it must be, its paint as it was: running but worn, unless it came better. */
const MECHANICAL_CONDITION = 3;

/** What a machine leaves the shop as, by how far its job goes. */
export function leavingCondition(scope: JobScope, asFound: number): number {
  if (scope === 'full') return FINISHED_CONDITION;
  return scope === 'mechanical' || scope === 'mendOneFault' ? Math.max(MECHANICAL_CONDITION, asFound) : asFound;
}

/** A machine carried over to the next season is worth so much less then, beside the year's space: a judgement, no source. */
const NEXT_SEASON_SHARE = 0.85;
/** Kinds without a season of their own are given so long to sell. */
const DAYS_WITHOUT_SEASON = 180;

/** A machine's time on offer here. */
export interface OwnListing {
  machine: MachineTraits;
  record: ListingRecord;
}

export interface Market {
  today: string;
  currency: string;
  tax: TaxScheme;
  comparables: SeenPrice[];
  /** The shop's own past and standing offers. */
  listings: OwnListing[];
  /** How enquiries fall with the ask, until it is learnt: a setting of the shop. */
  enquiryElasticity: number;
  /** The kinds whose season is the snow. */
  snowKinds: readonly string[];
  /** Days of the first snow: of past seasons as they were, of the coming one as now expected. Empty when nothing is known. */
  firstSnows: readonly string[];
  /** Month and day on which the season of the snow is over. */
  seasonEndMonthDay: string;
}

export const isKnown = ({ comparables }: Market, kind: string): boolean => comparables.some((one) => one.kind === kind);

/** A kind's season: the usual peak is the median of all that are known, each season's own counts for itself. */
export function seasonalityOf({ snowKinds, firstSnows }: Market, kind: string): Seasonality | null {
  if (firstSnows.length === 0 || !snowKinds.includes(kind)) return null;
  // Days since the first of July or, south of the equator, of January before it: a season never lies astride both.
  const latest = last(firstSnows);
  const start = latest.slice(5) >= '07' || latest.slice(5) < '04' ? '07-01' : '01-01';
  const offsets = firstSnows
    .map((date) => {
      const year = Number(date.slice(0, 4));
      const from = date.slice(5) >= start ? `${year}-${start}` : `${year - 1}-${start}`;
      return dayNumber(date) - dayNumber(from);
    })
    .sort((a, b) => a - b);
  const usual = isoDay(dayNumber(`2026-${start}`) + at(offsets, (offsets.length - 1) >> 1));
  return { usualPeak: usual.slice(5), peaks: firstSnows };
}

const models = new WeakMap<Market, Map<string, MarketModel>>();

/** What the comparables of a kind say; learnt once a market. */
export function marketModelOf(market: Market, kind: string): MarketModel {
  const known = models.get(market) ?? new Map<string, MarketModel>();
  models.set(market, known);
  const model =
    known.get(kind) ??
    learnMarket({
      kind,
      seen: market.comparables,
      today: market.today,
      seasonality: seasonalityOf(market, kind),
      currency: market.currency,
      beliefs: usualBeliefs,
    });
  known.set(kind, model);
  return model;
}

export const estimateOf = (market: Market, machine: MachineTraits, on: string): PriceEstimate =>
  estimateFromMarket(marketModelOf(market, machine.kind), machine, on, market.currency);

/** What buyers hand over for each unit of the agreed price, in the log. */
const onTopOf = ({ tax }: Market): number => Math.log(outlayFactor(tax).toNumber());

const demands = new WeakMap<Market, Map<string, Demand>>();

/** Enquiries about a kind, learnt from the shop's own time on offer. */
export function demandOf(market: Market, kind: string): Demand {
  const known = demands.get(market) ?? new Map<string, Demand>();
  demands.set(market, known);
  const own = isKnown(market, kind) ? market.listings.filter(({ machine }) => machine.kind === kind) : [];
  const demand =
    known.get(kind) ??
    learnDemand(
      own.map(({ machine, record }) => {
        const estimate = estimateOf(market, machine, at(record.asks, 0).from);
        return {
          history: historyOf(market, record, estimate),
          values: splitPrediction(estimate.distribution, usualBehaviour),
        };
      }),
      market.enquiryElasticity,
    );
  known.set(kind, demand);
  return demand;
}

/** A time on offer as the demand model takes it, shifts counted from the estimate's day. */
export const historyOf = (market: Market, record: ListingRecord, { seasonality, effects, on }: PriceEstimate) =>
  listingHistory(record, { seasonality, effect: effects.season.mean, on }, onTopOf(market));

/** The day on which a kind's season ends for a machine offered on a day. */
export function deadlineFor({ snowKinds, seasonEndMonthDay }: Market, kind: string, from: string): string {
  if (!snowKinds.includes(kind)) return addDays(from, DAYS_WITHOUT_SEASON);
  const endIn = (year: number): string => isoDay(onYear(monthDay(seasonEndMonthDay), year));
  const year = Number(from.slice(0, 4));
  // An end less than a month off leaves no time to sell: the season after it is meant.
  return endIn(year) > addDays(from, 28) ? endIn(year) : endIn(year + 1);
}

/**
 * What a machine is worth that the season passes over: a share of what it would leave then, less the space of a year.
 * Never below nothing.
 */
export const worthNextSeason = (net: Decimal, spacePerDay: Decimal, currency: string): Decimal =>
  roundAmount(Decimal.max(0, net.times(NEXT_SEASON_SHARE).minus(spacePerDay.times(365))), currency);

/** The same as the ask plan takes it: it follows what the market level turns out to be. */
export const nextSeason = (spacePerDay: Decimal, currency: string): UnsoldWorth => ({
  kind: 'nextSeason',
  share: NEXT_SEASON_SHARE,
  cost: roundAmount(spacePerDay.times(365), currency),
  atLeast: new Decimal(0),
});

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

/** Pieces of equipment beyond the usual, less those that are missing: what the price model counts. */
export const equipmentBalance = (equipment: unknown): number =>
  (Array.isArray(equipment) ? (equipment as { status: string }[]) : []).reduce(
    (sum, { status }) => sum + (status === 'fitted' ? 1 : -1),
    0,
  );

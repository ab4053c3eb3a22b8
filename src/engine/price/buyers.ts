import { dayNumber } from '../days.js';
import { EngineError } from '../error.js';
import { gammaQuantile } from '../statistics/index.js';
import { type Season, seasonDemand } from './comparable.js';

/** A time on offer at about the going price. */
export interface PastOffer {
  /** First day on offer, YYYY-MM-DD. */
  from: string;
  /** Day it was sold or taken off, or today. */
  to: string;
  sold: boolean;
}

export interface Buyers {
  /** Serious buyers a week at the height of demand, for `planAsk`. */
  buyersPerWeek: number;
  /** Four chances in five lie between. */
  low: number;
  high: number;
  reasons: string;
}

/** Belief before the first offer: one and a half a week, worth two weeks of watching. A judgement, no source. */
const USUAL = { sales: 3, weeks: 2 };
/** Share of serious buyers who take an ask at about the going price. A judgement, no source. */
const TAKEN = 0.5;

/**
 * How many serious buyers come, learnt from the shop's own offers: sales are Poisson in the weeks on offer, each week
 * counted by the season's demand and the share of buyers who take the ask; a gamma belief (a, b) becomes
 * (a + sales, b + weeks), conjugate (Gelman et al., Bayesian Data Analysis §2.6).
 * @throws EngineError `bad-day`, `bad-number` when an offer ends before it begins
 */
export function learnBuyers(offers: readonly PastOffer[], season: Season | null): Buyers {
  let sales = USUAL.sales;
  let weeks = USUAL.weeks;
  offers.forEach((offer, index) => {
    const from = dayNumber(offer.from, `offers/${index}/from`);
    const to = dayNumber(offer.to, `offers/${index}/to`);
    if (to < from)
      throw new EngineError(
        'bad-number',
        `the offer ends on ${offer.to}, before it begins on ${offer.from}`,
        `offers/${index}/to`,
      );
    // A machine sold on its first day was on offer for part of that day.
    for (let day = from; day < Math.max(to, from + 1); day++) weeks += (TAKEN * seasonDemand(season, day)) / 7;
    if (offer.sold) sales++;
  });
  const sold = sales - USUAL.sales;
  return {
    buyersPerWeek: sales / weeks,
    low: gammaQuantile(0.1, sales, 1 / weeks),
    high: gammaQuantile(0.9, sales, 1 / weeks),
    reasons:
      offers.length === 0
        ? "no offer of the shop's own yet: one and a half serious buyers a week at the height of the season are taken as usual"
        : `${sold} of ${offers.length} own offers sold: about ${(sales / weeks).toFixed(1)} serious buyers a week at the height of demand`,
  };
}

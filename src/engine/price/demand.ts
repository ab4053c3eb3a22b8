import { last } from '../look-up.js';
import { type BuyerBehaviour, type ReservationValues, usualBehaviour } from './buyers-model.js';
import { historyLikelihood, type ListingHistory } from './listing-history.js';

/** How many enquire about a kind of machine, and how they respond to the ask. */
export interface Demand {
  /** Enquiries a week at the going price at the height of demand: equally likely nodes of what is believed. */
  rates: { probability: number; perWeek: number }[];
  /** Mean of the belief, and four chances in five lie between. */
  perWeek: number;
  low: number;
  high: number;
  elasticity: number;
  /** Whether the elasticity is learnt from recorded offers, not the setting. */
  elasticityLearnt: boolean;
  listings: number;
  sales: number;
  offers: number;
  reasons: string[];
}

/** Belief before the first listing: a judgement, no source. */
const USUAL_RATE = { median: 1.5, logDeviation: 0.8 };
/** Elasticity is not learnt before so many offers are recorded: sales alone cannot tell it from the rate. */
export const OFFERS_FOR_ELASTICITY = 30;
/** Belief about the elasticity around the setting, in its log, once it is learnt. */
const ELASTICITY_LOG_DEVIATION = 0.3;
const RATE_GRID = 41;
const RATE_NODES = 4;
/** The belief has to have narrowed to this share of what it was before the listings are said to tell something. */
const TELLS_SOMETHING = 0.75;

export interface PastListing {
  history: ListingHistory;
  /** What its buyers would have paid, as it was estimated; the level stays unknown. */
  values: ReservationValues;
}

/**
 * Learns how many enquire from the shop's own listings, the asks as they stood and over each machine's unknown level:
 * enquiries are a Poisson process thinned by the ask, so a listing's likelihood at a rate is a mean over its levels of
 * rateⁿ·exp(a − rate·b) (`historyLikelihood`), and the belief is on a grid of log rates. The elasticity is the setting
 * until 30 offers are recorded, and then has a grid of its own.
 */
export function learnDemand(listings: readonly PastListing[], elasticitySetting = usualBehaviour.elasticity): Demand {
  const sales = listings.filter(({ history }) => history.sale).length;
  const offers = listings.reduce((sum, { history }) => sum + (history.offersRecorded ? history.offers.length : 0), 0);
  const elasticityLearnt = offers >= OFFERS_FOR_ELASTICITY;
  const elasticities = elasticityLearnt
    ? [-2, -1.5, -1, -0.5, 0, 0.5, 1, 1.5, 2].map((z) => ({
        elasticity: elasticitySetting * Math.exp(ELASTICITY_LOG_DEVIATION * z),
        logPrior: -0.5 * z * z,
      }))
    : [{ elasticity: elasticitySetting, logPrior: 0 }];
  const grid = Array.from({ length: RATE_GRID }, (_, k) => {
    const z = (7 * k) / (RATE_GRID - 1) - 3.5;
    return { perWeek: USUAL_RATE.median * Math.exp(USUAL_RATE.logDeviation * z), logPrior: -0.5 * z * z };
  });
  const logs = elasticities.map(({ elasticity, logPrior }) => {
    const behaviour: BuyerBehaviour = { ...usualBehaviour, elasticity };
    const sums = listings.map(({ history, values }) =>
      values.levels.map(({ log, probability }) => ({
        probability,
        ...historyLikelihood(history, behaviour, log, values.scatter),
      })),
    );
    return grid.map(
      (rate) =>
        logPrior +
        rate.logPrior +
        sums.reduce(
          (sum, levels) =>
            sum +
            Math.log(
              Math.max(
                1e-300,
                levels.reduce(
                  (all, { probability, events, logEvents, exposure }) =>
                    all + probability * Math.exp(events * Math.log(rate.perWeek) + logEvents - rate.perWeek * exposure),
                  0,
                ),
              ),
            ),
          0,
        ),
    );
  });
  const top = Math.max(...logs.flat());
  const weights = grid.map((_, k) => logs.reduce((sum, row) => sum + Math.exp(row[k]! - top), 0));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const elasticity =
    elasticities.reduce(
      (sum, each, i) => sum + each.elasticity * logs[i]!.reduce((all, log) => all + Math.exp(log - top), 0),
      0,
    ) / total;
  const quantile = (p: number): number => {
    // Half of a node's weight lies below it; between nodes by straight line in the log.
    let before = { at: 0, perWeek: grid[0]!.perWeek };
    let sum = 0;
    for (const [k, weight] of weights.entries()) {
      const at = (sum + weight / 2) / total;
      const { perWeek: rate } = grid[k]!;
      if (at >= p)
        return k === 0 ? rate : before.perWeek * (rate / before.perWeek) ** ((p - before.at) / (at - before.at));
      before = { at, perWeek: rate };
      sum += weight;
    }
    return last(grid).perWeek;
  };
  const perWeek = grid.reduce((sum, rate, k) => sum + (rate.perWeek * weights[k]!) / total, 0);
  const [low, high] = [quantile(0.1), quantile(0.9)];
  const tells = Math.log(high / low) < TELLS_SOMETHING * 2 * 1.2816 * USUAL_RATE.logDeviation;
  return {
    rates: Array.from({ length: RATE_NODES }, (_, k) => ({
      probability: 1 / RATE_NODES,
      perWeek: quantile((k + 0.5) / RATE_NODES),
    })),
    perWeek,
    low,
    high,
    elasticity,
    elasticityLearnt,
    listings: listings.length,
    sales,
    offers,
    reasons: [
      listings.length === 0
        ? `No listing of this kind yet: about ${USUAL_RATE.median} serious enquiries a week at the height of the season ` +
          'are assumed'
        : `${sales} of ${listings.length} own listings sold: about ${perWeek.toFixed(1)} serious enquiries a week ` +
          `at the height of demand, four chances in five between ${low.toFixed(1)} and ${high.toFixed(1)}` +
          (tells ? '' : '; that is hardly more than was assumed before, so these listings tell almost nothing yet'),
      elasticityLearnt
        ? `${offers} recorded offers: enquiries fall with the power ${elasticity.toFixed(1)} of the ask over the going price`
        : `How enquiries fall with the ask is a setting (power ${elasticitySetting}) until ` +
          `${OFFERS_FOR_ELASTICITY} offers are recorded; there are ${offers}`,
    ],
  };
}

/** Probability of each level and rate together, given how a listing has gone so far; the indices are of levels and rates. */
export function jointAfter(
  history: ListingHistory,
  values: ReservationValues,
  demand: Pick<Demand, 'rates' | 'elasticity'>,
): number[][] {
  const behaviour: BuyerBehaviour = { ...usualBehaviour, elasticity: demand.elasticity };
  const logs = values.levels.map(({ log, probability }) => {
    const { events, logEvents, exposure } = historyLikelihood(history, behaviour, log, values.scatter);
    return demand.rates.map(
      (rate) =>
        Math.log(probability * rate.probability) +
        events * Math.log(rate.perWeek) +
        logEvents -
        rate.perWeek * exposure,
    );
  });
  const top = Math.max(...logs.flat());
  const total = logs.flat().reduce((sum, log) => sum + Math.exp(log - top), 0);
  return logs.map((row) => row.map((log) => Math.exp(log - top) / total));
}

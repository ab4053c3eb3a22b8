import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { EngineError } from '../error.js';
import { productLimit, ranksOf, type Watched } from './product-limit.js';
import { type QuantileType, rankedQuantile } from './quantile.js';

export interface Bootstrap {
  /** Any whole number; the same seed gives the same intervals. */
  seed: number;
  /** 1000 when absent. */
  resamples?: number;
  /** Share of resamples inside the interval, 0.9 when absent. */
  level?: number;
}

/** Infinity means "not by the end of the season". */
export interface Interval {
  low: number;
  high: number;
}

/**
 * Percentile intervals (Efron & Tibshirani 1993, An Introduction to the Bootstrap, ch. 13) for quantiles of a
 * product-limit estimate: whole seasons, with and without an event, are drawn again with replacement.
 * @param watched as in an `EventDistribution`
 * @throws EngineError `out-of-range`
 */
export function bootstrapQuantiles(
  watched: readonly Watched[],
  probabilities: readonly number[],
  type: QuantileType,
  pick: 'first' | 'last',
  { seed, resamples = 1000, level = 0.9 }: Bootstrap,
): Interval[] {
  if (!Number.isInteger(resamples) || resamples < 100 || resamples > 100_000)
    throw new EngineError('out-of-range', 'resamples must be a whole number from 100 to 100000', 'bootstrap.resamples');
  if (!(level > 0 && level < 1))
    throw new EngineError('out-of-range', 'the level must lie between 0 and 1', 'bootstrap.level');
  const random = xoroshiro128plus(seed | 0);
  // In order already, so that sorting again costs nothing; only the weights change from round to round.
  const drawn = [...watched].sort((a, b) => a.time - b.time).map((one) => ({ ...one, weight: 0 }));
  const found = probabilities.map((): number[] => []);
  for (let round = 0; round < resamples; round += 1) {
    for (const one of drawn) one.weight = 0;
    // 32 bits spread over a few hundred seasons: the unevenness is one in millions.
    for (let k = 0; k < drawn.length; k += 1)
      drawn[Math.floor(((random.next() >>> 0) / 2 ** 32) * drawn.length)]!.weight += 1;
    const { points, count } = ranksOf(productLimit(drawn));
    probabilities.forEach((probability, k) => {
      const value = rankedQuantile(points, count, pick === 'first' ? probability : 1 - probability, type);
      found[k]!.push(pick === 'first' ? (value ?? Infinity) : value === undefined ? -Infinity : -value);
    });
  }
  return found.map((values) => {
    values.sort((a, b) => a - b);
    const at = (share: number): number =>
      values[Math.min(resamples - 1, Math.max(0, Math.round(share * (resamples - 1))))]!;
    return { low: at((1 - level) / 2), high: at((1 + level) / 2) };
  });
}

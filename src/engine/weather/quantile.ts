import { EngineError } from '../error.js';
import { last as lastOf } from '../look-up.js';

/**
 * Ways to draw a quantile from a sample, by the numbers of Hyndman & Fan (1996), "Sample quantiles in statistical
 * packages", The American Statistician 50(4), 361–365:
 * 1 `inverseEmpirical`, 4 `interpolatedEmpirical`, 5 `hazen`, 6 `weibull`, 7 `linear` (the default of spreadsheets),
 * 8 `medianUnbiased` (whatever the distribution; the one its authors recommend), 9 `normalUnbiased`.
 */
export type QuantileType =
  'inverseEmpirical' | 'interpolatedEmpirical' | 'hazen' | 'weibull' | 'linear' | 'medianUnbiased' | 'normalUnbiased';

/** Plotting position of the k-th of n values: (k − a) / (n + 1 − a − b). */
const POSITIONS: Record<Exclude<QuantileType, 'inverseEmpirical'>, { a: number; b: number }> = {
  interpolatedEmpirical: { a: 0, b: 1 },
  hazen: { a: 1 / 2, b: 1 / 2 },
  weibull: { a: 0, b: 0 },
  linear: { a: 1, b: 1 },
  medianUnbiased: { a: 1 / 3, b: 1 / 3 },
  normalUnbiased: { a: 3 / 8, b: 3 / 8 },
};

export const DEFAULT_QUANTILE_TYPE: QuantileType = 'medianUnbiased';

/** A value and the share of the sample at or below it; shares rise and the last may stay under 1. */
export interface SharePoint {
  value: number;
  /** Its rank in the sample, 1 for the least of `count` whole observations; fractional where observations are weighted. */
  rank: number;
}

/**
 * The quantile of a sample given as ranked values, of which the highest may be unknown ("not by the end").
 * With ranks 1…n it is the plain sample quantile; with the ranks of a product-limit estimate it is the same
 * definition with the estimated share in the place of the counted one.
 * @param points in order of value
 * @param count size of the sample, the unknown values included
 * @returns undefined when the quantile falls among the unknown
 * @throws EngineError `out-of-range` unless 0 ≤ p ≤ 1
 */
export function rankedQuantile(
  points: readonly SharePoint[],
  count: number,
  p: number,
  type: QuantileType = DEFAULT_QUANTILE_TYPE,
): number | undefined {
  if (!(p >= 0 && p <= 1))
    throw new EngineError('out-of-range', `a quantile needs a chance between 0 and 1, not ${p}`, 'p');
  const first = points[0];
  if (!first) return undefined;
  // Ranks of a product-limit estimate carry rounding; a millionth of a rank is no rank.
  const slack = 1e-9 * count;
  if (type === 'inverseEmpirical') return points.find((point) => point.rank >= p * count - slack)?.value;
  const { a, b } = POSITIONS[type];
  const rank = p * (count + 1 - a - b) + a;
  if (rank <= first.rank + slack) return first.value;
  for (let k = 1; k < points.length; k += 1) {
    const here = points[k]!;
    if (rank > here.rank + slack) continue;
    const before = points[k - 1]!;
    return before.value + ((rank - before.rank) / (here.rank - before.rank)) * (here.value - before.value);
  }
  const last = lastOf(points);
  // Past the last value: it, when the whole sample is known, else among the unknown.
  return rank <= last.rank + slack || last.rank >= count - slack ? last.value : undefined;
}

/**
 * A quantile of plain values. Infinity stands for "not by the end".
 * @returns undefined for no values, or when it falls among the infinite ones
 */
export function quantile(
  values: readonly number[],
  p: number,
  type: QuantileType = DEFAULT_QUANTILE_TYPE,
): number | undefined {
  const sorted = [...values].sort((x, y) => x - y);
  const points = sorted.filter((value) => value < Infinity).map((value, k) => ({ value, rank: k + 1 }));
  return rankedQuantile(points, sorted.length, p, type);
}

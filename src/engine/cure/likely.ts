import { quantile, type QuantileType } from '../weather/quantile.js';

/** A moment that has come by then in so many of the scenarios; null beyond their end. */
export interface LikelyMinute {
  probability: number;
  minute: number | null;
}

/** How quantiles over scenarios are drawn. */
export interface LikelyOptions {
  probabilities: readonly number[];
  quantileType: QuantileType;
}

/** By when a moment has come, one value per scenario; undefined is beyond its end. */
export function comesBy(
  minutes: readonly (number | undefined)[],
  { probabilities, quantileType }: LikelyOptions,
): LikelyMinute[] {
  const values = minutes.map((minute) => minute ?? Infinity);
  return probabilities.map((probability) => ({
    probability,
    minute: quantile(values, probability, quantileType) ?? null,
  }));
}

/** Until when a moment has not come, with the same chances. */
export function staysUntil(minutes: readonly (number | undefined)[], options: LikelyOptions): LikelyMinute[] {
  const mirrored = comesBy(minutes, {
    ...options,
    probabilities: options.probabilities.map((probability) => 1 - probability),
  });
  return mirrored.map(({ minute }, k) => ({ probability: options.probabilities[k]!, minute }));
}

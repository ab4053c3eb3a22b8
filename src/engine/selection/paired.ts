/** Means and differences over common futures. */

export interface Difference {
  mean: number;
  /** Of the mean, from the differences future by future. */
  standardError: number;
}

export const mean = (values: ArrayLike<number>, count: number = values.length): number => {
  let sum = 0;
  for (let k = 0; k < count; k++) sum += values[k]!;
  return count === 0 ? 0 : sum / count;
};

/** What `a` has over `b`, both seen in the same futures in the same order. */
export function difference(a: ArrayLike<number>, b: ArrayLike<number>): Difference {
  const count = Math.min(a.length, b.length);
  let sum = 0;
  let squares = 0;
  for (let k = 0; k < count; k++) sum += a[k]! - b[k]!;
  const average = count === 0 ? 0 : sum / count;
  for (let k = 0; k < count; k++) squares += (a[k]! - b[k]! - average) ** 2;
  return { mean: average, standardError: count < 2 ? 0 : Math.sqrt(squares / (count - 1) / count) };
}

/** The smallest value that at least a share `p` of the values does not exceed. */
export function quantileOf(values: ArrayLike<number>, p: number): number {
  const sorted = Float64Array.from(values).sort();
  return sorted.length === 0 ? 0 : sorted[Math.max(0, Math.ceil(p * sorted.length - 1e-9) - 1)]!;
}

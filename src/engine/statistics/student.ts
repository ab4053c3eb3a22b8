import { EngineError } from '../error.js';
import { logGamma } from './gamma.js';

/** Regularised incomplete beta I_x(a, b), 0 ≤ x ≤ 1 (continued fraction, Abramowitz & Stegun 26.5.8). */
export function betaLower(x: number, a: number, b: number): number {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  if (x > (a + 1) / (a + b + 2)) return 1 - betaLower(1 - x, b, a);
  const tiny = 1e-300;
  const front = Math.exp(logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log1p(-x)) / a;
  let c = 1;
  let d = 1 / (1 - ((a + b) * x) / (a + 1) || tiny);
  let h = d;
  for (let m = 1; m < 10_000; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 / (1 + even * d || tiny);
    c = 1 + even / c || tiny;
    h *= d * c;
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / (1 + odd * d || tiny);
    c = 1 + odd / c || tiny;
    const step = d * c;
    h *= step;
    if (Math.abs(step - 1) < 1e-15) break;
  }
  return front * h;
}

/** Chance that a Student t variable with `freedom` degrees exceeds `t`. */
export function studentTail(t: number, freedom: number): number {
  if (t < 0) return 1 - studentTail(-t, freedom);
  const t2 = t * t;
  // Both forms are the same number; each keeps its digits where the other would round to one.
  return t2 < freedom
    ? 0.5 * (1 - betaLower(t2 / (freedom + t2), 0.5, freedom / 2))
    : 0.5 * betaLower(freedom / (freedom + t2), freedom / 2, 0.5);
}

/** Chance that a Student t variable with `freedom` degrees is at most `t`. */
export function studentCdf(t: number, freedom: number): number {
  return studentTail(-t, freedom);
}

/** Log density of a Student t variable with `freedom` degrees. */
export function studentLogDensity(t: number, freedom: number): number {
  return (
    logGamma((freedom + 1) / 2) -
    logGamma(freedom / 2) -
    0.5 * Math.log(freedom * Math.PI) -
    ((freedom + 1) / 2) * Math.log1p((t * t) / freedom)
  );
}

/** The value a Student t variable stays under with chance `p`, 0 < p < 1, by bisection. */
export function studentQuantile(p: number, freedom: number): number {
  if (!(p > 0 && p < 1)) throw new EngineError('out-of-range', `a quantile needs a chance between 0 and 1, not ${p}`);
  if (p < 0.5) return -studentQuantile(1 - p, freedom);
  let low = 0;
  let high = 1;
  while (studentTail(high, freedom) > 1 - p) high *= 2;
  for (let k = 0; k < 200 && high - low > 1e-14 * (1 + high); k++) {
    const middle = (low + high) / 2;
    if (studentTail(middle, freedom) > 1 - p) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

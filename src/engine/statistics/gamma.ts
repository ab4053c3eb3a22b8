import { EngineError } from '../error.js';

// Lanczos approximation with g = 7 and nine terms (C. Lanczos, 1964; the coefficients as commonly tabulated for it).
const LANCZOS = [
  0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059,
  12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
];

/** Natural log of the gamma function at `x` > 0; about 14 significant digits. */
export function logGamma(x: number): number {
  if (!(x > 0)) throw new EngineError('out-of-range', `log-gamma needs a positive number, not ${x}`);
  if (x < 0.5) return Math.log(Math.PI / Math.sin(Math.PI * x)) - logGamma(1 - x);
  const t = x + 6.5;
  let sum = LANCZOS[0]!;
  for (let k = 1; k < LANCZOS.length; k++) sum += LANCZOS[k]! / (x - 1 + k);
  return 0.5 * Math.log(2 * Math.PI) + (x - 0.5) * Math.log(t) - t + Math.log(sum);
}

/** The second derivative of `logGamma` at `x` > 0 (Abramowitz & Stegun 6.4.12). */
export function trigamma(x: number): number {
  let shift = 0;
  let z = x;
  while (z < 10) {
    shift += 1 / (z * z);
    z++;
  }
  const r = 1 / (z * z);
  return shift + 1 / z + r / 2 + (r / z) * (1 / 6 - r * (1 / 30 - r * (1 / 42 - r / 30)));
}

/** Regularised lower incomplete gamma P(a, x): the chance that a gamma variable of shape `a`, scale 1 is at most `x`. */
export function gammaLower(a: number, x: number): number {
  if (x <= 0) return 0;
  return x < a + 1 ? lowerSeries(a, x) : 1 - upperFraction(a, x);
}

/** Regularised upper incomplete gamma Q(a, x) = 1 − P(a, x), without loss of digits in the far tail. */
export function gammaUpper(a: number, x: number): number {
  if (x <= 0) return 1;
  return x < a + 1 ? 1 - lowerSeries(a, x) : upperFraction(a, x);
}

/** The value that a gamma variable of that shape and scale stays under with chance `p`, 0 < p < 1. */
export function gammaQuantile(p: number, shape: number, scale: number): number {
  if (!(p > 0 && p < 1)) throw new EngineError('out-of-range', `a quantile needs a chance between 0 and 1, not ${p}`);
  let low = 0;
  let high = Math.max(1, shape * 2);
  while (gammaLower(shape, high) < p) high *= 2;
  for (let k = 0; k < 200 && high - low > 1e-15 * high; k++) {
    const middle = (low + high) / 2;
    if (gammaLower(shape, middle) < p) low = middle;
    else high = middle;
  }
  return ((low + high) / 2) * scale;
}

// Abramowitz & Stegun 6.5.29.
function lowerSeries(a: number, x: number): number {
  let term = 1 / a;
  let sum = term;
  for (let k = 1; k < 10_000 && Math.abs(term) > Math.abs(sum) * 1e-17; k++) sum += term *= x / (a + k);
  return sum * Math.exp(-x + a * Math.log(x) - logGamma(a));
}

// Abramowitz & Stegun 6.5.31, evaluated by the modified Lentz method.
function upperFraction(a: number, x: number): number {
  const tiny = 1e-300;
  let b = x + 1 - a;
  let c = 1 / tiny;
  let d = 1 / b;
  let h = d;
  for (let k = 1; k < 10_000; k++) {
    const n = -k * (k - a);
    b += 2;
    d = 1 / (n * d + b || tiny);
    c = b + n / c || tiny;
    const step = d * c;
    h *= step;
    if (Math.abs(step - 1) < 1e-16) break;
  }
  return h * Math.exp(-x + a * Math.log(x) - logGamma(a));
}

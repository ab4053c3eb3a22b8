import { EngineError } from '../error.js';

/** Standard normal density. */
export function normalDensity(z: number): number {
  return Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);
}

/**
 * Chance that a standard normal variable is at most `z`, to about 15 decimals: Hart's rational approximation and, far
 * out, a continued fraction (G. West, "Better approximations to cumulative normal functions", 2005; from memory, and
 * checked against the incomplete gamma function). Not by the incomplete gamma itself: simulation calls this often.
 */
export function normalCdf(z: number): number {
  const x = Math.abs(z);
  const tail = x > 37.5 ? 0 : Math.exp((-x * x) / 2) * (x < 7.07106781186547 ? hartRatio(x) : farRatio(x));
  return z > 0 ? 1 - tail : tail;
}

function hartRatio(x: number): number {
  const above =
    (((((3.52624965998911e-2 * x + 0.700383064443688) * x + 6.37396220353165) * x + 33.912866078383) * x +
      112.079291497871) *
      x +
      221.213596169931) *
      x +
    220.206867912376;
  const below =
    ((((((8.83883476483184e-2 * x + 1.75566716318264) * x + 16.064177579207) * x + 86.7807322029461) * x +
      296.564248779674) *
      x +
      637.333633378831) *
      x +
      793.826512519948) *
      x +
    440.413735824752;
  return above / below;
}

function farRatio(x: number): number {
  return 1 / (x + 1 / (x + 2 / (x + 3 / (x + 4 / (x + 5 / (x + 6 / (x + 0.65))))))) / Math.sqrt(2 * Math.PI);
}

/** Chance that a standard normal variable exceeds `z`, exact in the far tail. */
export function normalTail(z: number): number {
  return normalCdf(-z);
}

/** Density over tail at `z` (the hazard of a normal variable), safe where both underflow. */
export function normalHazard(z: number): number {
  // Beyond 30 the ratio is z + 1/z to ten digits, and the tail itself would underflow by 38.
  return z > 30 ? z + 1 / z : normalDensity(z) / normalTail(z);
}

const CENTRE = [
  [
    3.387132872796366608, 133.14166789178437745, 1971.5909503065514427, 13731.693765509461125, 45921.953931549871457,
    67265.770927008700853, 33430.575583588128105, 2509.0809287301226727,
  ],
  [
    1, 42.313330701600911252, 687.1870074920579083, 5394.1960214247511077, 21213.794301586595867, 39307.89580009271061,
    28729.085735721942674, 5226.495278852854561,
  ],
] as const;
const NEAR_TAIL = [
  [
    1.42343711074968357734, 4.6303378461565452959, 5.7694972214606914055, 3.64784832476320460504,
    1.27045825245236838258, 0.24178072517745061177, 0.0227238449892691845833, 7.7454501427834140764e-4,
  ],
  [
    1, 2.05319162663775882187, 1.6763848301838038494, 0.68976733498510000455, 0.14810397642748007459,
    0.0151986665636164571966, 5.475938084995344946e-4, 1.05075007164441684324e-9,
  ],
] as const;
const FAR_TAIL = [
  [
    6.6579046435011037772, 5.4637849111641143699, 1.7848265399172913358, 0.29656057182850489123,
    0.026532189526576123093, 0.0012426609473880784386, 2.71155556874348757815e-5, 2.01033439929228813265e-7,
  ],
  [
    1, 0.59983220655588793769, 0.13692988092273580531, 0.0148753612908506148525, 7.868691311456132591e-4,
    1.8463183175100546818e-5, 1.4215117583164458887e-7, 2.04426310338993978564e-15,
  ],
] as const;

function ratio([above, below]: readonly [readonly number[], readonly number[]], x: number): number {
  let [upper, lower] = [0, 0];
  for (let k = above.length - 1; k >= 0; k--) {
    upper = upper * x + above[k]!;
    lower = lower * x + below[k]!;
  }
  return upper / lower;
}

/**
 * The value a standard normal variable stays under with chance `p`, 0 < p < 1, to about sixteen digits: Wichura 1988,
 * Algorithm AS 241 (PPND16), Applied Statistics 37:477–484.
 * @throws EngineError `out-of-range`
 */
export function normalQuantile(p: number): number {
  if (!(p > 0 && p < 1)) throw new EngineError('out-of-range', `a quantile needs a chance between 0 and 1, not ${p}`);
  const q = p - 0.5;
  if (Math.abs(q) <= 0.425) return q * ratio(CENTRE, 0.180625 - q * q);
  const r = Math.sqrt(-Math.log(q < 0 ? p : 1 - p));
  const z = r <= 5 ? ratio(NEAR_TAIL, r - 1.6) : ratio(FAR_TAIL, r - 5);
  return q < 0 ? -z : z;
}

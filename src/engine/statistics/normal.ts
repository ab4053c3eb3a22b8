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

/**
 * The value a standard normal variable stays under with chance `p`, 0 < p < 1.
 * A rational start (Abramowitz & Stegun 26.2.23) polished by Newton steps in the smaller tail.
 */
export function normalQuantile(p: number): number {
  if (!(p > 0 && p < 1)) throw new EngineError('out-of-range', `a quantile needs a chance between 0 and 1, not ${p}`);
  if (p > 0.5) return -normalQuantile(1 - p);
  const t = Math.sqrt(-2 * Math.log(p));
  let z = -(t - (2.515517 + t * (0.802853 + t * 0.010328)) / (1 + t * (1.432788 + t * (0.189269 + t * 0.001308))));
  for (let k = 0; k < 4; k++) {
    // Newton on log Φ: straight enough in the tail to converge from any start of this quality.
    const tail = normalCdf(z);
    z -= ((Math.log(tail) - Math.log(p)) * tail) / normalDensity(z);
  }
  return z;
}

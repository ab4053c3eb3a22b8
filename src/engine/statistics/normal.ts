import { EngineError } from '../error.js';
import { gammaLower, gammaUpper } from './gamma.js';

/** Standard normal density. */
export function normalDensity(z: number): number {
  return Math.exp(-z * z / 2) / Math.sqrt(2 * Math.PI);
}

/** Chance that a standard normal variable is at most `z`. */
export function normalCdf(z: number): number {
  return z <= 0 ? gammaUpper(0.5, z * z / 2) / 2 : (1 + gammaLower(0.5, z * z / 2)) / 2;
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
  if (!(p > 0 && p < 1)) throw new EngineError('out_of_range', `a quantile needs a chance between 0 and 1, not ${p}`);
  if (p > 0.5) return -normalQuantile(1 - p);
  const t = Math.sqrt(-2 * Math.log(p));
  let z = -(t - (2.515517 + t * (0.802853 + t * 0.010328)) / (1 + t * (1.432788 + t * (0.189269 + t * 0.001308))));
  for (let k = 0; k < 4; k++) {
    // Newton on log Φ: straight enough in the tail to converge from any start of this quality.
    const tail = normalCdf(z);
    z -= (Math.log(tail) - Math.log(p)) * tail / normalDensity(z);
  }
  return z;
}

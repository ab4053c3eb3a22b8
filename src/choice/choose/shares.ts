/** Shares and quantiles of what was seen in many futures. Pure. */
import { at } from '../../engine/look-up.js';
import { NEVER } from '../../engine/schedule/index.js';
import { quantileOf } from '../../engine/selection/index.js';

export function shareOf(values: Float64Array, holds: (value: number, index: number) => boolean): number {
  let count = 0;
  for (let k = 0; k < values.length; k++) if (holds(at(values, k), k)) count += 1;
  return values.length === 0 ? 0 : count / values.length;
}

/** The minute by which it has happened in a share of the futures; null where not within the horizon. */
export function minuteAt(minutes: Float64Array, p: number): number | null {
  const value = quantileOf(minutes, p);
  return value >= NEVER ? null : value;
}

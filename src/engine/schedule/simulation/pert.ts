import { EngineError } from '../../error.js';
import { lookUp } from '../../look-up.js';
import { type CriticalPath, criticalPath, type PathTask } from '../problem/critical-path.js';

/** Three-point estimate of a length of time: best, most likely, worst. */
export interface ThreePoint {
  lowMinutes: number;
  likelyMinutes: number;
  highMinutes: number;
}

/** Mean of a three-point estimate, `(a + 4m + b) / 6` (Malcolm et al. 1959, Operations Research 7:646–669). */
export function pertMean({ lowMinutes, likelyMinutes, highMinutes }: ThreePoint): number {
  return (lowMinutes + 4 * likelyMinutes + highMinutes) / 6;
}

/** Variance of a three-point estimate, `((b − a) / 6)²` (same source). */
export function pertVariance({ lowMinutes, highMinutes }: ThreePoint): number {
  return ((highMinutes - lowMinutes) / 6) ** 2;
}

/** @throws EngineError `invalid-estimate` unless `0 ≤ low ≤ likely ≤ high`. */
export function checkThreePoint({ lowMinutes, likelyMinutes, highMinutes }: ThreePoint, path: string): void {
  if (!(
    lowMinutes >= 0 &&
    lowMinutes <= likelyMinutes &&
    likelyMinutes <= highMinutes &&
    Number.isFinite(highMinutes)
  )) {
    throw new EngineError(
      'invalid-estimate',
      `${path} must have 0 ≤ low ≤ likely ≤ high, got ${lowMinutes}, ${likelyMinutes}, ${highMinutes}`,
      path,
    );
  }
}

export interface PertResult {
  path: CriticalPath;
  meanMinutes: number;
  varianceMinutes2: number;
  /**
   * Normal chance that the critical path ends by `minutes`; too hopeful where near-critical paths meet, which
   * simulation is not.
   */
  probabilityBy(minutes: number): number;
}

/**
 * Classical PERT: critical path at the mean lengths, variances summed along it.
 * @throws EngineError `invalid-estimate`, `cycle`.
 */
export function pert(tasks: readonly (Omit<PathTask, 'durationMinutes'> & { estimate: ThreePoint })[]): PertResult {
  for (const [i, task] of tasks.entries()) checkThreePoint(task.estimate, `tasks[${i}].estimate`);
  const path = criticalPath(
    tasks.map((task) => ({ id: task.id, predecessors: task.predecessors, durationMinutes: pertMean(task.estimate) })),
  );
  const estimates = new Map(tasks.map((task) => [task.id, task.estimate]));
  const varianceMinutes2 = path.path.reduce((sum, id) => sum + pertVariance(lookUp(estimates, id)), 0);
  return {
    path,
    meanMinutes: path.durationMinutes,
    varianceMinutes2,
    probabilityBy: (minutes) => normalBelow((minutes - path.durationMinutes) / Math.sqrt(varianceMinutes2)),
  };
}

/**
 * Standard normal distribution function, by Marsaglia's series (2004, "Evaluating the Normal Distribution", J. Stat.
 * Software 11(4)).
 */
export function normalBelow(z: number): number {
  if (Number.isNaN(z)) return 1; // no variance and exactly on time
  if (z < -8) return 0;
  if (z > 8) return 1;
  let sum = z;
  let term = z;
  for (let k = 3, before = 0; sum !== before; k += 2) {
    before = sum;
    term *= (z * z) / k;
    sum += term;
  }
  return 0.5 + sum * Math.exp(-0.5 * z * z - 0.91893853320467274178);
}

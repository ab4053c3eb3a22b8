/** A least distance between two starts: `to` starts at least `minutes` after `from` does; negative: a maximum time lag. */
export interface Lag {
  from: number;
  to: number;
  minutes: number;
}

/**
 * A resource-constrained project with minimum and maximum time lags and constant capacities (PS|temp|Cmax; Neumann,
 * Schwindt & Zimmermann 2003, "Project Scheduling with Time Windows and Scarce Resources"). Tasks are numbered from 0.
 */
export interface LagProject {
  durations: readonly number[];
  lags: readonly Lag[];
  /** Per task, the amount of each resource. */
  demands: readonly (readonly number[])[];
  capacities: readonly number[];
}

/** Minutes in which every schedule worth considering ends: each task and each lag once, one after the other. */
export function projectHorizon({ durations, lags }: LagProject): number {
  const longest = Int32Array.from(durations);
  for (const { from, minutes } of lags) longest[from] = Math.max(longest[from]!, minutes);
  return longest.reduce((sum, minutes) => sum + minutes, 0);
}

/**
 * Checks starts against the project minute by minute, without anything that the solver uses.
 * @returns the makespan, or null when a lag or a capacity is broken.
 */
export function verifyStarts(project: LagProject, starts: ArrayLike<number>): number | null {
  const { durations, lags, demands, capacities } = project;
  let makespan = 0;
  for (let i = 0; i < durations.length; i++) {
    const start = starts[i];
    if (start === undefined || !Number.isInteger(start) || start < 0) return null;
    makespan = Math.max(makespan, start + durations[i]!);
  }
  for (const { from, to, minutes } of lags) if (starts[to]! - starts[from]! < minutes) return null;
  for (let r = 0; r < capacities.length; r++) {
    const used = new Int32Array(makespan);
    for (let i = 0; i < durations.length; i++) {
      const amount = demands[i]![r]!;
      if (amount === 0) continue;
      for (let t = starts[i]!; t < starts[i]! + durations[i]!; t++) used[t] = used[t]! + amount;
    }
    if (used.some((amount) => amount > capacities[r]!)) return null;
  }
  return makespan;
}

import { type LagProject, projectHorizon, verifyStarts } from './project.js';
import { LagSolver } from './solver.js';

export interface LagSolution {
  /** Null when none was found. */
  starts: Int32Array | null;
  /** -1 without a schedule. */
  makespan: number;
  /** True when the makespan is proven to be the least, or when there is proven to be no schedule. */
  proven: boolean;
  conflicts: number;
}

/**
 * A schedule of least makespan for a project with minimum and maximum time lags: the deadline is set one below the best
 * schedule until that is refuted.
 * @param options.conflicts most conflicts in all; `keepOn` is asked every few hundred and may end the search.
 */
export function minimiseMakespan(
  project: LagProject,
  options: { conflicts: number; keepOn?: () => boolean },
): LagSolution {
  const solver = new LagSolver(project, { deadline: projectHorizon(project) });
  let starts: Int32Array | null = null;
  let makespan = -1;
  for (;;) {
    const left = options.conflicts - solver.conflicts;
    if (left <= 0) return { starts, makespan, proven: false, conflicts: solver.conflicts };
    const outcome = solver.run(Math.min(left, 200));
    if (outcome === 'infeasible') return { starts, makespan, proven: true, conflicts: solver.conflicts };
    if (outcome === 'feasible') {
      const verified = verifyStarts(project, solver.starts);
      if (verified === null) throw new Error('The solver broke a rule of its project');
      starts = solver.starts.slice();
      makespan = verified;
      solver.tighten(makespan - 1);
    }
    if (options.keepOn?.() === false) return { starts, makespan, proven: false, conflicts: solver.conflicts };
  }
}

import type { PlainProject } from '../generation/plain-generator.js';
import { type Lag, type LagProject } from './project.js';
import { LagSolver, type Outcome } from './solver.js';

/** A stretch of a schedule to be made anew. */
export interface Window {
  /** Tasks of the project by time; those from `from` on, before `to`, are free. */
  order: Int32Array;
  from: number;
  to: number;
  /** Where the tasks before the window stay, and where those after it do; both indexed by task. */
  left: Int32Array;
  right: Int32Array;
  deadline: number;
}

/**
 * Solves one window of a plain project: the tasks before it stay as early as they are, those after it are as late as the
 * deadline allows, and those between are placed so that everything fits, or are proven not to.
 */
export class WindowSolver {
  /** Conflicts and minutes looked at in all windows so far. */
  conflicts = 0;
  steps = 0;
  private readonly after: number[][];
  private readonly numberOf: Int32Array;

  constructor(private readonly project: PlainProject) {
    this.after = project.durations.map(() => []);
    project.predecessors.forEach((list, i) => list.forEach((p) => this.after[p]!.push(i)));
    this.numberOf = new Int32Array(project.durations.length);
  }

  /**
   * @param conflicts most conflicts to spend.
   * @param starts takes the starts of all tasks when the outcome is 'feasible'.
   */
  solve({ order, from, to, left, right, deadline }: Window, conflicts: number, starts: Int32Array): Outcome {
    const { project, numberOf, after } = this;
    const { durations, predecessors, demands, capacities } = project;
    // Outside: −1 before the window, −2 after it.
    for (let k = 0; k < order.length; k++) numberOf[order[k]!] = k < from ? -1 : k < to ? k - from : -2;
    const size = to - from;
    const earliest = new Int32Array(size);
    const latest = new Int32Array(size);
    const lags: Lag[] = [];
    let first = deadline;
    let last = 0;
    for (let k = 0; k < size; k++) {
      const i = order[from + k]!;
      const d = durations[i]!;
      let early = 0;
      let late = deadline - d;
      for (const p of predecessors[i]!) {
        const number = numberOf[p]!;
        if (number >= 0) lags.push({ from: number, to: k, minutes: durations[p]! });
        else early = Math.max(early, left[p]! + durations[p]!);
      }
      for (const j of after[i]!) if (numberOf[j] === -2) late = Math.min(late, right[j]! - d);
      if (early > late) return 'infeasible';
      earliest[k] = early;
      latest[k] = late;
      first = Math.min(first, early);
      last = Math.max(last, late + d);
    }
    // Time is counted from the beginning of the window.
    const occupied: { start: number; finish: number; amounts: readonly number[] }[] = [];
    for (let k = 0; k < order.length; k++) {
      if (k === from) k = to;
      if (k >= order.length) break;
      const i = order[k]!;
      const start = k < from ? left[i]! : right[i]!;
      if (k >= to) {
        if (start < 0) return 'infeasible';
        for (const p of predecessors[i]!) {
          if (numberOf[p] === -1 && left[p]! + durations[p]! > start) return 'infeasible';
        }
      }
      const finish = start + durations[i]!;
      if (start < last && finish > first)
        occupied.push({ start: Math.max(0, start - first), finish: finish - first, amounts: demands[i]! });
    }
    const tasks = Array.from(order.subarray(from, to));
    const part: LagProject = {
      durations: tasks.map((i) => durations[i]!),
      lags,
      demands: tasks.map((i) => demands[i]!),
      capacities,
    };
    const solver = new LagSolver(part, {
      deadline: last - first,
      earliest: earliest.map((t) => t - first),
      latest: latest.map((t) => t - first),
      occupied,
    });
    const outcome = solver.run(conflicts);
    this.conflicts += solver.conflicts;
    this.steps += solver.steps;
    if (outcome !== 'feasible') return outcome;
    for (let k = 0; k < order.length; k++) {
      const i = order[k]!;
      starts[i] = k < from ? left[i]! : k < to ? solver.starts[k - from]! + first : right[i]!;
    }
    return outcome;
  }
}

import { lookUp } from '../../look-up.js';
import type { Compiled } from './compile.js';
import { NEVER } from './compile.js';

/** What a schedule costs, compared in this order; lower is better. */
export interface Cost {
  /** Tasks that found no place before the horizon. */
  unplaced: number;
  /** Sum over tasks and jobs of weight × minutes late. */
  weightedTardiness: number;
  /** Sum of the jobs' expected value lost at their finish. */
  valueLost: number;
  /** Finish of the last placed task. */
  makespanMinutes: number;
}

/** Negative when `a` is better, 0 when equal. */
export function compareCost(a: Cost, b: Cost): number {
  return (
    a.unplaced - b.unplaced ||
    a.weightedTardiness - b.weightedTardiness ||
    a.valueLost - b.valueLost ||
    a.makespanMinutes - b.makespanMinutes
  );
}

/** Computes costs and job finishes of schedules of one problem. */
export class Objective {
  readonly jobIds: string[];
  /** Job of each task, -1 for none. */
  readonly jobOf: Int32Array;
  private readonly jobDue: Float64Array;
  private readonly jobWeight: Float64Array;
  private readonly curves: ({ atMinutes: number; lost: number }[] | null)[];
  private readonly dueTasks: { task: number; due: number; weight: number }[] = [];
  private readonly jobFinish: Float64Array;

  constructor(private readonly compiled: Compiled) {
    const jobs = compiled.problem.jobs ?? [];
    const names = new Set<string>(jobs.map((job) => job.id));
    for (const task of compiled.tasks) if (task.jobId !== undefined) names.add(task.jobId);
    this.jobIds = [...names].sort((a, b) => (a < b ? -1 : 1));
    const indexOf = new Map(this.jobIds.map((id, j) => [id, j]));
    this.jobOf = Int32Array.from(compiled.tasks, (task) =>
      task.jobId === undefined ? -1 : lookUp(indexOf, task.jobId),
    );
    this.jobDue = new Float64Array(this.jobIds.length).fill(Infinity);
    this.jobWeight = new Float64Array(this.jobIds.length).fill(1);
    this.curves = this.jobIds.map(() => null);
    for (const job of jobs) {
      const j = lookUp(indexOf, job.id);
      if (job.dueMinutes !== undefined) this.jobDue[j] = job.dueMinutes;
      if (job.weight !== undefined) this.jobWeight[j] = job.weight;
      if (job.valueLost?.length) this.curves[j] = job.valueLost;
    }
    for (const [i, task] of compiled.tasks.entries()) {
      if (task.dueMinutes !== undefined)
        this.dueTasks.push({ task: i, due: task.dueMinutes, weight: task.weight ?? 1 });
    }
    this.jobFinish = new Float64Array(this.jobIds.length);
  }

  /**
   * Finish of each job's last task, in the order of `jobIds`; `NEVER` if any of its tasks has no place; -Infinity
   * without tasks.
   */
  finishes(finish: Int32Array): Float64Array {
    const { jobFinish, jobOf } = this;
    jobFinish.fill(-Infinity);
    for (let i = 0; i < jobOf.length; i++) {
      const j = jobOf[i]!;
      if (j >= 0 && finish[i]! > jobFinish[j]!) jobFinish[j] = finish[i]!;
    }
    return jobFinish;
  }

  dueOf(job: number): number {
    return this.jobDue[job]!;
  }

  valueLost(job: number, finish: number): number {
    const curve = this.curves[job];
    if (!curve) return 0;
    let k = 0;
    while (k < curve.length && curve[k]!.atMinutes < finish) k++;
    if (k === 0) return curve[0]!.lost;
    if (k === curve.length) return curve[k - 1]!.lost;
    const left = curve[k - 1]!;
    const right = curve[k]!;
    return left.lost + ((right.lost - left.lost) * (finish - left.atMinutes)) / (right.atMinutes - left.atMinutes);
  }

  cost(finish: Int32Array): Cost {
    const { horizon, isFixed, count } = this.compiled;
    const jobFinish = this.finishes(finish);
    let unplaced = 0;
    let makespanMinutes = 0;
    for (let i = 0; i < count; i++) {
      const f = finish[i]!;
      if (f >= NEVER && !isFixed[i]) unplaced++;
      else if (f > makespanMinutes) makespanMinutes = f;
    }
    let weightedTardiness = 0;
    for (const { task, due, weight } of this.dueTasks) {
      const late = Math.min(finish[task]!, horizon) - due;
      if (late > 0) weightedTardiness += weight * late;
    }
    let valueLost = 0;
    for (let j = 0; j < jobFinish.length; j++) {
      const f = Math.min(jobFinish[j]!, horizon);
      if (f > this.jobDue[j]!) weightedTardiness += this.jobWeight[j]! * (f - this.jobDue[j]!);
      if (this.curves[j] && f > -Infinity) valueLost += this.valueLost(j, f);
    }
    return { unplaced, weightedTardiness, valueLost, makespanMinutes };
  }
}

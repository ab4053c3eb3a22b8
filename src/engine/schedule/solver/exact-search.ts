import { EngineError } from '../../error.js';
import type { Random } from '../../statistics/random.js';
import { KeySorter } from '../generation/key-sorter.js';
import { PlainGenerator, type PlainProject } from '../generation/plain-generator.js';
import { type LagProject, verifyStarts } from './project.js';
import { LagSolver, type Outcome } from './solver.js';
import { WindowSolver } from './window.js';

/** Tasks in a window, conflicts spent on one, and windows tried of one schedule. By experiment on J120. */
const FEWEST = 15;
const MOST = 45;
const CONFLICTS = 150;
const TRIES = 2;
/** Schedules that take as long as one conflict, and as setting one window up. */
const CONFLICT_COST = 3;
const WINDOW_COST = 6;

/**
 * Exact search in and around the schedules of a plain project: large neighbourhood search over windows of time (Shaw 1998,
 * CP:417–431, with exact subproblems), and the refutation of anything shorter (a destructive lower bound: Klein & Scholl
 * 1999, EJOR 112:322–346). Every schedule that comes out was verified against the project by itself.
 */
export class ExactSearch {
  /** What was spent so far, in schedules that take as long. */
  cost = 0;
  private readonly lagProject: LagProject;
  private readonly generator: PlainGenerator;
  private readonly windows: WindowSolver;
  private readonly sorter = new KeySorter();
  private readonly key: Int32Array;
  private readonly other: Int32Array;
  private readonly order: Int32Array;
  private readonly right: Int32Array;
  private readonly starts: Int32Array;
  private whole: LagSolver | null = null;
  private wholeDeadline = 0;

  constructor(private readonly project: PlainProject) {
    const { durations, predecessors } = project;
    this.lagProject = {
      ...project,
      lags: predecessors.flatMap((list, to) => list.map((from) => ({ from, to, minutes: durations[from]! }))),
    };
    this.generator = new PlainGenerator(project);
    this.windows = new WindowSolver(project);
    const count = durations.length;
    this.key = new Int32Array(count);
    this.other = new Int32Array(count);
    this.order = new Int32Array(count);
    this.right = new Int32Array(count);
    this.starts = new Int32Array(count);
  }

  /**
   * Tries to make a left-justified schedule shorter by solving windows of it.
   * @param list its tasks by start, predecessors first. @param most the cost to keep to.
   * @returns the tasks by start of a shorter schedule, which the next call overwrites; null when none was found.
   */
  shorten(list: Int32Array, start: Int32Array, makespan: number, random: Random, most: number): Int32Array | null {
    const { durations } = this.project;
    const { windows, key, order, right, other, starts } = this;
    const count = durations.length;
    const deadline = makespan - 1;
    this.justifyRight(list, start, makespan);
    for (let i = 0; i < count; i++) key[i] = Math.max(0, start[i]! + right[i]! + 1);
    this.sorter.sort(list, key, order);
    for (let k = 0; k < TRIES; k++) {
      const conflicts = Math.min(CONFLICTS, Math.floor((most - WINDOW_COST) / CONFLICT_COST));
      if (conflicts < 1) return null;
      const size = Math.min(count, FEWEST + random.below(MOST - FEWEST + 1));
      const from = random.below(count - size + 1);
      const before = windows.conflicts;
      const outcome = windows.solve({ order, from, to: from + size, left: start, right, deadline }, conflicts, starts);
      const cost = WINDOW_COST + CONFLICT_COST * (windows.conflicts - before);
      this.cost += cost;
      most -= cost;
      if (outcome !== 'feasible') continue;
      this.verify(starts, deadline);
      this.sorter.sort(order, starts, other);
      return other;
    }
    return null;
  }

  /**
   * Searches on for a schedule that ends by `deadline`, over the whole project.
   * @param most the cost to keep to.
   * @returns whether there is one; if so, `found` is its tasks by start.
   */
  decide(deadline: number, most: number): { outcome: Outcome; found: Int32Array | null } {
    if (!this.whole) this.whole = new LagSolver(this.lagProject, { deadline });
    else if (deadline < this.wholeDeadline) this.whole.tighten(deadline);
    this.wholeDeadline = deadline;
    const before = this.whole.conflicts;
    const outcome = this.whole.run(Math.max(1, Math.floor(most / CONFLICT_COST)));
    this.cost += CONFLICT_COST * (this.whole.conflicts - before);
    if (outcome !== 'feasible') return { outcome, found: null };
    const { starts } = this.whole;
    this.verify(starts, deadline);
    this.sorter.sort(this.predecessorsFirst(), starts, this.other);
    return { outcome, found: this.other };
  }

  /** The latest starts when every task in turn, the last one first, goes as late as it fits before `makespan` − 1. */
  private justifyRight(list: Int32Array, start: Int32Array, makespan: number): void {
    const { durations } = this.project;
    const { generator, key, order, other, right } = this;
    const count = durations.length;
    for (let k = 0; k < count; k++) {
      const i = list[k]!;
      key[i] = makespan - start[i]! - durations[i]!;
      order[count - 1 - k] = i;
    }
    this.sorter.sort(order, key, other);
    generator.pass(other, 1);
    for (let i = 0; i < count; i++) right[i] = makespan - 1 - generator.start[i]! - durations[i]!;
  }

  private verify(starts: Int32Array, deadline: number): void {
    const makespan = verifyStarts(this.lagProject, starts);
    if (makespan === null || makespan > deadline)
      throw new EngineError(
        'invalid-schedule',
        'The solver gave a schedule that breaks a rule of its project',
        'tasks',
      );
  }

  private predecessorsFirst(): Int32Array {
    const { predecessors } = this.project;
    const done = new Uint8Array(predecessors.length);
    const out: number[] = [];
    const put = (i: number): void => {
      if (done[i]) return;
      done[i] = 1;
      for (const p of predecessors[i]!) put(p);
      out.push(i);
    };
    predecessors.forEach((_, i) => put(i));
    return Int32Array.from(out);
  }
}

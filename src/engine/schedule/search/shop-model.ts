import { KeySorter } from '../generation/key-sorter.js';
import { latestStarts, repair } from '../generation/priority-list.js';
import { ScheduleGenerator } from '../generation/schedule-generator.js';
import { lowerBound } from '../problem/bounds.js';
import type { Compiled, Conditions } from '../problem/compile.js';
import { NEVER } from '../problem/compile.js';
import { mirror } from '../problem/mirror.js';
import { Objective } from '../problem/objective.js';
import { compareRank, hashOf, type Individual, type Model, type Rank } from './model.js';

/** How much a new plan may differ from the one it replaces. */
export interface Stability {
  /** Starts in the plan to stay near, by task id. */
  startMinutes: Record<string, number>;
  /** Gains in weighted tardiness below this count as none. */
  tardinessTolerance: number;
  /** Expected value that moving one task by one minute has to save. */
  lossPerMovedMinute: number;
}

/** Problems with calendars, waits, windows and due dates, for the search. */
export class ShopModel implements Model {
  readonly free: Int32Array;
  readonly before: readonly Int32Array[];
  readonly after: readonly Int32Array[];
  readonly share: Float64Array;
  readonly length: Int32Array;
  readonly urgency: Float64Array;
  readonly groupOf: Int32Array;
  readonly groups: number;
  readonly choices: Int32Array;
  readonly perBuild = 3;
  schedules = 0;
  private readonly forwards: ScheduleGenerator;
  private readonly backwards: ScheduleGenerator;
  private readonly backwardConditions: Conditions;
  private readonly objective: Objective;
  private readonly sorter = new KeySorter();
  private readonly key: Int32Array;
  private readonly bound: Rank;
  private readonly reference: Float64Array | null;
  /** Hashes of the schedules that lists gave before they were justified. */
  private readonly known = new Set<number>();

  constructor(
    private readonly compiled: Compiled,
    private readonly stability: Stability | null = null,
  ) {
    const { count, isFixed, conditions, tasks, capacity } = compiled;
    const mirrored = mirror(compiled);
    this.free = compiled.free;
    const isFree = (i: number): boolean => !isFixed[i];
    this.before = tasks.map((_, i) =>
      compiled.linkTask.slice(compiled.linkFrom[i], compiled.linkFrom[i + 1]).filter(isFree),
    );
    this.after = compiled.successors.map((list) => list.filter(isFree));
    this.length = conditions.duration;
    this.share = Float64Array.from(tasks, (_, i) => {
      let share = 0;
      for (let k = compiled.demandFrom[i]!; k < compiled.demandFrom[i + 1]!; k++) {
        share += compiled.demandAmount[k]! / Math.max(1, capacity[compiled.demandResource[k]!]!);
      }
      return share;
    });
    this.urgency = latestStarts(compiled);
    this.choices = Int32Array.from(compiled.linkTask.keys()).filter(
      (l) =>
        compiled.forbiddenFrom[l]! < compiled.forbiddenFrom[l + 1]! &&
        compiled.isSoft[l] === 0 &&
        isFree(compiled.linkTask[l]!),
    );
    this.forwards = new ScheduleGenerator(compiled);
    this.backwards = new ScheduleGenerator(mirrored);
    this.backwardConditions = { ...mirrored.conditions, release: new Int32Array(count) };
    this.objective = new Objective(compiled);
    this.groupOf = this.objective.jobOf;
    this.groups = this.objective.jobIds.length;
    this.key = new Int32Array(count);
    const bound = lowerBound(compiled);
    this.bound = [0, bound.weightedTardiness, bound.valueLost, bound.makespanMinutes];
    this.reference = stability ? Float64Array.from(tasks, (task) => stability.startMinutes[task.id] ?? NaN) : null;
  }

  /**
   * Forwards, backwards from each job's due date or finish, forwards again; the better of the two forward schedules.
   * Unlike in a plain project the second one can be worse, because releases and windows do not look the same backwards.
   */
  build(list: Int32Array, firstWindow: Uint8Array | null): Individual | null {
    const first = this.forward(list, firstWindow);
    if (this.known.has(first.hash)) return null;
    this.known.add(first.hash);
    this.setLatest();
    this.backwards.serial(this.byStart(list, this.forwards.finish, -1), this.backwardConditions);
    this.schedules++;
    const order = repair(this.compiled, this.byStart(list, this.backwards.finish, -1));
    if (order.every((i, k) => i === first.list[k])) return first;
    const second = this.forward(order, firstWindow);
    return compareRank(second.rank, first.rank) <= 0 ? second : first;
  }

  forget(): void {
    this.known.clear();
  }

  isOptimal(rank: Rank): boolean {
    return this.stability === null && rank.every((value, k) => value <= this.bound[k]!);
  }

  private forward(list: Int32Array, firstWindow: Uint8Array | null): Individual {
    const order = this.forwards.serial(list, this.compiled.conditions, firstWindow);
    this.schedules++;
    const start = this.forwards.start.slice();
    // Sorted by start, a list without first windows gives the same schedule, and children inherit more from it. With
    // them it may not, and what does not come out again cannot be inherited.
    const kept = firstWindow === null ? repair(this.compiled, this.byStart(list, start, 1)) : order.slice();
    return { list: kept, start, rank: this.rank(start), hash: hashOf(start), firstWindow };
  }

  private rank(start: Int32Array): Rank {
    const { unplaced, weightedTardiness, valueLost, makespanMinutes } = this.objective.cost(this.forwards.finish);
    const { stability, reference } = this;
    if (!stability || !reference) return [unplaced, weightedTardiness, valueLost, makespanMinutes];
    let moved = 0;
    for (const i of this.free)
      if (start[i]! < NEVER && !Number.isNaN(reference[i]!)) moved += Math.abs(start[i]! - reference[i]!);
    return [
      unplaced,
      stability.tardinessTolerance > 0
        ? Math.floor(weightedTardiness / stability.tardinessTolerance)
        : weightedTardiness,
      valueLost + stability.lossPerMovedMinute * moved,
      makespanMinutes,
      weightedTardiness,
      valueLost,
    ];
  }

  /** `list` by `times`: rising for `sign` 1; for -1 falling, equal ones in reverse. */
  private byStart(list: Int32Array, times: Int32Array, sign: 1 | -1): Int32Array {
    const { key } = this;
    const order = sign === 1 ? list : list.slice().reverse();
    const out = new Int32Array(list.length);
    let least = Infinity;
    for (const i of list) least = Math.min(least, sign * times[i]!);
    for (const i of list) key[i] = sign * times[i]! - least;
    this.sorter.sort(order, key, out);
    return out;
  }

  /** How late each task may end in the backward pass: its job's due date, or the job's finish if that is later. */
  private setLatest(): void {
    const { compiled, objective, forwards } = this;
    const finishes = objective.finishes(forwards.finish);
    let makespan = 0;
    for (const i of this.free) if (forwards.finish[i]! < NEVER) makespan = Math.max(makespan, forwards.finish[i]!);
    for (const i of this.free) {
      const job = objective.jobOf[i]!;
      const due = job >= 0 ? objective.dueOf(job) : Infinity;
      const own = compiled.tasks[i]!.dueMinutes;
      let latest = due === Infinity ? makespan : Math.max(due, Math.min(finishes[job]!, compiled.horizon));
      if (own !== undefined) latest = Math.min(latest, Math.max(own, Math.min(forwards.finish[i]!, compiled.horizon)));
      this.backwardConditions.release[i] = Math.max(0, compiled.horizon - Math.min(latest, compiled.horizon));
    }
  }
}

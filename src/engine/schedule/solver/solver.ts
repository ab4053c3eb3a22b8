import { last, required } from '../../look-up.js';
import { Clauses } from './clauses.js';
import type { LagProject } from './project.js';
import { Timetable } from './timetable.js';
import { BY_CLAUSE, BY_LAG, BY_PEAK, DECISION, Trail } from './trail.js';

/** What a call of `run` found out. */
export type Outcome = 'feasible' | 'infeasible' | 'unknown';

export interface SolverOptions {
  /** Every task ends by then. */
  deadline: number;
  /** Narrower bounds for the starts, where known. */
  earliest?: ArrayLike<number>;
  latest?: ArrayLike<number>;
  /** What is in use by others. */
  occupied?: readonly { start: number; finish: number; amounts: readonly number[] }[];
}

/** Conflicts of the shortest run between restarts; Luby's sequence gives the others. */
const RESTART = 300;
/** How much less a conflict counts for the activity of tasks than the one after it. */
const DECAY = 0.95;
/** Learnt clauses before the first are dropped, and how many more after each time. */
const MOST_CLAUSES = 3000;
const MORE_CLAUSES = 500;

/**
 * Decides whether a project with minimum and maximum time lags has a schedule by a deadline: propagation of lags and of
 * the timetable, conflicts explained and learnt at the first unique implication point, restarts (Schutt, Feydy, Stuckey &
 * Wallace 2011, "Explaining the cumulative propagator", Constraints 16:250–282; 2013, "Solving RCPSP/max by lazy clause
 * generation", J Sched 16:273–289). Deterministic: its effort is counted in conflicts.
 */
export class LagSolver {
  /** Conflicts so far. */
  conflicts = 0;
  /** The schedule found, after 'feasible'. */
  readonly starts: Int32Array;
  private readonly count: number;
  private readonly trail: Trail;
  private readonly clauses: Clauses;
  private readonly timetable: Timetable;
  private readonly durations: Int32Array;
  private readonly lagFrom: Int32Array;
  private readonly lagTo: Int32Array;
  private readonly lagMinutes: Int32Array;
  /** Lags that leave each task, and those that arrive. */
  private readonly outgoing: Int32Array[];
  private readonly incoming: Int32Array[];
  private head = 0;
  private dead = false;
  private restarts = 0;
  private mostClauses = MOST_CLAUSES;
  private readonly activity: Float64Array;
  private increment = 1;
  // The conflict under analysis: what is needed of each quantity, and the event that gave it (-1: nothing is needed).
  private readonly needed: Int32Array;
  private readonly neededEvent: Int32Array;
  private touched: number[] = [];
  private open = 0;
  /** Where the last level begins. */
  private levelStart = 0;
  /** Why the present state is impossible: a bound beyond the opposite one, a false clause, or a peak above the capacity. */
  private failure: { kind: 'bound' | 'clause' | 'peak'; quantity: number; value: number; reason: number } | null = null;

  constructor(
    project: LagProject,
    readonly options: SolverOptions,
  ) {
    const { durations, lags } = project;
    const { deadline, earliest, latest } = options;
    this.count = durations.length;
    this.durations = Int32Array.from(durations);
    this.starts = new Int32Array(this.count);
    this.trail = new Trail(this.count);
    this.clauses = new Clauses(this.trail);
    this.timetable = new Timetable(this.trail, project, deadline, options.occupied);
    this.lagFrom = Int32Array.from(lags, (lag) => lag.from);
    this.lagTo = Int32Array.from(lags, (lag) => lag.to);
    this.lagMinutes = Int32Array.from(lags, (lag) => lag.minutes);
    const outgoing: number[][] = durations.map(() => []);
    const incoming: number[][] = durations.map(() => []);
    lags.forEach((lag, e) => {
      outgoing[lag.from]!.push(e);
      incoming[lag.to]!.push(e);
    });
    this.outgoing = outgoing.map((list) => Int32Array.from(list));
    this.incoming = incoming.map((list) => Int32Array.from(list));
    this.activity = new Float64Array(this.count);
    this.needed = new Int32Array(2 * this.count);
    this.neededEvent = new Int32Array(2 * this.count).fill(-1);
    const { bound, root } = this.trail;
    for (let i = 0; i < this.count; i++) {
      bound[2 * i] = Math.min(deadline - durations[i]!, latest?.[i] ?? deadline);
      bound[2 * i + 1] = -Math.max(0, earliest?.[i] ?? 0);
      if (bound[2 * i]! + bound[2 * i + 1]! < 0) this.dead = true;
    }
    root.set(bound);
    if (this.timetable.conflictMinute >= 0) this.dead = true;
    if (!this.dead) this.dead = !this.propagateAll();
  }

  /** Minutes of the timetable looked at: grows with the time used, whatever the machine. */
  get steps(): number {
    return this.timetable.steps;
  }

  /** Demands an earlier end; what was learnt stays true. */
  tighten(deadline: number): void {
    this.backtrack(0);
    for (let i = 0; i < this.count && !this.dead; i++) {
      if (!this.tightenBound(2 * i, deadline - this.durations[i]!, DECISION)) this.dead = true;
    }
    if (!this.dead && !this.propagate()) this.dead = true;
    if (!this.dead) this.settle();
  }

  /** Searches on, for at most so many more conflicts. */
  run(conflicts: number): Outcome {
    if (this.dead) return 'infeasible';
    const limit = this.conflicts + conflicts;
    this.backtrack(0);
    let untilRestart = RESTART * luby(this.restarts);
    for (;;) {
      if (!this.propagate()) {
        this.conflicts++;
        untilRestart--;
        if (this.trail.levels.length === 0) {
          this.dead = true;
          return 'infeasible';
        }
        if (!this.learn()) {
          this.dead = true;
          return 'infeasible';
        }
        if (this.conflicts >= limit) return 'unknown';
        continue;
      }
      if (this.trail.levels.length === 0) this.settle();
      if (untilRestart <= 0) {
        this.restarts++;
        untilRestart = RESTART * luby(this.restarts);
        this.backtrack(0);
        if (this.clauses.count > this.mostClauses) {
          this.settle();
          this.clauses.reduce();
          this.mostClauses += MORE_CLAUSES;
        }
        continue;
      }
      const i = this.choose();
      if (i < 0) {
        for (let j = 0; j < this.count; j++) this.starts[j] = this.trail.bound[2 * j]!;
        return 'feasible';
      }
      this.trail.levels.push(this.trail.length);
      this.trail.push(2 * i, -this.trail.bound[2 * i + 1]!, DECISION);
    }
  }

  /** The task that had most to do with recent conflicts, to be placed at its earliest start next; -1: all are placed. */
  private choose(): number {
    const { activity } = this;
    const { bound } = this.trail;
    let best = -1;
    for (let i = 0; i < this.count; i++) {
      if (bound[2 * i]! + bound[2 * i + 1]! !== 0 && (best < 0 || activity[i]! > activity[best]!)) best = i;
    }
    return best;
  }

  private readonly tightenBound = (quantity: number, value: number, reason: number): boolean => {
    const { bound } = this.trail;
    if (bound[quantity]! <= value) return true;
    if (value + bound[quantity ^ 1]! < 0) {
      this.failure = { kind: 'bound', quantity, value, reason };
      return false;
    }
    this.trail.push(quantity, value, reason);
    return true;
  };

  private readonly imply = (quantity: number, value: number, clause: number): boolean =>
    this.tightenBound(quantity, value, (clause << 2) | BY_CLAUSE);

  /** Until nothing changes any more; false when a contradiction was met, which `failure` then describes. */
  private propagate(): boolean {
    const { trail, timetable } = this;
    for (;;) {
      while (this.head < trail.length) {
        const at = this.head++;
        const quantity = trail.quantity[at]!;
        const value = trail.value[at]!;
        if (!this.propagateLags(quantity)) return false;
        const clause = this.clauses.propagate(quantity, trail.former[at]!, value, this.imply);
        if (clause !== -1) {
          if (clause >= 0) this.failure = { kind: 'clause', quantity: -1, value: 0, reason: (clause << 2) | BY_CLAUSE };
          return false;
        }
        if (!timetable.extend(quantity >> 1)) return this.failAtPeak();
      }
      if (!timetable.filter(this.tightenBound)) return false;
      if (this.head === trail.length) return true;
    }
  }

  private failAtPeak(): false {
    const { conflictMinute, conflictTask } = this.timetable;
    this.timetable.conflictMinute = -1;
    this.failure = { kind: 'peak', quantity: 2 * conflictTask, value: 0, reason: (conflictMinute << 2) | BY_PEAK };
    return false;
  }

  /** At the beginning every task counts as changed. */
  private propagateAll(): boolean {
    for (let i = 0; i < this.count; i++) {
      if (!this.propagateLags(2 * i) || !this.propagateLags(2 * i + 1) || !this.timetable.extend(i)) return false;
    }
    if (!this.propagate()) return false;
    this.settle();
    return true;
  }

  private propagateLags(quantity: number): boolean {
    const i = quantity >> 1;
    const value = this.trail.bound[quantity]!;
    const { lagMinutes } = this;
    if (quantity & 1) {
      const lags = this.outgoing[i]!;
      for (let k = 0; k < lags.length; k++) {
        const e = lags[k]!;
        if (!this.tightenBound(2 * this.lagTo[e]! + 1, value - lagMinutes[e]!, (e << 2) | BY_LAG)) return false;
      }
    } else {
      const lags = this.incoming[i]!;
      for (let k = 0; k < lags.length; k++) {
        const e = lags[k]!;
        if (!this.tightenBound(2 * this.lagFrom[e]!, value - lagMinutes[e]!, (e << 2) | BY_LAG)) return false;
      }
    }
    return true;
  }

  private settle(): void {
    this.trail.settle();
    this.head = 0;
  }

  private backtrack(level: number): void {
    const { trail, timetable } = this;
    if (trail.levels.length <= level) return;
    const to = trail.levels[level]!;
    const { quantity } = trail;
    const end = trail.length;
    while (trail.length > to) trail.pop();
    for (let at = to; at < end; at++) timetable.shrink(quantity[at]! >> 1);
    trail.levels.length = level;
    this.head = to;
  }

  /** Learns a clause from the contradiction and goes back to where it says something new; false when nothing is left. */
  private learn(): boolean {
    const { trail, neededEvent, needed } = this;
    this.levelStart = last(trail.levels);
    this.open = 0;
    this.touched = [];
    this.explainFailure();
    let at = trail.length - 1;
    for (;;) {
      while (neededEvent[trail.quantity[at]!] !== at) at--;
      if (this.open === 1) break;
      const quantity = trail.quantity[at]!;
      const value = needed[quantity]!;
      neededEvent[quantity] = -1;
      this.activity[quantity >> 1] = this.activity[quantity >> 1]! + this.increment;
      this.open--;
      this.explain(quantity, value, trail.reason[at]!, at, this.need);
      at--;
    }
    const first = trail.quantity[at]!;
    const literals = [first ^ 1, -needed[first]! - 1];
    const events: number[] = [];
    const touched = new Set(this.touched);
    for (const quantity of touched) {
      const event = neededEvent[quantity]!;
      if (event < 0) continue;
      this.activity[quantity >> 1] = this.activity[quantity >> 1]! + this.increment;
      if (quantity !== first && !this.isImplied(quantity)) {
        literals.push(quantity ^ 1, -needed[quantity]! - 1);
        events.push(event);
      }
    }
    for (const quantity of touched) neededEvent[quantity] = -1;
    this.increment /= DECAY;
    if (this.increment > 1e100) this.rescale();
    let level = 0;
    const levels = new Set<number>();
    let latest = -1;
    events.forEach((event, k) => {
      levels.add(trail.levelOf(event));
      if (latest < 0 || event > events[latest]!) latest = k;
    });
    if (latest >= 0) {
      level = trail.levelOf(events[latest]!);
      const k = 2 + 2 * latest;
      [literals[2], literals[k]] = [literals[k]!, literals[2]!];
      [literals[3], literals[k + 1]] = [literals[k + 1]!, literals[3]!];
    }
    this.backtrack(level);
    if (literals.length === 2) return this.tightenBound(literals[0]!, literals[1]!, DECISION);
    const clause = this.clauses.add(literals, levels.size + 1);
    return this.imply(literals[0]!, literals[1]!, clause);
  }

  private rescale(): void {
    for (let i = 0; i < this.count; i++) this.activity[i] = this.activity[i]! * 1e-100;
    this.increment *= 1e-100;
  }

  /** Whether the others that are needed already say so. */
  private isImplied(quantity: number): boolean {
    const event = this.neededEvent[quantity]!;
    const reason = this.trail.reason[event]!;
    if (reason === DECISION) return false;
    this.covered = true;
    this.coveredBefore = event;
    this.explain(quantity, this.needed[quantity]!, reason, event, this.cover);
    return this.covered;
  }

  private covered = false;
  private coveredBefore = 0;
  private readonly cover = (quantity: number, value: number): void => {
    if (this.trail.root[quantity]! <= value) return;
    const event = this.neededEvent[quantity]!;
    // Only by what came earlier, or two literals could vouch for each other.
    if (event < 0 || event >= this.coveredBefore || this.needed[quantity]! > value) this.covered = false;
  };

  private explainFailure(): void {
    const { quantity, value, reason, kind } = required(this.failure, 'failure to explain');
    this.failure = null;
    if (kind === 'clause') {
      this.explain(-1, 0, reason, this.trail.length, this.need);
      return;
    }
    if (kind === 'peak') {
      this.need(quantity, reason >> 2);
      this.explain(quantity ^ 1, 0, reason, this.trail.length, this.need);
      return;
    }
    this.explain(quantity, value, reason, this.trail.length, this.need);
    this.need(quantity ^ 1, -value - 1);
  }

  /** Names what made a literal true at event `at`. */
  private explain(
    quantity: number,
    value: number,
    reason: number,
    at: number,
    need: (quantity: number, value: number) => void,
  ): void {
    const number = reason >> 2;
    switch (reason & 3) {
      case BY_LAG: {
        const other = quantity & 1 ? 2 * this.lagFrom[number]! + 1 : 2 * this.lagTo[number]!;
        need(other, value + this.lagMinutes[number]!);
        return;
      }
      case BY_CLAUSE: {
        const { pool } = this.clauses;
        const first = this.clauses.literalsOf(number);
        const end = first + 2 * this.clauses.lengthOf(number);
        for (let k = first; k < end; k += 2) {
          if (pool[k] !== quantity) need(pool[k]! ^ 1, -pool[k + 1]! - 1);
        }
        return;
      }
      default: {
        const i = quantity >> 1;
        if (quantity & 1) need(quantity, this.durations[i]! - number - 1);
        else need(quantity, number);
        this.timetable.explain(i, number, at, need);
      }
    }
  }

  /** Adds a literal to the conflict under analysis; of two about one quantity the tighter stays. */
  private readonly need = (quantity: number, value: number): void => {
    const { trail, neededEvent, needed, levelStart } = this;
    if (trail.root[quantity]! <= value) return;
    const former = neededEvent[quantity]!;
    if (former >= 0 && needed[quantity]! <= value) return;
    const event = trail.eventOf(quantity, value);
    if (former < 0) this.touched.push(quantity);
    if (former < levelStart && event >= levelStart) this.open++;
    needed[quantity] = value;
    neededEvent[quantity] = event;
  };
}

/** Luby, Sinclair & Zuckerman 1993: 1, 1, 2, 1, 1, 2, 4, … */
function luby(k: number): number {
  let size = 1;
  let power = 0;
  while (size < k + 1) {
    size = 2 * size + 1;
    power++;
  }
  while (size - 1 !== k) {
    size = (size - 1) >> 1;
    power--;
    k %= size;
  }
  return 2 ** power;
}

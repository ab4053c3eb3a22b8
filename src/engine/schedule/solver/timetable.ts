import { EngineError } from '../../error.js';
import type { LagProject } from './project.js';
import type { Trail } from './trail.js';
import { BY_PEAK } from './trail.js';

/**
 * What is left of the resources over time when every task has its compulsory part: the minutes in which it runs wherever
 * in its domain it starts. Filters bounds as Schutt, Feydy, Stuckey & Wallace (2011, Constraints 16:250–282) do, with
 * explanations that name one minute.
 *
 * All resources of a minute are packed into one 32-bit word, as in `PlainGenerator`: `free + guards − demand` keeps every
 * guard bit exactly where the demand fits.
 */
export class Timetable {
  /** Users of each resource. */
  readonly users: Int32Array[];
  readonly durations: Int32Array;
  readonly amounts: Int32Array[];
  /** Minutes looked at so far: a measure of the work done. */
  steps = 0;
  private readonly need: Int32Array;
  private readonly shifts: number[] = [];
  private readonly masks: number[];
  private readonly guards: number;
  private readonly empty: Int32Array;
  private readonly free: Int32Array;
  /** The compulsory part that is laid down of each task; empty where `from >= to`. */
  private readonly from: Int32Array;
  private readonly to: Int32Array;
  private readonly active: Int32Array;
  private changed = true;
  /** Set when a compulsory part finds no room: the minute, and the task. */
  conflictMinute = -1;
  conflictTask = -1;

  static fits(capacities: readonly number[]): boolean {
    return capacities.reduce((bits, capacity) => bits + fieldBits(capacity), 0) <= 32;
  }

  /** @param occupied what others use, per task: resource amounts over `[start, finish)`. */
  constructor(
    private readonly trail: Trail,
    project: LagProject,
    horizon: number,
    occupied: readonly { start: number; finish: number; amounts: readonly number[] }[] = [],
  ) {
    const { durations, demands, capacities } = project;
    if (!Timetable.fits(capacities))
      throw new EngineError('too-wide', 'The capacities do not fit into one machine word', 'capacities');
    const { shifts } = this;
    capacities.reduce((shift, capacity) => (shifts.push(shift), shift + fieldBits(capacity)), 0);
    const pack = (amounts: readonly number[]): number =>
      amounts.reduce((word, amount, r) => word | (amount << shifts[r]!), 0);
    this.masks = capacities.map((capacity) => (1 << (fieldBits(capacity) - 1)) - 1);
    this.guards = capacities.reduce((word, capacity, r) => word | (1 << (shifts[r]! + fieldBits(capacity) - 1)), 0);
    this.durations = Int32Array.from(durations);
    this.need = Int32Array.from(demands, pack);
    this.amounts = capacities.map((_, r) => Int32Array.from(demands, (amounts) => amounts[r]!));
    this.users = this.amounts.map((of) =>
      Int32Array.from(durations.keys()).filter((i) => of[i]! > 0 && durations[i]! > 0),
    );
    this.active = Int32Array.from(durations.keys()).filter((i) => this.need[i] !== 0 && durations[i]! > 0);
    this.empty = new Int32Array(horizon + 1).fill(pack(capacities) | this.guards);
    for (const { start, finish, amounts } of occupied) {
      const word = pack(amounts);
      for (let t = start; t < finish && t <= horizon; t++) {
        if ((((this.empty[t]! - word) | 0) & this.guards) !== this.guards) this.conflictMinute = t;
        else this.empty[t] = (this.empty[t]! - word) | 0;
      }
    }
    this.free = this.empty.slice();
    this.from = new Int32Array(durations.length).fill(1);
    this.to = new Int32Array(durations.length);
  }

  /** Lays down what has become compulsory of task `i`; false when there is no room (see `conflictMinute`). */
  extend(i: number): boolean {
    const { bound } = this.trail;
    this.changed = true;
    const need = this.need[i]!;
    const from = bound[2 * i]!;
    const to = this.durations[i]! - bound[2 * i + 1]!;
    if (from >= to || need === 0) return true;
    const oldFrom = this.from[i]!;
    const oldTo = this.to[i]!;
    if (oldFrom >= oldTo) {
      if (!this.hasRoom(i, from, to)) return false;
      this.add(from, to, need);
    } else {
      if (!this.hasRoom(i, from, oldFrom) || !this.hasRoom(i, oldTo, to)) return false;
      this.add(from, oldFrom, need);
      this.add(oldTo, to, need);
    }
    this.from[i] = from;
    this.to[i] = to;
    return true;
  }

  private hasRoom(i: number, from: number, to: number): boolean {
    const { free, guards } = this;
    const need = this.need[i]!;
    for (let t = from; t < to; t++) {
      if ((((free[t]! - need) | 0) & guards) !== guards) {
        this.conflictMinute = t;
        this.conflictTask = i;
        return false;
      }
    }
    return true;
  }

  private add(from: number, to: number, word: number): void {
    const { free } = this;
    for (let t = from; t < to; t++) free[t] = (free[t]! - word) | 0;
  }

  /** After bounds of task `i` were taken back: gives back what is compulsory no more. */
  shrink(i: number): void {
    const from = this.from[i]!;
    const to = this.to[i]!;
    if (from >= to) return;
    const { bound } = this.trail;
    const newFrom = bound[2 * i]!;
    const newTo = this.durations[i]! - bound[2 * i + 1]!;
    const need = -this.need[i]! | 0;
    if (newFrom >= newTo) {
      this.add(from, to, need);
      this.from[i] = 1;
      this.to[i] = 0;
      return;
    }
    this.add(from, newFrom, need);
    this.add(newTo, to, need);
    this.from[i] = newFrom;
    this.to[i] = newTo;
  }

  /**
   * Moves bounds past minutes without room.
   * @param tighten as in the solver; false when that empties a domain.
   * @returns false when a domain became empty.
   */
  filter(tighten: (quantity: number, value: number, reason: number) => boolean): boolean {
    if (!this.changed) return true;
    this.changed = false;
    const { active, durations, free, guards, need, trail } = this;
    const { bound } = trail;
    for (let k = 0; k < active.length; k++) {
      const i = active[k]!;
      let latest = bound[2 * i]!;
      let s = -bound[2 * i + 1]!;
      if (s === latest) continue;
      const word = need[i]!;
      const d = durations[i]!;
      // [s, checked) has room. From `latest` on the task's own compulsory part is laid down already.
      let checked = s;
      let end = s + d;
      let t = (end < latest ? end : latest) - 1;
      this.steps += d;
      while (t >= checked) {
        if ((((free[t]! - word) | 0) & guards) === guards) {
          t--;
          continue;
        }
        if (!tighten(2 * i + 1, -t - 1, (t << 2) | BY_PEAK)) return false;
        checked = end < latest ? end : latest;
        s = t + 1;
        end = s + d;
        t = (end < latest ? end : latest) - 1;
      }
      if (s === latest) continue;
      checked = latest + d;
      t = end > latest ? end : latest;
      while (t < checked) {
        if ((((free[t]! - word) | 0) & guards) === guards) {
          t++;
          continue;
        }
        if (!tighten(2 * i, t - d, (t << 2) | BY_PEAK)) return false;
        checked = latest > end ? latest : end;
        latest = t - d;
        t = end > latest ? end : latest;
      }
    }
    return true;
  }

  /**
   * Explains why task `i` cannot run in minute `t`, as things stood before event `at`: literals of other tasks.
   * @param need takes each literal.
   */
  explain(i: number, t: number, at: number, need: (quantity: number, value: number) => void): boolean {
    const { trail, durations, empty, shifts, masks } = this;
    const { bound } = trail;
    let best: number[] | null = null;
    for (let r = 0; r < this.users.length; r++) {
      const amounts = this.amounts[r]!;
      if (amounts[i] === 0) continue;
      let over = amounts[i]! - ((empty[t]! >>> shifts[r]!) & masks[r]!);
      const found: number[] = [];
      const users = this.users[r]!;
      for (let k = 0; k < users.length; k++) {
        const j = users[k]!;
        if (j === i || bound[2 * j]! > t || durations[j]! - bound[2 * j + 1]! <= t) continue;
        if (trail.boundBefore(2 * j, at) > t || durations[j]! - trail.boundBefore(2 * j + 1, at) <= t) continue;
        found.push(j);
        over += amounts[j]!;
      }
      if (over <= 0) continue;
      // What is not needed for the conflict is left out.
      const kept = found.filter((j) => {
        if (amounts[j]! >= over) return true;
        over -= amounts[j]!;
        return false;
      });
      if (best === null || kept.length < best.length) best = kept;
    }
    if (best === null) return false;
    for (const j of best) {
      need(2 * j, t);
      need(2 * j + 1, durations[j]! - t - 1);
    }
    return true;
  }
}

function fieldBits(capacity: number): number {
  return 33 - Math.clz32(capacity);
}

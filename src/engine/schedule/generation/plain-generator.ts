import { EngineError } from '../../error.js';

/**
 * A plain resource-constrained project: constant capacities, finish-to-start relations without waits
 * (the problem of PSPLIB). Tasks are numbered with predecessors first.
 */
export interface PlainProject {
  durations: number[];
  predecessors: number[][];
  /** Per task, the amount of each resource. */
  demands: number[][];
  capacities: number[];
}

/**
 * Serial schedule generation for plain projects, forwards and backwards in time.
 *
 * All resources of one time unit are packed into one 32-bit word, each in a field one bit wider than its capacity needs:
 * `free + guards − demand` keeps a guard bit exactly where the demand fits, so one subtraction tests every resource.
 * Backwards is the same pass over the reversed relations in mirrored time.
 */
export class PlainGenerator {
  readonly count: number;
  readonly durations: Int32Array;
  /** Starts of the last pass, in that pass's own direction of time. */
  readonly start: Int32Array;
  private readonly demand: Int32Array;
  private readonly full: number;
  private readonly guards: number;
  private readonly free: Int32Array;
  private dirty = 0;
  private readonly before: [Int32Array, Int32Array];
  private readonly beforeFrom: [Int32Array, Int32Array];

  /** True when the capacities fit into one word. */
  static fits(capacities: readonly number[]): boolean {
    return capacities.reduce((bits, capacity) => bits + fieldBits(capacity), 0) <= 32;
  }

  constructor(readonly project: PlainProject) {
    const { durations, predecessors, demands, capacities } = project;
    if (!PlainGenerator.fits(capacities))
      throw new EngineError('too-wide', 'The capacities do not fit into one machine word', 'capacities');
    this.count = durations.length;
    this.durations = Int32Array.from(durations);
    this.start = new Int32Array(this.count);
    const shifts: number[] = [];
    capacities.reduce((shift, capacity) => (shifts.push(shift), shift + fieldBits(capacity)), 0);
    const pack = (amounts: readonly number[]): number =>
      amounts.reduce((word, amount, r) => word | (amount << shifts[r]!), 0);
    this.guards = capacities.reduce((word, capacity, r) => word | (1 << (shifts[r]! + fieldBits(capacity) - 1)), 0);
    this.full = pack(capacities) | this.guards;
    this.demand = Int32Array.from(demands, pack);
    this.free = new Int32Array(durations.reduce((sum, d) => sum + d, 0) + 1).fill(this.full);
    const successors: number[][] = durations.map(() => []);
    predecessors.forEach((list, i) => list.forEach((p) => successors[p]!.push(i)));
    const flat = (lists: number[][]): [Int32Array, Int32Array] => {
      const from = new Int32Array(lists.length + 1);
      lists.forEach((list, i) => (from[i + 1] = from[i]! + list.length));
      return [from, Int32Array.from(lists.flat())];
    };
    const [predecessorFrom, predecessorTask] = flat(predecessors);
    const [successorFrom, successorTask] = flat(successors);
    this.beforeFrom = [predecessorFrom, successorFrom];
    this.before = [predecessorTask, successorTask];
  }

  /**
   * One pass: each task of the list in turn as early as it fits, into `start`.
   * @param mirrored 0: forwards, the list has predecessors first; 1: backwards, the list has successors first, and
   *   `start` counts from the end of the project.
   * @returns the length of the schedule.
   */
  pass(list: Int32Array, mirrored: 0 | 1): number {
    const { count, durations, demand, free, guards, start } = this;
    const from = this.beforeFrom[mirrored];
    const before = this.before[mirrored];
    free.fill(this.full, 0, this.dirty);
    let length = 0;
    for (let k = 0; k < count; k++) {
      const i = list[k]!;
      const d = durations[i]!;
      let s = 0;
      for (let l = from[i]!, end = from[i + 1]!; l < end; l++) {
        const p = before[l]!;
        const f = start[p]! + durations[p]!;
        if (f > s) s = f;
      }
      const need = demand[i]!;
      if (need !== 0 && d !== 0) {
        // [s, checked) is known to fit; look backwards so that a misfit skips as far as it can.
        let validated = s;
        let t = s + d - 1;
        while (t >= validated) {
          if ((((free[t]! - need) | 0) & guards) === guards) t--;
          else {
            validated = s + d;
            s = t + 1;
            t = s + d - 1;
          }
        }
        for (t = s + d - 1; t >= s; t--) free[t] = (free[t]! - need) | 0;
      }
      start[i] = s;
      if (s + d > length) length = s + d;
    }
    this.dirty = length;
    return length;
  }
}

function fieldBits(capacity: number): number {
  return 33 - Math.clz32(capacity);
}

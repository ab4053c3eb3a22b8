import type { Compiled } from '../problem/compile.js';

/**
 * Two sides of a group that never overlap, such as what makes sparks and what gives off vapour in one room: what lies
 * where, per group and side. A task's stay lasts its tail beyond its finish.
 */
export class ExclusionLedger {
  private readonly starts: Int32Array[] = [];
  private readonly ends: Int32Array[] = [];
  private readonly counts: Int32Array;
  private readonly settled: Int32Array;

  constructor(
    private readonly compiled: Pick<Compiled, 'exclusionFrom' | 'exclusionSlot' | 'exclusionTail' | 'exclusionSlots'>,
  ) {
    const { exclusionSlots, exclusionSlot } = compiled;
    const room = new Int32Array(exclusionSlots);
    for (const slot of exclusionSlot) room[slot]! += 1;
    for (let slot = 0; slot < exclusionSlots; slot++) {
      this.starts.push(new Int32Array(room[slot]!));
      this.ends.push(new Int32Array(room[slot]!));
    }
    this.counts = new Int32Array(exclusionSlots);
    this.settled = new Int32Array(exclusionSlots);
  }

  /** Keeps what is there now for good. */
  keep(): void {
    this.settled.set(this.counts);
  }

  /** Goes back to what was kept. */
  clear(): void {
    this.counts.set(this.settled);
  }

  add(i: number, start: number, finish: number): void {
    const { exclusionFrom, exclusionSlot, exclusionTail } = this.compiled;
    for (let k = exclusionFrom[i]!; k < exclusionFrom[i + 1]!; k++) {
      const slot = exclusionSlot[k]!;
      const at = this.counts[slot]!++;
      this.starts[slot]![at] = start;
      this.ends[slot]![at] = finish + exclusionTail[k]!;
    }
  }

  remove(i: number, start: number, finish: number): void {
    const { exclusionFrom, exclusionSlot, exclusionTail } = this.compiled;
    for (let k = exclusionFrom[i]!; k < exclusionFrom[i + 1]!; k++) {
      const slot = exclusionSlot[k]!;
      const [starts, ends] = [this.starts[slot]!, this.ends[slot]!];
      const end = finish + exclusionTail[k]!;
      let at = this.counts[slot]! - 1;
      while (starts[at] !== start || ends[at] !== end) at--;
      const last = --this.counts[slot]!;
      starts[at] = starts[last]!;
      ends[at] = ends[last]!;
    }
  }

  /**
   * `start` if nothing of the other side is in the way over `[start, finish)` and the tail; else when the latest of it
   * has gone.
   */
  clearFrom(i: number, start: number, finish: number): number {
    const { exclusionFrom, exclusionSlot, exclusionTail } = this.compiled;
    let from = start;
    for (let k = exclusionFrom[i]!; k < exclusionFrom[i + 1]!; k++) {
      const other = exclusionSlot[k]! ^ 1;
      const [starts, ends] = [this.starts[other]!, this.ends[other]!];
      const until = finish + exclusionTail[k]!;
      for (let at = this.counts[other]! - 1; at >= 0; at--)
        if (starts[at]! < until && ends[at]! > start && ends[at]! > from) from = ends[at]!;
    }
    return from;
  }
}

import type { Interval } from './problem.js';

/** Minutes per bucket of the look-up table, as a shift: 2^9 = 512 minutes, about three to a day. */
const BUCKET_SHIFT = 9;
/** The same for open minutes: 128, a quarter of a working day. */
const OPEN_BUCKET_SHIFT = 7;

/**
 * A set of open minutes with constant-time arithmetic in both directions between clock minutes and open minutes.
 * Minutes before 0 are history; they count like any other.
 */
export class Calendar {
  readonly count: number;
  readonly starts: Int32Array;
  readonly ends: Int32Array;
  /** Open minutes before each interval; the last entry is the total. */
  readonly before: Int32Array;
  /** For each bucket of clock minutes, the first interval that ends after the bucket begins. */
  private readonly buckets: Int32Array;
  private readonly base: number;
  /** The same for open minutes. */
  private readonly openBuckets: Int32Array;

  /** @param intervals sorted and disjoint; touching ones are joined, so that a sitting may run across the seam. */
  constructor(intervals: readonly Interval[]) {
    const joined: Interval[] = [];
    for (const { startMinutes, endMinutes } of intervals) {
      const last = joined.at(-1);
      if (last && last.endMinutes === startMinutes) last.endMinutes = endMinutes;
      else joined.push({ startMinutes, endMinutes });
    }
    this.count = joined.length;
    this.starts = Int32Array.from(joined, (interval) => interval.startMinutes);
    this.ends = Int32Array.from(joined, (interval) => interval.endMinutes);
    this.before = new Int32Array(this.count + 1);
    for (let k = 0; k < this.count; k++) this.before[k + 1] = this.before[k]! + this.ends[k]! - this.starts[k]!;
    const last = this.count === 0 ? 0 : this.ends[this.count - 1]!;
    this.base = this.count === 0 ? 0 : this.starts[0]!;
    this.buckets = new Int32Array(((last - this.base) >> BUCKET_SHIFT) + 1);
    for (let b = 0, k = 0; b < this.buckets.length; b++) {
      while (k < this.count && this.ends[k]! <= this.base + (b << BUCKET_SHIFT)) k++;
      this.buckets[b] = k;
    }
    this.openBuckets = new Int32Array((this.totalOpen >> OPEN_BUCKET_SHIFT) + 1);
    for (let b = 0, k = 0; b < this.openBuckets.length; b++) {
      while (k < this.count && this.before[k + 1]! <= b << OPEN_BUCKET_SHIFT) k++;
      this.openBuckets[b] = k;
    }
  }

  get totalOpen(): number {
    return this.before[this.count]!;
  }

  /** Index of the first interval ending after `minute`; `count` if there is none. */
  at(minute: number): number {
    const bucket = (minute - this.base) >> BUCKET_SHIFT;
    if (bucket >= this.buckets.length) return this.count;
    let k = bucket < 0 ? 0 : this.buckets[bucket]!;
    while (k < this.count && this.ends[k]! <= minute) k++;
    return k;
  }

  /** Open minutes before clock minute `minute`. */
  openBefore(minute: number): number {
    const k = this.at(minute);
    if (k === this.count) return this.before[k]!;
    const start = this.starts[k]!;
    return minute > start ? this.before[k]! + minute - start : this.before[k]!;
  }

  /** Index of the interval holding open minute number `open`; `count` if there are not so many. */
  intervalOf(open: number): number {
    if (open >= this.totalOpen) return this.count;
    let k = open < 0 ? 0 : this.openBuckets[open >> OPEN_BUCKET_SHIFT]!;
    while (this.before[k + 1]! <= open) k++;
    return k;
  }

  /** The clock minute at which open minute number `open` begins; -1 if there are not so many. */
  minuteOf(open: number): number {
    const k = this.intervalOf(open);
    return k === this.count ? -1 : this.starts[k]! + open - this.before[k]!;
  }

  /** First open minute not before `minute`; -1 if there is none. */
  next(minute: number): number {
    const k = this.at(minute);
    if (k === this.count) return -1;
    return minute > this.starts[k]! ? minute : this.starts[k]!;
  }

  /** The minute at which `minutes` > 0 of open time, begun at open minute `start`, are over; -1 if they never are. */
  finish(start: number, minutes: number): number {
    let k = this.at(start);
    if (k === this.count) return -1;
    let left = minutes;
    let from = start > this.starts[k]! ? start : this.starts[k]!;
    for (let steps = 0; steps < 8; steps++) {
      const room = this.ends[k]! - from;
      if (left <= room) return from + left;
      left -= room;
      if (++k === this.count) return -1;
      from = this.starts[k]!;
    }
    // A long task: jump instead of walking day by day.
    const end = this.before[k]! + left;
    if (end > this.totalOpen) return -1;
    k = this.intervalOf(end - 1);
    return this.starts[k]! + end - this.before[k]!;
  }

  /** Earliest start not before `minute` at which `minutes` fit in one interval; -1 if there is none. */
  nextSitting(minute: number, minutes: number): number {
    for (let k = this.at(minute); k < this.count; k++) {
      const from = minute > this.starts[k]! ? minute : this.starts[k]!;
      if (from + minutes <= this.ends[k]!) return from;
    }
    return -1;
  }

  /** The worked parts of `[start, finish)`. */
  segments(start: number, finish: number): Interval[] {
    const worked: Interval[] = [];
    for (let k = this.at(start); k < this.count && this.starts[k]! < finish; k++) {
      worked.push({ startMinutes: Math.max(start, this.starts[k]!), endMinutes: Math.min(finish, this.ends[k]!) });
    }
    return worked;
  }

  toIntervals(): Interval[] {
    return Array.from(this.starts, (startMinutes, k) => ({ startMinutes, endMinutes: this.ends[k]! }));
  }
}

/** The minutes that lie in both lists; each list sorted and disjoint. */
export function intersect(left: readonly Interval[], right: readonly Interval[]): Interval[] {
  const both: Interval[] = [];
  let l = 0;
  let r = 0;
  while (l < left.length && r < right.length) {
    const startMinutes = Math.max(left[l]!.startMinutes, right[r]!.startMinutes);
    const endMinutes = Math.min(left[l]!.endMinutes, right[r]!.endMinutes);
    if (startMinutes < endMinutes) both.push({ startMinutes, endMinutes });
    if (left[l]!.endMinutes < right[r]!.endMinutes) l++;
    else r++;
  }
  return both;
}

/** Most buckets that the time of a resource is cut into. */
const MOST_BUCKETS = 512;
/** A time and a use beyond all others. */
const ENDLESS = 0x7fffffff;

/**
 * How much of one resource is in use over time, as a chain of steps; from the last one on nothing is in use.
 * Time here is the resource's own open minutes, from 0: closed time is left out, so that full days join to one step.
 *
 * Every bucket of time begins with a step of its own that always stays, so that the step of a minute is found by walking a
 * few steps from the beginning of its bucket, and a step is put in or taken out by changing one link.
 */
export class Usage {
  private times: Int32Array;
  private used: Int32Array;
  private next: Int32Array;
  /** Entries of the arrays: the first steps of the buckets, the end of time, and the other steps, dropped ones included. */
  private count: number;
  private readonly shift: number;
  private readonly lastBucket: number;
  private readonly end: number;
  private kept: { times: Int32Array; used: Int32Array; next: Int32Array };

  /** @param span minutes that are cut into buckets; all later ones are in the last. */
  constructor(span: number) {
    let shift = 5;
    while (span >> shift >= MOST_BUCKETS) shift++;
    this.shift = shift;
    this.lastBucket = span >> shift;
    this.end = this.lastBucket + 1;
    this.count = this.end + 1;
    this.times = Int32Array.from({ length: this.count }, (_, b) => b << shift);
    this.next = Int32Array.from({ length: this.count }, (_, b) => b + 1);
    this.used = new Int32Array(this.count);
    // Nothing reaches the end of time, and nothing fits into it, so no search runs past it.
    this.times[this.end] = ENDLESS;
    this.used[this.end] = ENDLESS;
    this.kept = { times: this.times, used: this.used, next: this.next };
    this.grow();
  }

  /** Remembers the present use, for `restore`. */
  keep(): void {
    const { times, used, next, count } = this;
    this.kept = { times: times.slice(0, count), used: used.slice(0, count), next: next.slice(0, count) };
  }

  /** Goes back to what was last kept; to no use at all if nothing was. */
  restore(): void {
    const { times, used, next } = this.kept;
    this.times.set(times);
    this.used.set(used);
    this.next.set(next);
    this.count = times.length;
  }

  /**
   * Whether nowhere in `[from, to)` more than `limit` is in use.
   * @returns -1 if so; else the first minute after the conflict from which `length` minutes on end have room.
   */
  nextRoom(from: number, to: number, limit: number, length: number): number {
    const { times, used, next } = this;
    let k = this.stepAt(from);
    while (used[k]! <= limit) {
      k = next[k]!;
      if (times[k]! >= to) return -1;
    }
    for (;;) {
      while (used[k]! > limit) k = next[k]!;
      const start = times[k]!;
      const enough = start + length;
      do k = next[k]!;
      while (used[k]! <= limit && times[k]! < enough);
      if (times[k]! >= enough) return start;
    }
  }

  /** Adds `amount` over `[from, to)`. */
  add(from: number, to: number, amount: number): void {
    if (from >= to || amount === 0) return;
    if (this.count + 2 > this.times.length) this.grow();
    const { times, used, next } = this;
    const before = from > 0 ? this.stepAt(from - 1) : -1;
    const first = before < 0 ? 0 : this.begin(before, from);
    let last = first;
    while (times[next[last]!]! < to) last = next[last]!;
    this.begin(last, to);
    for (let k = first; ; k = next[k]!) {
      used[k] = used[k]! + amount;
      if (k === last) break;
    }
    this.join(last);
    if (before >= 0) this.join(before);
  }

  /** Makes a step begin at `time`, which lies in step `k` or just behind it; returns it. */
  private begin(k: number, time: number): number {
    const { times, used, next } = this;
    if (times[next[k]!] === time) return next[k]!;
    const step = this.count++;
    times[step] = time;
    used[step] = used[k]!;
    next[step] = next[k]!;
    next[k] = step;
    return step;
  }

  /** Drops the step after `k` if nothing changes there, unless it begins a bucket. */
  private join(k: number): void {
    const { used, next } = this;
    const step = next[k]!;
    if (step > this.end && used[step] === used[k]) next[k] = next[step]!;
  }

  private stepAt(time: number): number {
    const { times, next } = this;
    const bucket = time >> this.shift;
    let k = bucket < this.lastBucket ? bucket : this.lastBucket;
    while (times[next[k]!]! <= time) k = next[k]!;
    return k;
  }

  private grow(): void {
    const longer = (array: Int32Array): Int32Array => {
      const copy = new Int32Array(2 * array.length + 64);
      copy.set(array);
      return copy;
    };
    this.times = longer(this.times);
    this.used = longer(this.used);
    this.next = longer(this.next);
  }
}

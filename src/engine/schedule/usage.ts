/**
 * How much of one resource is in use over time, as steps; the last step is always 0 and has no end.
 * Time here is the resource's own open minutes: closed time is left out, so that full days join to one step.
 */
export class Usage {
  private times = new Int32Array(64);
  private used = new Int32Array(64);
  private count = 1;
  private keptTimes = new Int32Array(1);
  private keptUsed = new Int32Array(1);

  /** Remembers the present use, for `restore`. */
  keep(): void {
    this.keptTimes = this.times.slice(0, this.count);
    this.keptUsed = this.used.slice(0, this.count);
  }

  /** Goes back to what was last kept; to no use at all if nothing was. */
  restore(): void {
    this.count = this.keptTimes.length;
    this.times.set(this.keptTimes);
    this.used.set(this.keptUsed);
  }

  /**
   * Whether nowhere in `[from, to)` more than `limit` is in use.
   * @returns -1 if so; else the first minute after the conflict from which `length` minutes on end have room.
   */
  nextRoom(from: number, to: number, limit: number, length: number): number {
    const { times, used, count } = this;
    let k = this.stepAt(from);
    while (used[k]! <= limit) if (++k === count || times[k]! >= to) return -1;
    for (;;) {
      while (used[k]! > limit) k++;
      const start = times[k]!;
      const enough = start + length;
      do k++;
      while (k < count && used[k]! <= limit && times[k]! < enough);
      if (k === count || times[k]! >= enough) return start;
    }
  }

  /** Adds `amount` over `[from, to)`. */
  add(from: number, to: number, amount: number): void {
    if (from >= to || amount === 0) return;
    if (this.count + 2 > this.times.length) this.grow();
    const first = this.split(from, this.stepAt(from));
    const last = this.split(to, this.stepFrom(to, first));
    const { used } = this;
    for (let k = first; k < last; k++) used[k] = used[k]! + amount;
    this.join(last);
    this.join(first);
  }

  /** Makes a step begin at `time`, which lies in step `k`; returns its index. */
  private split(time: number, k: number): number {
    const { times, used } = this;
    if (times[k] === time) return k;
    times.copyWithin(k + 2, k + 1, this.count);
    used.copyWithin(k + 2, k + 1, this.count);
    times[k + 1] = time;
    used[k + 1] = used[k]!;
    this.count++;
    return k + 1;
  }

  /** Drops the border before step `k` if nothing changes there. */
  private join(k: number): void {
    const { times, used } = this;
    if (k === 0 || used[k] !== used[k - 1]) return;
    this.count--;
    times.copyWithin(k, k + 1, this.count + 1);
    used.copyWithin(k, k + 1, this.count + 1);
  }

  private stepAt(time: number): number {
    const { times } = this;
    let low = 0;
    let high = this.count - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (times[middle]! <= time) low = middle;
      else high = middle - 1;
    }
    return low;
  }

  private stepFrom(time: number, from: number): number {
    const { times, count } = this;
    let k = from;
    while (k + 1 < count && times[k + 1]! <= time) k++;
    return k;
  }

  private grow(): void {
    const times = new Int32Array(this.times.length * 2);
    const used = new Int32Array(this.times.length * 2);
    times.set(this.times);
    used.set(this.used);
    this.times = times;
    this.used = used;
  }
}

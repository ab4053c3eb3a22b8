import { BOUND_BY_HOLD, BOUND_BY_LINK, BOUND_BY_RELEASE, BOUND_BY_RESOURCE, type Trace } from './binding.js';
import { type Compiled, type Conditions, NEVER } from './compile.js';
import { Occupancy } from './occupancy.js';

/** Most times one schedule holds a task back; after that, followers take the far side. */
const MOST_HOLDS = 300;

/**
 * Builds schedules from priority lists: serial and parallel schedule generation (Kolisch 1996, EJOR 90:320–333), extended
 * by calendars, waits, forbidden intervals and windows. One instance keeps its working arrays between calls.
 *
 * Lists hold the compiled indices of the free tasks, predecessors first. Results stand in `start` and `finish`, which the
 * next call overwrites; a task that does not fit before the horizon, and all that follow it, get `NEVER`.
 */
export class ScheduleGenerator {
  readonly start: Int32Array;
  readonly finish: Int32Array;
  /** What decided each start, closing times and windows aside (those only round it up); see `BOUND_BY_…`. */
  readonly bindKind: Uint8Array;
  readonly bindBy: Int32Array;
  /** For a resource, the minute until which it kept the task waiting. */
  readonly bindUntil: Int32Array;
  trace: Trace | null = null;
  /** Tasks that found no place in the last call. */
  unplaced = 0;
  /** Earliest starts imposed from outside to let a follower start inside its near window. */
  private readonly hold: Int32Array;
  private readonly occupancy: Occupancy;
  /** Tasks that have started and not finished: how long they take is a matter of the conditions. */
  private readonly underWay: number[] = [];
  /** Set while placing: the link whose forbidden interval pushed the task although the near side was wanted. */
  private missedLink = -1;
  private missedStart = 0;

  constructor(readonly compiled: Compiled) {
    this.start = new Int32Array(compiled.count);
    this.finish = new Int32Array(compiled.count);
    this.bindKind = new Uint8Array(compiled.count);
    this.bindBy = new Int32Array(compiled.count);
    this.bindUntil = new Int32Array(compiled.count);
    this.hold = new Int32Array(compiled.count);
    this.occupancy = new Occupancy(compiled);
    for (const [i, { fixed }] of compiled.tasks.entries()) {
      if (!fixed) continue;
      this.start[i] = fixed.startMinutes;
      if (fixed.finishMinutes === undefined) this.underWay.push(i);
      else this.finish[i] = fixed.finishMinutes;
    }
  }

  /**
   * Serial generation: each task in turn at its earliest place.
   * @param near per link, 1 where the follower should start before the first forbidden interval: when it would miss that,
   *   the predecessor is taken out with all placed since, held back just enough, and placed again.
   */
  serial(list: Int32Array, conditions: Conditions = this.compiled.conditions, near: Uint8Array | null = null): void {
    this.hold.fill(0);
    this.begin(conditions);
    this.missedLink = -1;
    let tries = near === null ? 0 : MOST_HOLDS;
    for (let k = 0; k < list.length; k++) {
      const start = this.find(list[k]!, conditions, tries > 0 ? near : null);
      if (this.missedLink < 0) {
        this.book(list[k]!, start, conditions);
        continue;
      }
      const predecessor = this.compiled.linkTask[this.missedLink]!;
      do this.takeOut(list[--k]!);
      while (list[k] !== predecessor);
      k--;
      this.holdBack(this.missedLink, this.missedStart, conditions);
      this.missedLink = -1;
      tries--;
    }
  }

  /** Parallel generation: always the task that can start first, the list deciding between equals. */
  parallel(list: Int32Array, conditions: Conditions = this.compiled.conditions): void {
    const { successors, linkFrom, linkTask, isFixed, count } = this.compiled;
    this.hold.fill(0);
    this.begin(conditions);
    const rank = new Int32Array(count);
    for (let k = 0; k < list.length; k++) rank[list[k]!] = k;
    const missing = new Int32Array(count);
    const ready: number[] = [];
    const earliest = new Int32Array(count);
    for (let k = 0; k < list.length; k++) {
      const i = list[k]!;
      for (let l = linkFrom[i]!; l < linkFrom[i + 1]!; l++) if (!isFixed[linkTask[l]!]) missing[i]!++;
      if (missing[i] === 0) ready.push(i);
    }
    // A start found earlier can only move later, so it serves as a bound and is found anew only when it comes first.
    const known = new Uint8Array(count);
    while (ready.length > 0) {
      let best = 0;
      for (let k = 1; k < ready.length; k++) {
        const a = ready[k]!;
        const b = ready[best]!;
        if (earliest[a]! < earliest[b]! || (earliest[a] === earliest[b] && rank[a]! < rank[b]!)) best = k;
      }
      const i = ready[best]!;
      const start = this.find(i, conditions, null);
      if (known[i] !== 1 || start !== earliest[i]) {
        known[i] = 1;
        earliest[i] = start;
        if (ready.some((j) => earliest[j]! < start || (earliest[j] === start && rank[j]! < rank[i]!))) continue;
      }
      this.book(i, start, conditions);
      ready.splice(best, 1);
      for (const j of successors[i]!) {
        if (!isFixed[j] && --missing[j]! === 0) {
          ready.push(j);
          earliest[j] = 0;
        }
      }
    }
  }

  /** Clears everything and puts the work under way where it began; what is finished stands there since the beginning. */
  private begin(conditions: Conditions): void {
    this.unplaced = 0;
    this.occupancy.clear();
    for (const i of this.underWay) {
      this.finish[i] = Math.max(this.compiled.now, this.finishOf(i, this.start[i]!, conditions));
      this.occupancy.occupy(i, this.start[i]!, this.finish[i]!);
    }
  }

  private finishOf(i: number, start: number, conditions: Conditions): number {
    const minutes = conditions.duration[i]!;
    const calendar = this.compiled.pausable[i] ? conditions.working[i] : null;
    if (!calendar || minutes === 0) return start + minutes;
    const finish = calendar.finish(start, minutes);
    return finish < 0 ? NEVER : finish;
  }

  private book(i: number, start: number, conditions: Conditions): void {
    this.start[i] = start;
    if (start === NEVER) {
      this.finish[i] = NEVER;
      this.unplaced++;
      return;
    }
    this.finish[i] = this.finishOf(i, start, conditions);
    this.occupancy.occupy(i, start, this.finish[i]!);
  }

  private takeOut(i: number): void {
    if (this.start[i] === NEVER) this.unplaced--;
    else this.occupancy.occupy(i, this.start[i]!, this.finish[i]!, -1);
  }

  /** Earliest start of `i` given all that is placed; `NEVER` if there is none. */
  private find(i: number, conditions: Conditions, near: Uint8Array | null): number {
    const { compiled, trace } = this;
    const minutes = conditions.duration[i]!;
    const working = minutes === 0 ? null : conditions.working[i]!;
    const windows = minutes === 0 && !compiled.pausable[i] ? this.milestoneWindows(i, conditions) : conditions.windows[i]!;
    const pausable = compiled.pausable[i] === 1;
    let s = this.lowerBound(i, conditions);
    for (;;) {
      if (s + minutes > compiled.horizon) return NEVER;
      if (compiled.hasGaps[i]) {
        const after = this.afterGaps(i, s, near);
        if (after !== s) {
          if (this.missedLink >= 0) return NEVER;
          s = after;
          continue;
        }
      }
      let f = s + minutes;
      if (working) {
        const open = pausable ? working.next(s) : working.nextSitting(s, minutes);
        if (open < 0) return NEVER;
        if (open !== s) {
          if (trace) trace(i, pausable ? 'closed' : 'sitting', -1, s, open);
          s = open;
          continue;
        }
        if (pausable) {
          f = working.finish(s, minutes);
          if (f < 0) return NEVER;
        }
      }
      if (windows) {
        const k = windows.at(s);
        if (k >= windows.count) return NEVER;
        const from = windows.starts[k]!;
        const later = s < from ? from : f <= windows.ends[k]! ? s : k + 1 < windows.count ? windows.starts[k + 1]! : NEVER;
        if (later !== s) {
          if (trace) trace(i, 'window', -1, s, later);
          s = later;
          continue;
        }
      }
      if (f > compiled.horizon) return NEVER;
      const free = minutes === 0 ? s : this.afterConflict(i, s, f, minutes);
      if (free === s) return s;
      s = free;
    }
  }

  /** A task without length has no sitting, but its windows still bind. */
  private milestoneWindows(i: number, conditions: Conditions): Conditions['windows'][number] {
    const task = this.compiled.tasks[i]!;
    return task.windows || task.weatherId !== undefined ? conditions.working[i]! : null;
  }

  private lowerBound(i: number, conditions: Conditions): number {
    const { linkFrom, linkTask, linkWait, now } = this.compiled;
    let s = conditions.release[i]!;
    let by = -1;
    for (let l = linkFrom[i]!; l < linkFrom[i + 1]!; l++) {
      const from = this.finish[linkTask[l]!]! + linkWait[l]!;
      if (from > s || (by < 0 && from === s)) {
        s = from;
        by = l;
      }
    }
    this.bindKind[i] = by >= 0 ? BOUND_BY_LINK : BOUND_BY_RELEASE;
    this.bindBy[i] = by;
    if (this.trace) this.trace(i, by >= 0 ? 'link' : s > now ? 'release' : 'now', by, now, s);
    if (this.hold[i]! > s) {
      if (this.trace) this.trace(i, 'held', -1, s, this.hold[i]!);
      this.bindKind[i] = BOUND_BY_HOLD;
      s = this.hold[i]!;
    }
    return s;
  }

  /** The first start from `s` on that lies in no forbidden interval. */
  private afterGaps(i: number, s: number, near: Uint8Array | null): number {
    const { linkFrom, linkTask, gapFrom, gapStart, gapEnd } = this.compiled;
    for (let l = linkFrom[i]!; l < linkFrom[i + 1]!; l++) {
      const since = s - this.finish[linkTask[l]!]!;
      for (let g = gapFrom[l]!; g < gapFrom[l + 1]!; g++) {
        if (since <= gapStart[g]! || since >= gapEnd[g]!) continue;
        if (near !== null && near[l] === 1 && g === gapFrom[l] && !this.compiled.isFixed[linkTask[l]!]) {
          this.missedLink = l;
          this.missedStart = s;
          return -1;
        }
        const until = s - since + gapEnd[g]!;
        if (this.trace) this.trace(i, 'gap', l, s, until);
        this.bindKind[i] = BOUND_BY_LINK;
        this.bindBy[i] = l;
        return until;
      }
    }
    return s;
  }

  /** Holds the predecessor on `link` back so that a start at `start` falls at the end of the near window. */
  private holdBack(link: number, start: number, conditions: Conditions): void {
    const { linkTask, gapFrom, gapStart, pausable } = this.compiled;
    const p = linkTask[link]!;
    const finish = start - gapStart[gapFrom[link]!]!;
    const calendar = pausable[p] ? conditions.working[p] : null;
    const minutes = conditions.duration[p]!;
    let earliest = finish - minutes;
    if (calendar && minutes > 0) {
      const open = Math.max(0, calendar.openBefore(finish) - minutes);
      earliest = calendar.minuteOf(open);
      if (calendar.finish(earliest, minutes) < finish) earliest = calendar.minuteOf(open + 1);
    }
    this.hold[p] = Math.max(earliest, this.start[p]! + 1);
  }

  /** `s` if every resource has room over `[s, f)`; else the minute from which the first one lacking has room for the task, or `NEVER`. */
  private afterConflict(i: number, s: number, f: number, minutes: number): number {
    const { demandFrom, demandResource } = this.compiled;
    for (let k = demandFrom[i]!; k < demandFrom[i + 1]!; k++) {
      const until = this.occupancy.conflictEnd(k, s, f, minutes);
      if (until < 0) continue;
      const r = demandResource[k]!;
      if (this.trace) this.trace(i, 'resource', r, s, until);
      this.bindKind[i] = BOUND_BY_RESOURCE;
      this.bindBy[i] = r;
      this.bindUntil[i] = until;
      return until;
    }
    return s;
  }
}

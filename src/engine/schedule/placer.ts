import { BOUND_BY_HOLD, BOUND_BY_LINK, BOUND_BY_RELEASE, BOUND_BY_RESOURCE, type Trace } from './binding.js';
import { type Compiled, type Conditions, NEVER } from './compile.js';
import { KnownFull } from './known.js';
import { Occupancy } from './occupancy.js';

/** Finds the earliest place for one task after another, by all the rules; what goes first is for others to say. */
export class Placer {
  readonly start: Int32Array;
  readonly finish: Int32Array;
  /** What decided each start, closing times and windows aside (those only round it up); see `BOUND_BY_…`. */
  readonly bindKind: Uint8Array;
  readonly bindBy: Int32Array;
  /** For a resource, the minute until which it kept the task waiting. */
  readonly bindUntil: Int32Array;
  trace: Trace | null = null;
  /** Tasks that found no place so far. */
  unplaced = 0;
  /** Earliest starts imposed from outside to let a follower start inside its near window. */
  protected readonly hold: Int32Array;
  /** Per link, 1 where the follower is to start before the first forbidden interval; null: nowhere. */
  protected wanted: Uint8Array | null = null;
  /** Set by `find`: the link whose forbidden interval came first although the near side was wanted, and the start it forbade; else -1. */
  protected missedLink = -1;
  protected missedStart = 0;
  private readonly occupancy: Occupancy;
  private readonly full: KnownFull;
  /** Tasks that have started and not finished: how long they take is a matter of the conditions. */
  private readonly underWay: number[] = [];

  constructor(readonly compiled: Compiled) {
    this.start = new Int32Array(compiled.count);
    this.finish = new Int32Array(compiled.count);
    this.bindKind = new Uint8Array(compiled.count);
    this.bindBy = new Int32Array(compiled.count);
    this.bindUntil = new Int32Array(compiled.count);
    this.hold = new Int32Array(compiled.count);
    this.occupancy = new Occupancy(compiled);
    this.full = new KnownFull(compiled);
    for (const [i, { fixed }] of compiled.tasks.entries()) {
      if (!fixed) continue;
      this.start[i] = fixed.startMinutes;
      if (fixed.finishMinutes === undefined) this.underWay.push(i);
      else this.finish[i] = fixed.finishMinutes;
    }
  }

  /** Clears everything and puts the work under way where it began; what is finished stands there since the beginning. */
  protected begin(conditions: Conditions): void {
    this.unplaced = 0;
    this.hold.fill(0);
    this.wanted = null;
    this.missedLink = -1;
    this.occupancy.clear();
    this.full.forget();
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

  protected book(i: number, start: number, conditions: Conditions): void {
    this.start[i] = start;
    if (start === NEVER) {
      this.finish[i] = NEVER;
      this.unplaced++;
      return;
    }
    this.finish[i] = this.finishOf(i, start, conditions);
    this.occupancy.occupy(i, start, this.finish[i]!);
  }

  protected takeOut(i: number): void {
    this.full.forget();
    if (this.start[i] === NEVER) this.unplaced--;
    else this.occupancy.occupy(i, this.start[i]!, this.finish[i]!, -1);
  }

  /** Earliest start of `i` given all that is placed; `NEVER` if there is none, or if `missedLink` is set. */
  protected find(i: number, conditions: Conditions): number {
    const { compiled, trace } = this;
    const minutes = conditions.duration[i]!;
    const working = minutes === 0 ? null : conditions.working[i]!;
    const windows =
      minutes === 0 && !compiled.pausable[i] ? this.milestoneWindows(i, conditions) : conditions.windows[i]!;
    const pausable = compiled.pausable[i] === 1;
    let s = this.lowerBound(i, conditions);
    // A trace has to name every push, and where the near side is wanted it counts which start was forbidden first.
    const { full } = this;
    const asOthers = trace === null && (this.wanted === null || compiled.hasGaps[i] === 0);
    let from = s;
    for (;;) {
      if (s + minutes > compiled.horizon) return NEVER;
      if (compiled.hasGaps[i]) {
        const after = this.afterGaps(i, s);
        if (after !== s) {
          if (this.missedLink >= 0) return NEVER;
          s = from = after;
          continue;
        }
      }
      const barred = asOthers ? full.bars(i, s, minutes) : -1;
      if (barred >= 0) {
        if (full.until[barred]! > s) this.blame(i, full.resource[barred]!, full.until[barred]!);
        if (full.from[barred]! < from) from = full.from[barred]!;
        s = full.to[barred]!;
        continue;
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
        const later =
          s < from ? from : f <= windows.ends[k]! ? s : k + 1 < windows.count ? windows.starts[k + 1]! : NEVER;
        if (later !== s) {
          if (trace) trace(i, 'window', -1, s, later);
          s = later;
          continue;
        }
      }
      if (f > compiled.horizon) return NEVER;
      const free = minutes === 0 ? s : this.afterConflict(i, s, f, minutes);
      if (free === s) {
        if (asOthers && s > from && minutes > 0) {
          const byResource = this.bindKind[i] === BOUND_BY_RESOURCE;
          full.note(i, minutes, from, s, this.bindBy[i]!, byResource ? this.bindUntil[i]! : -1);
        }
        return s;
      }
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
  private afterGaps(i: number, s: number): number {
    const { linkFrom, linkTask, gapFrom, gapStart, gapEnd } = this.compiled;
    for (let l = linkFrom[i]!; l < linkFrom[i + 1]!; l++) {
      const since = s - this.finish[linkTask[l]!]!;
      for (let g = gapFrom[l]!; g < gapFrom[l + 1]!; g++) {
        if (since <= gapStart[g]! || since >= gapEnd[g]!) continue;
        if (this.wanted !== null && this.wanted[l] === 1 && g === gapFrom[l] && !this.compiled.isFixed[linkTask[l]!]) {
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

  /** `s` if every resource has room over `[s, f)`; else the minute from which the first one lacking has room for the task, or `NEVER`. */
  private afterConflict(i: number, s: number, f: number, minutes: number): number {
    const { demandFrom, demandResource } = this.compiled;
    for (let k = demandFrom[i]!; k < demandFrom[i + 1]!; k++) {
      const until = this.occupancy.conflictEnd(k, s, f, minutes);
      if (until < 0) continue;
      const r = demandResource[k]!;
      if (this.trace) this.trace(i, 'resource', r, s, until);
      this.blame(i, r, until);
      return until;
    }
    return s;
  }

  private blame(i: number, resource: number, until: number): void {
    this.bindKind[i] = BOUND_BY_RESOURCE;
    this.bindBy[i] = resource;
    this.bindUntil[i] = until;
  }
}

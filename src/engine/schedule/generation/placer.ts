import { minuteOfAddedAge } from '../../cure/age-table.js';
import { required } from '../../look-up.js';
import { type Compiled, type Conditions, NEVER } from '../problem/compile.js';
import { BOUND_BY_DELAY, BOUND_BY_LINK, BOUND_BY_RELEASE, BOUND_BY_RESOURCE, type Trace } from './binding.js';
import { ExclusionLedger } from './exclusions.js';
import { InfeasibilityCache } from './infeasibility-cache.js';
import { Occupancy } from './occupancy.js';
import { combineWindows, type ForbiddenInterval } from './recoat-windows.js';

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
  /** Earliest starts imposed from outside to let a follower start inside its first window. */
  protected readonly delay: Int32Array;
  /** Per link, 1 where the follower is to start before the first forbidden interval; null: nowhere. */
  protected wanted: Uint8Array | null = null;
  /**
   * Set by `find`: the link whose forbidden interval came first although the first window was wanted, and the start it
   * forbade; else -1.
   */
  protected missedLink = -1;
  protected missedStart = 0;
  /** As compiled, or where a coat's age counts, as it comes out for the coat where it now lies. */
  readonly linkWait: Int32Array;
  readonly forbiddenStart: Int32Array;
  readonly forbiddenEnd: Int32Array;
  private readonly occupancy: Occupancy;
  private readonly ledger: ExclusionLedger | null;
  private readonly statedIntervals: ForbiddenInterval[][];
  private readonly intervalsFound: ForbiddenInterval[] = [];
  private readonly infeasible: InfeasibilityCache;
  /** Tasks that have started and not finished: how long they take is a matter of the conditions. */
  private readonly underWay: number[] = [];

  constructor(readonly compiled: Compiled) {
    this.start = new Int32Array(compiled.count);
    this.finish = new Int32Array(compiled.count);
    this.bindKind = new Uint8Array(compiled.count);
    this.bindBy = new Int32Array(compiled.count);
    this.bindUntil = new Int32Array(compiled.count);
    this.delay = new Int32Array(compiled.count);
    this.linkWait = compiled.linkWait.slice();
    this.forbiddenStart = compiled.forbiddenStart.slice();
    this.forbiddenEnd = compiled.forbiddenEnd.slice();
    this.statedIntervals = compiled.linkAges.map((ages, l) => {
      const stated: ForbiddenInterval[] = [];
      if (ages)
        for (let g = compiled.forbiddenFrom[l]!; g < compiled.forbiddenFrom[l + 1]!; g++)
          if (compiled.forbiddenEnd[g]! > compiled.forbiddenStart[g]!)
            stated.push({ start: compiled.forbiddenStart[g]!, end: compiled.forbiddenEnd[g]! });
      return stated;
    });
    this.occupancy = new Occupancy(compiled);
    this.ledger = compiled.exclusionSlots > 0 ? new ExclusionLedger(compiled) : null;
    this.infeasible = new InfeasibilityCache(compiled);
    for (const [i, { fixed }] of compiled.tasks.entries()) {
      if (!fixed) continue;
      this.start[i] = fixed.startMinutes;
      if (fixed.finishMinutes === undefined) this.underWay.push(i);
      else {
        this.finish[i] = fixed.finishMinutes;
        this.ledger?.add(i, fixed.startMinutes, fixed.finishMinutes);
      }
    }
    this.ledger?.keep();
  }

  /** Clears everything and puts the work under way where it began; what is finished stands there since the beginning. */
  protected begin(conditions: Conditions): void {
    this.unplaced = 0;
    this.delay.fill(0);
    this.wanted = null;
    this.missedLink = -1;
    this.occupancy.clear();
    this.ledger?.clear();
    this.infeasible.forget();
    for (const i of this.underWay) {
      this.finish[i] = Math.max(this.compiled.now, this.finishOf(i, this.start[i]!, conditions));
      this.occupancy.occupy(i, this.start[i]!, this.finish[i]!);
      this.ledger?.add(i, this.start[i]!, this.finish[i]!);
    }
  }

  private finishOf(i: number, start: number, conditions: Conditions): number {
    const minutes = conditions.duration[i]!;
    if (this.compiled.cures[i]) return Math.max(start + minutes, this.cureEnd(i, conditions));
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
    this.ledger?.add(i, start, this.finish[i]!);
  }

  /** When the paint that a cure waits for is hard; `NEVER` beyond what is known of the weather. */
  private cureEnd(i: number, conditions: Conditions): number {
    const { clock, ageMinutes, since, known } = this.compiled.cures[i]!;
    const { drying, fromMinute } = conditions.clocks[clock]!;
    const end = known
      ? minuteOfAddedAge(drying, fromMinute, known.atMinutes, ageMinutes - known.dryingMinutes)
      : minuteOfAddedAge(drying, fromMinute, this.finish[since]!, ageMinutes);
    return end === Infinity ? NEVER : Math.ceil(end);
  }

  /** Waits and forbidden intervals after coats, for where these now lie. */
  private ageLinks(i: number, conditions: Conditions): void {
    const { linkFrom, linkTask, linkAges, forbiddenFrom, linkWait } = this.compiled;
    const { intervalsFound, forbiddenStart, forbiddenEnd } = this;
    for (let l = linkFrom[i]!; l < linkFrom[i + 1]!; l++) {
      const ages = linkAges[l];
      const finish = this.finish[linkTask[l]!]!;
      if (!ages || finish >= NEVER) continue;
      this.linkWait[l] = combineWindows(
        conditions.clocks[ages.clock]!,
        ages.windows,
        ages.known,
        finish,
        linkWait[l]!,
        this.statedIntervals[l]!,
        intervalsFound,
      );
      // Slots that are not needed say the last interval once more, or nothing.
      for (let g = forbiddenFrom[l]!, k = 0; g < forbiddenFrom[l + 1]!; g++, k++) {
        const interval = intervalsFound[Math.min(k, intervalsFound.length - 1)];
        forbiddenStart[g] = interval ? interval.start : 0;
        forbiddenEnd[g] = interval ? interval.end : 0;
      }
    }
  }

  protected remove(i: number): void {
    this.infeasible.forget();
    if (this.start[i] === NEVER) this.unplaced--;
    else {
      this.occupancy.occupy(i, this.start[i]!, this.finish[i]!, -1);
      this.ledger?.remove(i, this.start[i]!, this.finish[i]!);
    }
  }

  /** Earliest start of `i` given all that is placed; `NEVER` if there is none, or if `missedLink` is set. */
  protected find(i: number, conditions: Conditions): number {
    const { compiled, trace } = this;
    let minutes = conditions.duration[i]!;
    if (compiled.hasAges[i]) this.ageLinks(i, conditions);
    const working = minutes === 0 ? null : conditions.working[i]!;
    const windows =
      minutes === 0 && !compiled.pausable[i] ? this.milestoneWindows(i, conditions) : conditions.windows[i]!;
    const pausable = compiled.pausable[i] === 1;
    let s = this.lowerBound(i, conditions);
    const cured = compiled.cures[i] ? this.cureEnd(i, conditions) : 0;
    const excluded = this.ledger !== null && compiled.exclusionFrom[i] !== compiled.exclusionFrom[i + 1];
    // A trace has to name every step, and where the first window is wanted it counts which start was forbidden first.
    const { infeasible } = this;
    const asOthers = trace === null && cured === 0 && (this.wanted === null || compiled.hasForbidden[i] === 0);
    const stated = minutes;
    const judged = conditions.judged === null ? minutes : conditions.judged[i]!;
    let from = s;
    for (;;) {
      if (cured > 0) minutes = Math.max(stated, cured - s);
      if (s + minutes > compiled.horizon) return NEVER;
      if (compiled.hasForbidden[i]) {
        const after = this.afterForbidden(i, s);
        if (after !== s) {
          if (this.missedLink >= 0) return NEVER;
          s = from = after;
          continue;
        }
      }
      const known = asOthers ? infeasible.excludes(i, s, minutes) : -1;
      if (known >= 0) {
        if (infeasible.until[known]! > s) this.blame(i, infeasible.resource[known]!, infeasible.until[known]!);
        if (infeasible.from[known]! < from) from = infeasible.from[known]!;
        s = infeasible.to[known]!;
        continue;
      }
      let f = s + minutes;
      if (working) {
        const open = pausable ? working.next(s) : working.nextSitting(s, judged);
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
      let free = minutes === 0 ? s : this.afterConflict(i, s, f, minutes);
      if (free === s && excluded) {
        free = required(this.ledger, 'ledger of exclusions').clearFrom(i, s, f);
        if (free !== s) {
          if (trace) trace(i, 'excluded', -1, s, free);
          this.bindKind[i] = BOUND_BY_RELEASE;
          this.bindBy[i] = -1;
        }
      }
      if (free === s) {
        if (asOthers && s > from && minutes > 0) {
          const byResource = this.bindKind[i] === BOUND_BY_RESOURCE;
          infeasible.note(i, minutes, from, s, this.bindBy[i]!, byResource ? this.bindUntil[i]! : -1);
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
    const { linkFrom, linkTask, now } = this.compiled;
    const { linkWait } = this;
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
    if (this.delay[i]! > s) {
      if (this.trace) this.trace(i, 'delayed', -1, s, this.delay[i]!);
      this.bindKind[i] = BOUND_BY_DELAY;
      s = this.delay[i]!;
    }
    return s;
  }

  /** The first start from `s` on that lies in no forbidden interval. */
  private afterForbidden(i: number, s: number): number {
    const { linkFrom, linkTask, forbiddenFrom, isSoft } = this.compiled;
    const { forbiddenStart, forbiddenEnd } = this;
    for (let l = linkFrom[i]!; l < linkFrom[i + 1]!; l++) {
      // A wait that is only kept short where possible: given up, or its beginning is past.
      if (isSoft[l] === 1 && (this.wanted === null || this.wanted[l] === 0 || this.compiled.isFixed[linkTask[l]!]))
        continue;
      const since = s - this.finish[linkTask[l]!]!;
      for (let g = forbiddenFrom[l]!; g < forbiddenFrom[l + 1]!; g++) {
        if (since <= forbiddenStart[g]! || since >= forbiddenEnd[g]!) continue;
        if (
          this.wanted !== null &&
          this.wanted[l] === 1 &&
          g === forbiddenFrom[l] &&
          !this.compiled.isFixed[linkTask[l]!]
        ) {
          this.missedLink = l;
          this.missedStart = s;
          return -1;
        }
        const until = s - since + forbiddenEnd[g]!;
        if (this.trace) this.trace(i, 'forbidden-interval', l, s, until);
        this.bindKind[i] = BOUND_BY_LINK;
        this.bindBy[i] = l;
        return until;
      }
    }
    return s;
  }

  /**
   * `s` if every resource has room over `[s, f)`; else the minute from which the first one lacking has room for the
   * task, or `NEVER`.
   */
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

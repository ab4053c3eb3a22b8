import { type Compiled, type Conditions } from '../problem/compile.js';
import { Placer } from './placer.js';
import { RecoatChains } from './recoat-chains.js';

/** Most times that one schedule delays a predecessor; after that, followers wait for the forbidden interval's end. */
const MAX_DELAYS = 300;

/**
 * Builds schedules from priority lists: serial and parallel schedule generation (Kolisch 1996, EJOR 90:320–333), extended
 * by calendars, waits, forbidden intervals and windows. One instance keeps its working arrays between calls.
 *
 * Lists hold the compiled indices of the free tasks, predecessors first. Results stand in `start` and `finish`, which the
 * next call overwrites; a task that does not fit before the horizon, and all that follow it, get `NEVER`.
 */
export class ScheduleGenerator extends Placer {
  private readonly recoatChains: RecoatChains;
  private readonly firstWindow: Uint8Array;
  /** Finish of tasks that have been delayed, before they were. */
  private readonly undelayed: Int32Array;

  constructor(compiled: Compiled) {
    super(compiled);
    this.recoatChains = new RecoatChains(compiled);
    this.firstWindow = new Uint8Array(compiled.linkTask.length);
    this.undelayed = new Int32Array(compiled.count);
  }

  /**
   * Serial generation: each task in turn at its earliest place.
   * @param firstWindow per link, 1 where the follower should start before the first forbidden interval. It then comes right
   *   behind its predecessor (see `RecoatChains`); when it misses the interval all the same, what was placed since the
   *   predecessor is removed again and the predecessor delayed just enough.
   * @returns the order in which the tasks were placed, which gives the same schedule again; the next call overwrites it.
   */
  serial(
    list: Int32Array,
    conditions: Conditions = this.compiled.conditions,
    firstWindow: Uint8Array | null = null,
  ): Int32Array {
    this.begin(conditions);
    let order = list;
    const { softLinks } = this.compiled;
    if (firstWindow !== null || softLinks.length > 0) {
      if (firstWindow) this.firstWindow.set(firstWindow);
      else this.firstWindow.fill(0);
      for (let k = 0; k < softLinks.length; k++) this.firstWindow[softLinks[k]!] = 1;
      order = this.recoatChains.form(list, this.firstWindow);
      this.wanted = this.firstWindow;
    }
    for (let k = 0, delays = 0; k < order.length; k++) {
      const start = this.find(order[k]!, conditions);
      if (this.missedLink < 0) {
        this.book(order[k]!, start, conditions);
        continue;
      }
      k = this.backtrack(order, k, conditions) - 1;
      if (++delays === MAX_DELAYS) this.wanted = null;
    }
    return order;
  }

  /** Parallel generation: always the task that can start first, the list deciding between equals. */
  parallel(list: Int32Array, conditions: Conditions = this.compiled.conditions): void {
    const { successors, linkFrom, linkTask, isFixed, count } = this.compiled;
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
      const start = this.find(i, conditions);
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

  /**
   * After task number `k` of the order missed its first window: removes what was placed since its predecessor and delays
   * that one back just enough. Once the follower would start no sooner than on the far side of its predecessor unheld,
   * a delay wins nothing: the link is given up and the whole chain begins anew, undelayed.
   * @returns the place in the order to go on from.
   */
  private backtrack(order: Int32Array, k: number, conditions: Conditions): number {
    const { delay, finish, undelayed, missedLink, missedStart } = this;
    const { linkTask, forbiddenFrom } = this.compiled;
    const { forbiddenEnd } = this;
    const predecessor = linkTask[missedLink]!;
    this.missedLink = -1;
    if (delay[predecessor] === 0) undelayed[predecessor] = finish[predecessor]!;
    if (missedStart < undelayed[predecessor]! + forbiddenEnd[forbiddenFrom[missedLink + 1]! - 1]!) {
      do this.remove(order[--k]!);
      while (order[k] !== predecessor);
      this.delayPredecessor(missedLink, missedStart, conditions);
      return k;
    }
    this.firstWindow[missedLink] = 0;
    const head = this.recoatChains.head[predecessor]!;
    do {
      this.remove(order[--k]!);
      delay[order[k]!] = 0;
    } while (order[k] !== head);
    return k;
  }

  /** Delays the predecessor on `link` so that a start at `start` falls at the end of the first window. */
  private delayPredecessor(link: number, start: number, conditions: Conditions): void {
    const { linkTask, forbiddenFrom, pausable } = this.compiled;
    const { forbiddenStart } = this;
    const p = linkTask[link]!;
    const finish = start - forbiddenStart[forbiddenFrom[link]!]!;
    const calendar = pausable[p] ? conditions.working[p] : null;
    const minutes = conditions.duration[p]!;
    let earliest = finish - minutes;
    if (calendar && minutes > 0) {
      const open = Math.max(0, calendar.openBefore(finish) - minutes);
      earliest = calendar.minuteOf(open);
      if (calendar.finish(earliest, minutes) < finish) earliest = calendar.minuteOf(open + 1);
    }
    this.delay[p] = Math.max(earliest, this.start[p]! + 1);
  }
}

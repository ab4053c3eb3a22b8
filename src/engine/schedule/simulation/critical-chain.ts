import { BOUND_BY_DELAY, BOUND_BY_LINK, BOUND_BY_RELEASE, BOUND_BY_RESOURCE } from '../generation/binding.js';
import type { ScheduleGenerator } from '../generation/schedule-generator.js';
import { NEVER } from '../problem/compile.js';
import type { Objective } from '../problem/objective.js';

/**
 * Counts, over many schedules, which tasks decided when each job was finished: from the job's last task back to what that
 * one waited for (a predecessor, or whoever held the resource), and so on to a release or the present.
 */
export class ChainCounter {
  /** Per job, how often each task lay on its chain; also tasks of other jobs that were in the way. */
  readonly onChain: Uint32Array[];
  /** Four per task: how often each `BOUND_BY_…` decided its start. */
  readonly boundBy: Uint32Array;
  /** Per resource, how many starts it decided. */
  readonly resourceBound: Float64Array;
  /** Per resource, sum over schedules of the share of its open capacity that was used until the last task ended. */
  readonly load: Float64Array;
  private readonly used: Float64Array;
  private readonly ends: Ends;
  /** The same two of what is finished in every schedule. */
  private readonly usedAlready: Float64Array;
  private readonly endsAlready: Ends;
  /** Tasks that are not. */
  private readonly open: Int32Array;
  private readonly last: Int32Array;

  constructor(
    private generator: ScheduleGenerator,
    private readonly objective: Objective,
  ) {
    const { compiled } = generator;
    const jobs = objective.jobIds.length;
    this.onChain = Array.from({ length: jobs }, () => new Uint32Array(compiled.count));
    this.boundBy = new Uint32Array(4 * compiled.count);
    this.resourceBound = new Float64Array(compiled.resourceIds.length);
    this.load = new Float64Array(compiled.resourceIds.length);
    this.used = new Float64Array(compiled.resourceIds.length);
    this.ends = new Ends(compiled.demandResource.length);
    this.last = new Int32Array(jobs);
    const finished = (i: number): boolean => compiled.tasks[i]!.fixed?.finishMinutes !== undefined;
    this.open = Int32Array.from(compiled.tasks.keys()).filter((i) => !finished(i));
    this.usedAlready = new Float64Array(compiled.resourceIds.length);
    this.endsAlready = new Ends(compiled.demandResource.length);
    for (let i = 0; i < compiled.count; i++) if (finished(i)) this.note(i, this.endsAlready, this.usedAlready);
  }

  /** Counts the generator's present schedule. @param generator of the same tasks, perhaps on other calendars from now on */
  count(generator: ScheduleGenerator = this.generator): void {
    this.generator = generator;
    this.countPresent();
  }

  private countPresent(): void {
    const { generator, objective, last, onChain, boundBy } = this;
    const { compiled, finish, bindKind, bindBy } = generator;
    last.fill(-1);
    let makespan = 0;
    for (let i = 0; i < compiled.count; i++) {
      if (finish[i]! >= NEVER) continue;
      makespan = Math.max(makespan, finish[i]!);
      const j = objective.jobOf[i]!;
      if (j >= 0 && (last[j] === -1 || finish[i]! > finish[last[j]!]!)) last[j] = i;
      if (compiled.isFixed[i]) continue;
      const bound = 4 * i + bindKind[i]!;
      boundBy[bound] = boundBy[bound]! + 1;
      if (bindKind[i] === BOUND_BY_RESOURCE) this.resourceBound[bindBy[i]!] = this.resourceBound[bindBy[i]!]! + 1;
    }
    this.noteEnds(makespan);
    for (let j = 0; j < last.length; j++) {
      const counts = onChain[j]!;
      for (let i = last[j]!; i >= 0;) {
        counts[i] = counts[i]! + 1;
        if (compiled.isFixed[i]) break;
        if (bindKind[i] === BOUND_BY_LINK) i = compiled.linkTask[bindBy[i]!]!;
        else if (bindKind[i] === BOUND_BY_RESOURCE) i = this.holder(i, bindBy[i]!);
        else break;
      }
    }
  }

  /** Open minutes of resource `r` from now until then, times its units, less those that are missing meanwhile. */
  private openUntil(r: number, then: number): number {
    const { resourceCalendar, capacity, now, reductions } = this.generator.compiled;
    const calendar = resourceCalendar[r];
    const open = (from: number, until: number): number =>
      until <= from ? 0 : calendar ? calendar.openBefore(until) - calendar.openBefore(from) : until - from;
    let minutes = open(now, then) * capacity[r]!;
    for (const { resource, start, finish, amount } of reductions)
      if (resource === r) minutes -= amount * open(Math.max(now, start), Math.min(then, finish));
    return minutes;
  }

  /** Adds up the use of each resource and notes which task ends when on it, in the resource's own open minutes. */
  private noteEnds(makespan: number): void {
    const { used, open } = this;
    this.ends.clear();
    used.set(this.usedAlready);
    for (let k = 0; k < open.length; k++) this.note(open[k]!, this.ends, used);
    for (let r = 0; r < used.length; r++) {
      const minutes = this.openUntil(r, makespan);
      if (minutes > 0) this.load[r] = this.load[r]! + used[r]! / minutes;
    }
  }

  private note(i: number, ends: Ends, used: Float64Array): void {
    const { compiled, start, finish } = this.generator;
    const { resourceCalendar, now, demandFrom, demandResource, demandAmount } = compiled;
    if (finish[i]! >= NEVER) return;
    const from = start[i]! < now ? now : start[i]!;
    for (let k = demandFrom[i]!; k < demandFrom[i + 1]!; k++) {
      const r = demandResource[k]!;
      const calendar = resourceCalendar[r];
      const end = calendar ? calendar.openBefore(finish[i]!) : finish[i]!;
      ends.set(r, end, i);
      if (finish[i]! > now)
        used[r] = used[r]! + (end - (calendar ? calendar.openBefore(from) : from)) * demandAmount[k]!;
    }
  }

  /** The task whose end let `i` have resource `r`; -1 if there is none. */
  private holder(i: number, r: number): number {
    const { compiled, bindUntil } = this.generator;
    const calendar = compiled.resourceCalendar[r];
    const until = calendar ? calendar.openBefore(bindUntil[i]!) : bindUntil[i]!;
    return Math.max(this.ends.get(r, until), this.endsAlready.get(r, until));
  }
}

/** Which task ends at a minute on a resource: a hash table that is cheap to clear. */
class Ends {
  private readonly mask: number;
  private readonly minutes: Int32Array;
  private readonly resources: Int32Array;
  private readonly tasks: Int32Array;
  private readonly stamps: Int32Array;
  private stamp = 1;

  constructor(entries: number) {
    const size = 2 ** Math.ceil(Math.log2(Math.max(16, 3 * entries)));
    this.mask = size - 1;
    this.minutes = new Int32Array(size);
    this.resources = new Int32Array(size);
    this.tasks = new Int32Array(size);
    this.stamps = new Int32Array(size);
  }

  clear(): void {
    this.stamp++;
  }

  set(resource: number, minute: number, task: number): void {
    const at = this.slot(resource, minute);
    this.stamps[at] = this.stamp;
    this.minutes[at] = minute;
    this.resources[at] = resource;
    this.tasks[at] = task;
  }

  get(resource: number, minute: number): number {
    const at = this.slot(resource, minute);
    return this.stamps[at] === this.stamp ? this.tasks[at]! : -1;
  }

  private slot(resource: number, minute: number): number {
    let at = ((Math.imul(minute, 0x9e3779b1) ^ Math.imul(resource + 1, 0x85ebca6b)) >>> 7) & this.mask;
    while (this.stamps[at] === this.stamp && (this.minutes[at] !== minute || this.resources[at] !== resource))
      at = (at + 1) & this.mask;
    return at;
  }
}

export const BOUND_NAMES = {
  release: BOUND_BY_RELEASE,
  predecessor: BOUND_BY_LINK,
  resource: BOUND_BY_RESOURCE,
  delayed: BOUND_BY_DELAY,
} as const;

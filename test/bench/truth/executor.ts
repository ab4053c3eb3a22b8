/**
 * Plays one future of a shop day by day, as people would who follow the plan's order and know nothing of what is to come:
 * not how long a task takes, not when a part arrives, not tomorrow's weather, nor who will be ill. Shares no code with the
 * scheduling of the service.
 */
import { type Future, FUTURE_DAYS, weekdayOf } from './luck.js';
import { PaintTruth, SHEET } from './paint-truth.js';
import { DAY, NOW_MINUTE, type SimShop, type SimTask } from './shop.js';
import type { World } from './world.js';

/** What the people in the shop have of the plan. */
export interface Instructions {
  /** Tasks in the order in which to take them up. */
  order: string[];
  /** Coats that are to follow their predecessor within its first window: `follower < predecessor`. */
  near: Set<string>;
  /** What the plan says a task takes. */
  plannedMinutes: Map<string, number>;
}

/** Cautions of work that makes sparks, flame or dust. */
const HOT = ['wireWheel', 'hotWork'];
/** How long a coat gives off vapour. */
const VAPOUR_MINUTES = 60;

export const nearKey = (taskId: string, predecessorId: string): string => `${taskId} < ${predecessorId}`;

interface Running {
  task: SimTask;
  left: number;
  /** Minute it ends if nobody goes home before; null while nobody is at it. */
  ends: number | null;
  people: number[];
}

export class Executor {
  readonly finished = new Map<string, number>();
  readonly startedAt = new Map<string, number>();
  private readonly tasks = new Map<string, SimTask>();
  private readonly running = new Map<string, Running>();
  private readonly waitsForPart = new Map<string, number>();
  private readonly paint: PaintTruth;
  private readonly rackFree: number[];
  private readonly inUse = { bench: 0, sprayArea: 0, cureRack: 0 };
  private list: SimTask[] = [];
  private near = new Set<string>();
  private planned = new Map<string, number>();
  /** People kept free for the next coat of a train. */
  private kept: { taskId: string; person: number; until: number }[] = [];
  private day = 0;

  constructor(
    private readonly shop: SimShop,
    private readonly world: World,
    private readonly future: Future,
  ) {
    for (const task of shop.tasks) this.tasks.set(task.id, task);
    this.paint = new PaintTruth(future.celsius, world);
    this.rackFree = Array.from({ length: shop.capacity.cureRack }, () => 0);
  }

  /** Gives the people a plan, at the beginning or anew. */
  instruct({ order, near, plannedMinutes }: Instructions): void {
    this.near = near;
    this.planned = plannedMinutes;
    const place = new Map(order.map((id, k) => [id, k]));
    const rank = (task: SimTask): number =>
      place.get(task.id) ??
      // Found work that the plan did not know of is done before the job's assembly.
      Math.min(
        ...[...this.tasks.values()]
          .filter((one) => one.jobId === task.jobId)
          .map((one) => place.get(one.id) ?? Infinity),
      ) + 0.5;
    this.list = [...this.tasks.values()]
      .filter((task) => !this.finished.has(task.id))
      .map((task) => ({ task, rank: rank(task) }))
      .sort((a, b) => a.rank - b.rank)
      .map(({ task }) => task);
  }

  get today(): number {
    return this.day;
  }

  get isDone(): boolean {
    return this.finished.size === this.tasks.size;
  }

  /** All tasks by now: with the work that has turned up so far, which the job's assembly waits for. */
  get allTasks(): SimTask[] {
    return [...this.tasks.values()];
  }

  minutesWorked(taskId: string): number {
    const running = this.running.get(taskId);
    return running ? this.minutesOf(running.task) - running.left : 0;
  }

  partOfFound(taskId: string): number | undefined {
    return this.waitsForPart.get(taskId);
  }

  /** Goes on to the morning of a day, or until all is done. */
  playUntil(day: number): void {
    for (; this.day < Math.min(day, FUTURE_DAYS) && !this.isDone; this.day += 1) this.playDay();
  }

  /** The minute each job was finished; null for one that was not in the days played. */
  finishes(): Map<string, number | null> {
    return new Map(
      this.shop.machines.map(({ jobId }) => {
        const own = [...this.tasks.values()].filter((task) => task.jobId === jobId);
        return [
          jobId,
          own.every((task) => this.finished.has(task.id))
            ? Math.max(...own.map((task) => this.finished.get(task.id)!))
            : null,
        ];
      }),
    );
  }

  private playDay(): void {
    const { shop, future, day } = this;
    const weekday = weekdayOf(shop.today, day);
    const people = shop.people
      .map((person, k) => ({ ...person, k }))
      .filter((person) => person.weekdays.includes(weekday) && future.ill[person.k]![day] === 0);
    const opens = day * DAY + (day === 0 ? NOW_MINUTE : 9 * 60);
    const closes = day * DAY + 17 * 60;
    const free = new Set(people.map((person) => person.k));
    this.kept = [];
    // Yesterday's work goes on first.
    for (const run of this.running.values()) this.resume(run, free, opens);
    for (let now = opens; now < closes;) {
      this.finishUpTo(now, free);
      for (const run of this.running.values()) if (run.ends === null) this.resume(run, free, now);
      const next = this.dispatch(now, closes, free);
      const ends = [...this.running.values()].flatMap((run) => (run.ends === null ? [] : [run.ends]));
      // A coat's vapour may be all that something waits for.
      const aired = this.shop.tasks.flatMap((task) => {
        const at = task.isCoat ? (this.finished.get(task.id) ?? -Infinity) + VAPOUR_MINUTES : -Infinity;
        return at > now ? [at] : [];
      });
      now = Math.min(
        closes,
        next,
        ...aired,
        ...ends.filter((end) => end > now),
        ...this.kept.map((one) => (one.until > now ? one.until : Infinity)),
      );
    }
    this.finishUpTo(closes, free);
    for (const run of this.running.values()) {
      if (run.ends === null) continue;
      run.left = run.ends - closes;
      run.ends = null;
      run.people = [];
    }
  }

  private resume(run: Running, free: Set<number>, now: number): void {
    if (free.size < run.task.people || this.clashes(run.task, now)) return;
    run.people = [...free].slice(0, run.task.people);
    for (const person of run.people) free.delete(person);
    run.ends = now + run.left;
  }

  private finishUpTo(now: number, free: Set<number>): void {
    const over = [...this.running.values()].filter((run) => run.ends !== null && run.ends <= now);
    for (const run of over.sort((a, b) => a.ends! - b.ends!)) {
      const { task } = run;
      this.running.delete(task.id);
      if (task.place) this.inUse[task.place] -= 1;
      this.done(task, run.ends!);
      const follower = this.followerOf(task);
      const [person] = run.people;
      // Whoever sprayed waits for the next coat; everybody else is free.
      if (follower && person !== undefined) {
        const from = this.earliest(follower, run.ends!);
        if (from <= run.ends! + 60) this.kept.push({ taskId: follower.id, person, until: from });
        else free.add(person);
      }
      for (const one of run.people.slice(follower ? 1 : 0)) free.add(one);
    }
  }

  private done(task: SimTask, at: number): void {
    this.finished.set(task.id, at);
    this.list = this.list.filter((one) => one !== task);
    const found = this.future.found.get(task.id);
    if (task.kind === 'strip' && found) this.turnUp(task, found.minutes, found.partDays, at);
    for (const cure of this.list.filter((one) => one.people === 0 && one.after.some((link) => link.id === task.id)))
      this.hangUp(cure);
  }

  /** Found work is done on the bench before the job is assembled. */
  private turnUp(strip: SimTask, minutes: number, partDays: number | null, at: number): void {
    const id = `${strip.id}/found`;
    const task: SimTask = {
      ...strip,
      id,
      code: `${strip.code}/found`,
      kind: 'repair',
      name: 'Found when stripping',
      likely: minutes,
      after: [{ id: strip.id, waitMinutes: 0, forbidden: [] }],
      lines: [],
    };
    this.tasks.set(id, task);
    this.future.minutes.set(id, minutes);
    if (partDays !== null) this.waitsForPart.set(id, (Math.floor(at / DAY) + partDays) * DAY);
    for (const [key, one] of this.tasks)
      if (one.jobId === strip.jobId && one.kind === 'assemble')
        this.tasks.set(key, { ...one, after: [...one.after, { id, waitMinutes: 0, forbidden: [] }] });
    const before = this.list.findIndex((one) => one.jobId === strip.jobId);
    this.list = this.list.map((one) => this.tasks.get(one.id)!);
    this.list.splice(Math.max(0, before), 0, task);
  }

  /** A cure needs a place on the rack and nobody. */
  private hangUp(cure: SimTask): void {
    if (!cure.after.every((link) => this.finished.has(link.id))) return;
    const ready = Math.max(...cure.after.map((link) => this.finished.get(link.id)! + link.waitMinutes));
    const slot = this.rackFree.indexOf(Math.min(...this.rackFree));
    const starts = Math.max(ready, this.rackFree[slot]!);
    const plain = starts + cure.cureMinutes;
    const coat = Math.max(...cure.after.map((link) => this.finished.get(link.id)!));
    const ends = this.world.cureClock
      ? Math.max(plain, Math.ceil(this.paint.dried(coat, SHEET.assembleMinutes)))
      : plain;
    this.rackFree[slot] = ends;
    if (ends === Infinity) return;
    this.done(cure, ends);
  }

  /** Starts what can be started now, in the plan's order. @returns when to look again today */
  private dispatch(now: number, closes: number, free: Set<number>): number {
    let again = Infinity;
    for (const one of this.kept.filter((entry) => entry.until <= now)) {
      this.kept.splice(this.kept.indexOf(one), 1);
      free.add(one.person);
      const task = this.tasks.get(one.taskId)!;
      if (this.mayStart(task, now, closes)) this.start(task, now, free);
    }
    /** Times today at which something higher up in the plan can begin: somebody is kept free for it. */
    const awaited: number[] = [];
    for (const task of [...this.list]) {
      if (free.size === 0) break;
      if (task.people === 0 || this.running.has(task.id) || this.kept.some((one) => one.taskId === task.id)) continue;
      const from = this.earliest(task, now);
      if (from >= closes) continue;
      if (from > now) {
        again = Math.min(again, from);
        if (this.mayStart(task, from, closes)) awaited.push(from);
        continue;
      }
      const until = now + Math.min(this.plannedOf(task), closes - now);
      const wanted = awaited.filter((at) => at < until).length;
      if (free.size - wanted < task.people || !this.mayStart(task, now, closes)) continue;
      this.start(task, now, free);
    }
    return again;
  }

  private start(task: SimTask, now: number, free: Set<number>): void {
    const people = [...free].slice(0, task.people);
    for (const person of people) free.delete(person);
    if (task.place) this.inUse[task.place] += 1;
    this.startedAt.set(task.id, now);
    const left = this.minutesOf(task);
    this.running.set(task.id, { task, left, ends: now + left, people });
  }

  /** Room for it, and time enough by planned minutes: before closing, and for coats in today's paint weather. */
  private mayStart(task: SimTask, at: number, closes: number): boolean {
    if (task.place && this.inUse[task.place] >= this.shop.capacity[task.place]) return false;
    if (this.clashes(task, at)) return false;
    if (task.isCoat) {
      const ends = at + this.trainMinutes(task);
      const minute = at - this.day * DAY;
      return (
        ends <= closes && this.future.paint[this.day]!.some((one) => one.from <= minute && minute + ends - at <= one.to)
      );
    }
    return task.pausable || at + this.plannedOf(task) <= closes;
  }

  /** Nobody makes sparks or dust beside wet paint and its vapour, nor sprays beside sparks: the shop is one room. */
  private clashes(task: SimTask, at: number): boolean {
    const isHot = (one: SimTask): boolean =>
      one.place === 'bench' && one.cautions.some((caution) => HOT.includes(caution));
    if (!task.isCoat && !isHot(task)) return false;
    for (const run of this.running.values())
      if (run.task !== task && run.ends !== null && (task.isCoat ? isHot(run.task) : run.task.isCoat)) return true;
    if (task.isCoat) return false;
    return this.shop.tasks.some((one) => one.isCoat && at - (this.finished.get(one.id) ?? -Infinity) < VAPOUR_MINUTES);
  }

  private trainMinutes(task: SimTask): number {
    const follower = this.followerOf(task);
    const wait = follower?.after.find((link) => link.id === task.id)?.waitMinutes ?? 0;
    return this.plannedOf(task) + (follower ? wait + this.trainMinutes(follower) : 0);
  }

  private followerOf(task: SimTask): SimTask | undefined {
    return this.list.find((one) => one.isCoat && one.jobId === task.jobId && this.near.has(nearKey(one.id, task.id)));
  }

  private plannedOf(task: SimTask): number {
    return Math.max(1, this.planned.get(task.id) ?? task.likely);
  }

  private minutesOf(task: SimTask): number {
    return this.future.minutes.get(task.id) ?? task.likely;
  }

  /** The earliest minute from `now` on that people can tell of; Infinity while they cannot. */
  private earliest(task: SimTask, now: number): number {
    let from = now;
    for (const link of task.after) {
      const finish = this.finished.get(link.id);
      if (finish === undefined) return Infinity;
      from = Math.max(from, finish + link.waitMinutes);
    }
    if (task.lines.some((line) => this.future.arrivals[line]! > now)) return Infinity;
    if ((this.waitsForPart.get(task.id) ?? 0) > now) return Infinity;
    for (let moved = true; moved;) {
      moved = false;
      for (const link of task.after) {
        const next = this.afterRecoat(link, this.finished.get(link.id)!, from, task.isCoat);
        if (next !== from) {
          from = next;
          moved = from < Infinity;
        }
      }
    }
    if (task.isCoat && from < Infinity) {
      const minute = from - this.day * DAY;
      const window = this.future.paint[this.day]!.find((one) => one.to > minute);
      return window ? Math.max(from, this.day * DAY + window.from) : Infinity;
    }
    return from;
  }

  private afterRecoat(link: SimTask['after'][number], finish: number, from: number, isCoat: boolean): number {
    for (const gap of link.forbidden) if (from - finish > gap.from && from - finish < gap.to) return finish + gap.to;
    if (!this.world.recoatByAge || !isCoat || link.forbidden.length === 0) return from;
    for (const window of SHEET.recoat) {
      const opens = Math.ceil(this.paint.dried(finish, window.from));
      if (this.paint.closed(finish, window.to) < Math.max(from, opens)) continue;
      return Math.max(from, opens);
    }
    return Infinity;
  }
}

/** Plays a future to its end under one plan. */
export function execute(
  shop: SimShop,
  world: World,
  future: Future,
  instructions: Instructions,
): Map<string, number | null> {
  const executor = new Executor(shop, world, future);
  executor.instruct(instructions);
  executor.playUntil(FUTURE_DAYS);
  return executor.finishes();
}

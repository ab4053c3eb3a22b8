/** Small shops whose capacity can be counted out: one person, a few jobs, one more machine after another. */
import { at } from '../../src/engine/look-up.js';
import { Random } from '../../src/engine/statistics/random.js';
import type { PlanRecords, PlanTask } from '../../src/plan/inputs/records.js';
import { after, planJob, planRecords, planTask } from '../../src/plan/model/plan-fixtures.js';
import type { RouteStep } from '../../src/plan/simulation/capacity.js';

/** A Monday, nine in the morning in Toronto. */
const START = '2026-09-14';
const NOW = new Date('2026-09-14T13:00:00Z');
const DAY_MINUTES = 480;

export interface SmallTask {
  minutes: number;
  /** Elapsed minutes after the task before it. */
  wait: number;
}
export interface SmallShop {
  records: PlanRecords;
  route: RouteStep[];
  by: string;
  /** The open jobs as the enumeration takes them. */
  open: { tasks: SmallTask[]; dueDay: number | null }[];
  more: SmallTask[];
  /** Days after the start, both for `by`. */
  byDay: number;
}

export const routeOf = (tasks: readonly SmallTask[]): RouteStep[] =>
  tasks.map(({ minutes, wait }, k) => ({
    code: `t${k}`,
    name: `Task ${k}`,
    kind: 'other',
    handsOnMinutes: minutes,
    minMinutes: minutes,
    maxMinutes: minutes,
    people: 1,
    placeKind: null,
    pausable: true,
    needsPaintWeather: false,
    cureMinutes: 0,
    cautions: [],
    after: k === 0 ? [] : [{ code: `t${k - 1}`, minWaitMinutes: wait, forbiddenIntervals: [], reason: null }],
  }));

const dayAfter = (days: number): string => new Date(Date.parse(START) + days * 86_400_000).toISOString().slice(0, 10);

export function smallShop(
  open: SmallShop['open'],
  more: SmallTask[],
  byDay: number,
  priorities: readonly number[] = [],
): SmallShop {
  const jobs = open.map((job, k) =>
    planJob({
      id: `job${k}`,
      number: k + 1,
      priority: priorities[k] ?? 0,
      dueDate: job.dueDay === null ? null : dayAfter(job.dueDay),
    }),
  );
  const tasks = open.flatMap((job, k): PlanTask[] =>
    job.tasks.map((task, t) =>
      planTask({
        id: `job${k}/${t}`,
        jobId: `job${k}`,
        position: t,
        handsOnMinutes: task.minutes,
        links: t === 0 ? [] : [after(`job${k}/${t - 1}`, task.wait)],
      }),
    ),
  );
  return {
    records: planRecords({ now: NOW, today: START, jobs, tasks }),
    route: routeOf(more),
    by: dayAfter(byDay),
    open,
    more,
    byDay,
  };
}

/** One of many: up to two open jobs, a route of one or two tasks, a few days. */
export function generatedShop(seed: number): SmallShop {
  const random = new Random(seed);
  const pick = <T>(list: readonly T[]): T => at(list, random.below(list.length));
  const tasksOf = (most: number): SmallTask[] =>
    Array.from({ length: 1 + random.below(most) }, () => ({
      minutes: pick([120, 180, 240, 300, 420]),
      wait: pick([0, 60, 600, 1440]),
    }));
  const open = Array.from({ length: random.below(3) }, () => ({
    tasks: tasksOf(2),
    dueDay: pick([null, 0, 1, 2, 3]),
  }));
  return smallShop(open, tasksOf(2), pick([0, 1, 2, 3]), [pick([0, 5, -5]), pick([0, 5, -5])]);
}

/** From nine to five, Monday to Friday: when so much work is done that is begun at a moment or as soon as the shop is open. */
function workedUntil(fromMinute: number, minutes: number): number {
  let moment = fromMinute;
  let left = minutes;
  for (;;) {
    const day = Math.floor(moment / 1440);
    // Day 0 is a Monday.
    const isOff = day % 7 >= 5;
    const opens = day * 1440;
    const closes = opens + DAY_MINUTES;
    if (isOff || moment >= closes) {
      moment = (day + 1) * 1440;
      continue;
    }
    const today = Math.min(left, closes - moment);
    moment += today;
    left -= today;
    if (left === 0) return moment;
  }
}

/**
 * The most there can be in time of so many further machines while so many open ones are as well: every order of the work
 * is tried, each task as early as it can. Minutes count from nine on the first day. It shares no code with the service.
 * @returns -1 where so many open ones cannot be in time
 */
export function mostInTime({ open, more, byDay }: SmallShop, further: number, openInTime: number): number {
  const jobs = [
    ...open.map((job) => ({ tasks: job.tasks, due: job.dueDay, isOpen: true })),
    ...Array.from({ length: further }, () => ({ tasks: more, due: byDay as number | null, isOpen: false })),
  ];
  // Undated work is best left for the end: nothing is won by it.
  const dated = jobs.filter((job) => job.due !== null);
  const next = dated.map(() => 0);
  const ready = dated.map(() => 0);
  let best = -1;
  const seen = new Map<string, { moment: number; openDone: number; moreDone: number }>();
  const go = (moment: number, openDone: number, moreDone: number): void => {
    const left = dated.filter((job, k) => at(next, k) < job.tasks.length);
    if (openDone >= openInTime) best = Math.max(best, moreDone);
    // What is not done yet could still be in time at best.
    if (moreDone + left.filter((job) => !job.isOpen).length <= best) return;
    if (openDone + left.filter((job) => job.isOpen).length < openInTime) return;
    const key = dated
      .map((job, k) => `${job.isOpen ? k : ''}/${at(next, k)}/${Math.max(moment, at(ready, k))}`)
      .sort()
      .join();
    const known = seen.get(key);
    if (known && known.moment <= moment && known.openDone >= openDone && known.moreDone >= moreDone) return;
    seen.set(key, { moment, openDone, moreDone });
    const tried = new Set<string>();
    dated.forEach((job, k) => {
      const step = at(next, k);
      const task = job.tasks[step];
      if (!task) return;
      // Machines of one kind that stand alike are one choice.
      const alike = `${JSON.stringify(job)} ${step} ${at(ready, k)}`;
      if (tried.has(alike)) return;
      tried.add(alike);
      const finish = workedUntil(Math.max(moment, at(ready, k)), task.minutes);
      const before = at(ready, k);
      next[k] = step + 1;
      ready[k] = finish + (job.tasks[step + 1]?.wait ?? 0);
      const isDone = step + 1 === job.tasks.length;
      const isInTime = isDone && finish <= (job.due ?? 0) * 1440 + DAY_MINUTES + 420;
      go(finish, openDone + (isInTime && job.isOpen ? 1 : 0), moreDone + (isInTime && !job.isOpen ? 1 : 0));
      next[k] = step;
      ready[k] = before;
    });
  };
  go(0, 0, 0);
  return best;
}

/** How many more fit: the most that are in time with no fewer open ones in time than can be without them. */
export function countedOut(shop: SmallShop): number {
  const dated = shop.open.filter((job) => job.dueDay !== null).length;
  let openInTime = dated;
  while (openInTime > 0 && mostInTime(shop, 0, openInTime) < 0) openInTime -= 1;
  let count = 0;
  // One that does not fit beside so many does not fit beside more.
  for (let further = 1, misses = 0; misses < 2; further += 1) {
    const found = mostInTime(shop, further, openInTime);
    misses = found > count ? 0 : misses + 1;
    count = Math.max(count, found);
  }
  return count;
}

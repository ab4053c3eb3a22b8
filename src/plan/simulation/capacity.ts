/** How many more machines can still be ready, and what stands in the way. Pure. */
import { at } from '../../engine/look-up.js';
import {
  type Interval,
  type Order,
  type Resource,
  type Schedule,
  searchSchedule,
  simulate,
} from '../../engine/schedule/index.js';
import { addDays, daysBetween } from '../../platform/days.js';
import type { AwaitedPart, PlanJob, PlanRecords, PlanTask } from '../inputs/records.js';
import { LocalMinutes } from '../inputs/shop-calendar.js';
import { buildProblem } from '../model/problem.js';
import { type ScheduledRecords, scheduleRecords } from '../model/scheduled-records.js';
import { isCrew } from '../model/staff.js';
import { simulationOf } from '../model/uncertainty.js';

/** A task of a route, as far as the plan needs it. */
export interface RouteStep {
  code: string;
  name: string;
  kind: string;
  handsOnMinutes: number;
  minMinutes: number;
  maxMinutes: number;
  people: number;
  placeKind: PlanTask['placeKind'];
  pausable: boolean;
  needsPaintWeather: boolean;
  cureMinutes: number;
  cautions: string[];
  after: {
    code: string;
    minWaitMinutes: number;
    forbiddenIntervals: { fromMinutes: number; toMinutes: number }[];
    reason: string | null;
  }[];
}

/** More than this many at once is not a plan for one or two people. */
export const MOST_MORE = 30;
/** Once so many counts in turn are less likely than this, no greater one will be likelier. */
const UNLIKELY = 0.5;
const UNLIKELY_IN_TURN = 2;
/** Where the open machines lose less than half a machine in the mean, none of them is lost. */
const MOST_LOST = 0.5;

export interface Effort {
  /** Schedules searched for each further machine, from the order found for one less. */
  schedules: number;
  /** Futures by which a plan is judged; 0: by its own schedule, without luck. */
  scenarios: number;
  seed: number;
}

export interface FitQuestion {
  records: PlanRecords;
  /** The plan's order, to go on from. */
  order: Order | null;
  /** The route of each further machine in turn; the last one's again when they run out. */
  routes: readonly (readonly RouteStep[])[];
  /** Taken in by turns instead: the first route, the second, and again the first. */
  byTurns?: boolean;
  /** The local day by which they must be finished. */
  by: string;
  /** So many are added at once to begin with, where it is known that they fit; 1 when absent. */
  from?: number;
  effort: Effort;
}

export interface FitAnswer {
  /** The chance that one more, two more, … are in time. */
  probabilities: number[];
  /** Of the plan for each number of machines: when the last of them is scheduled to be finished. */
  finishDates: (string | null)[];
}

/**
 * How many more machines, taken in today, can be in time: planned among the open jobs as any intake would be, due on the
 * day, searched from the order found for one less, and judged by the same futures as the plan without them. A plan that
 * makes an open machine late for them does not count.
 */
export function machinesThatFit(question: FitQuestion): FitAnswer {
  const { by, effort, from = 1 } = question;
  const probabilities: number[] = [];
  const finishDates: (string | null)[] = [];
  const without = new Incumbent(question.records, question.order, effort);
  const open = mean(without.inTime().open);
  // What is late anyhow may be left to the end, beside keeping its place.
  const variants = [without, ...without.leavingLate()];
  for (let count = from, unlikely = 0; count <= MOST_MORE && unlikely < UNLIKELY_IN_TURN; count += 1) {
    for (const [k, plan] of variants.entries()) {
      plan.add((records) => {
        let grown = records;
        for (let number = count === from ? 1 : count; number <= count; number += 1)
          grown = withAnother(grown, routeOf(question, number), number, by);
        return grown;
      });
      const inTime = plan.inTime();
      const more = mean(inTime.open) > open - MOST_LOST ? inTime.more : inTime.more.map(() => 0);
      // A plan for many can be one for fewer: who cannot be in time is not taken in.
      for (let fewer = 1; fewer <= count; fewer += 1) {
        const share = more.filter((one) => one >= fewer).length / more.length;
        probabilities[fewer - 1] = Math.max(probabilities[fewer - 1] ?? 0, share);
      }
      if (k === 0) finishDates.push(plan.finishOf(jobIdOf(count)));
    }
    unlikely = at(probabilities, count - 1) < UNLIKELY ? unlikely + 1 : 0;
  }
  return { probabilities, finishDates };
}

/** The greatest number that is in time with at least such a chance. */
export function countAt({ probabilities }: Pick<FitAnswer, 'probabilities'>, level: number): number {
  return probabilities.filter((one) => one >= level - 1e-9).length;
}

/**
 * The last day on which each further machine can be taken in, those before it having come today, so that all of them are in
 * time with a chance. Looked for week by week.
 * @returns for each of the levels the dates in turn, as many as can be taken in at all
 */
export function lastIntakeDates(question: FitQuestion, levels: readonly number[]): string[][] {
  const { records, by, effort } = question;
  const dates: string[][] = levels.map(() => []);
  const latest = levels.map(() => Math.max(0, Math.floor(daysBetween(records.today, by) / 7)));
  const plan = new Incumbent(records, question.order, effort);
  const open = mean(plan.inTime().open);
  for (let count = 1; count <= MOST_MORE; count += 1) {
    const asked = new Map<number, number>();
    /** The chance of so many, the last of them taken in after so many weeks. */
    const chanceAfter = (weeks: number): number => {
      const known = asked.get(weeks);
      if (known !== undefined) return known;
      const trial = plan.copy();
      trial.add((before) => withAnother(before, routeOf(question, count), count, by, 7 * weeks));
      const inTime = trial.inTime();
      const good = inTime.more.filter((more) => more >= count).length;
      const chance = mean(inTime.open) > open - MOST_LOST ? good / inTime.more.length : 0;
      asked.set(weeks, chance);
      return chance;
    };
    const now = chanceAfter(0);
    if (levels.every((level) => now < level)) break;
    for (const [k, level] of levels.entries()) {
      if (now < level) continue;
      // Later machines can wait no longer than earlier ones.
      let weeks = at(latest, k);
      while (weeks > 0 && chanceAfter(weeks) < level) weeks -= 1;
      latest[k] = weeks;
      at(dates, k).push(addDays(records.today, 7 * weeks));
    }
    plan.add((before) => withAnother(before, routeOf(question, count), count, by));
  }
  return dates;
}

/** A plan that grows machine by machine, each searched for from the order before. */
class Incumbent {
  private schedule: Schedule;

  constructor(
    private records: PlanRecords,
    order: Order | null,
    private readonly effort: Effort,
    schedule?: Schedule,
  ) {
    this.schedule = schedule ?? this.searched(order);
  }

  private searched(order: Order | null): Schedule {
    const { seed, schedules } = this.effort;
    const { problem } = buildProblem(this.records);
    return searchSchedule(problem, { seed, schedules, partial: true, ...(order ? { order } : {}) }).schedule;
  }

  add(grow: (records: PlanRecords) => PlanRecords): void {
    this.records = grow(this.records);
    this.schedule = this.searched(this.schedule.order);
  }

  copy(): Incumbent {
    return new Incumbent(this.records, null, this.effort, this.schedule);
  }

  /** The same with what is late in it due on no day; none where nothing is. */
  leavingLate(): Incumbent[] {
    const isLate = this.lateness();
    const late = new Set(this.schedule.jobs.flatMap((job) => (isLate(job.id, job.finishMinutes) ? [job.id] : [])));
    if (late.size === 0) return [];
    const jobs = this.records.jobs.map((job) => (late.has(job.id) ? { ...job, dueDate: null, forSnow: false } : job));
    return [new Incumbent({ ...this.records, jobs }, this.schedule.order, this.effort)];
  }

  finishOf(jobId: string): string | null {
    const finish = this.schedule.jobs.find((job) => job.id === jobId)?.finishMinutes ?? null;
    return finish === null ? null : LocalMinutes.of(this.records.today, this.records.timeZone).dayOf(finish);
  }

  /** How many of the open machines, and of the further ones, are in time in each future. */
  inTime(): { open: number[]; more: number[] } {
    const { scenarios, seed } = this.effort;
    const isLate = this.lateness();
    const finishes: { id: string; in: ArrayLike<number | null> }[] =
      scenarios === 0
        ? this.schedule.jobs.map((job) => ({ id: job.id, in: [job.finishMinutes] }))
        : simulate(simulationOf(this.records, this.schedule.order, { scenarios, seed }).input).jobs.map((job) => ({
            id: job.id,
            in: job.finishMinutes,
          }));
    const counts = { open: zeros(Math.max(1, scenarios)), more: zeros(Math.max(1, scenarios)) };
    for (const job of finishes) {
      const its = job.id.startsWith(FURTHER) ? counts.more : counts.open;
      for (let future = 0; future < its.length; future += 1)
        if (isLate(job.id, job.in[future] ?? null) === false) its[future] = at(its, future) + 1;
    }
    return counts;
  }

  /** Null for what is due on no day. */
  private lateness(): (jobId: string, finish: number | null) => boolean | null {
    const local = LocalMinutes.of(this.records.today, this.records.timeZone);
    const latest = new Map(
      this.records.jobs.flatMap((job) => (job.dueDate ? [[job.id, local.endOfDay(job.dueDate)] as const] : [])),
    );
    return (jobId, finish) => {
      const last = latest.get(jobId);
      return last === undefined ? null : finish === null || finish > last;
    };
  }
}

const mean = (list: readonly number[]): number => list.reduce((sum, one) => sum + one, 0) / list.length;
const zeros = (count: number): number[] => Array.from({ length: count }, () => 0);

function routeOf({ routes, byTurns }: FitQuestion, count: number): readonly RouteStep[] {
  return at(routes, byTurns ? (count - 1) % routes.length : Math.min(count, routes.length) - 1);
}

export interface AnotherQuestion {
  records: PlanRecords;
  route: readonly RouteStep[];
}

/** When one more machine would be finished, taken in today behind all that is open; null beyond the horizon. */
export function finishOfAnother({ records, route }: AnotherQuestion): string | null {
  const grown = withAnother(records, route, 1, null);
  const made = scheduleRecords(grown);
  const finish = made.schedule.jobs.find((job) => job.id === jobIdOf(1))?.finishMinutes;
  return finish === null || finish === undefined ? null : made.built.local.dayOf(finish);
}

/** Less than any job's own priority. */
const BEHIND_ALL = -100_000;
/** How the ids of further machines begin. */
const FURTHER = 'more/';
const jobIdOf = (number: number): string => `${FURTHER}${number}`;

/** @param by when it is due, as a machine for the snow would be; null: behind all that is open, due on no day */
export function withAnother(
  records: PlanRecords,
  route: readonly RouteStep[],
  number: number,
  by: string | null,
  afterDays = 0,
): PlanRecords {
  const jobId = jobIdOf(number);
  const intake = (step: RouteStep): AwaitedPart[] =>
    afterDays === 0 || step.after.length > 0
      ? []
      : [
          {
            needId: jobId,
            partName: 'the machine itself',
            quantity: '1',
            supplierName: null,
            expectedDate: addDays(records.today, afterDays),
            ordered: true,
            backOrdered: false,
            orderLineId: null,
            parcel: jobId,
            arrivalOffsets: [afterDays],
          },
        ];
  return withMachine(
    records,
    route,
    {
      id: jobId,
      number: 0,
      title: 'another machine',
      priority: by === null ? BEHIND_ALL : 0,
      dueDate: by,
      forSnow: by !== null,
    },
    intake,
  );
}

/** The same records with a machine more, going through a route. @param intake what a step waits for besides those before it */
export function withMachine(
  records: PlanRecords,
  route: readonly RouteStep[],
  job: PlanJob,
  intake: (step: RouteStep) => AwaitedPart[] = () => [],
): PlanRecords {
  const idOf = (code: string): string => `${job.id}/${code}`;
  return {
    ...records,
    jobs: [...records.jobs, job],
    tasks: [
      ...records.tasks,
      ...route.map((step, position): PlanTask => ({
        ...step,
        id: idOf(step.code),
        jobId: job.id,
        position,
        startedAt: null,
        finishedAt: null,
        workedMinutes: 0,
        paint: step.needsPaintWeather ? (records.paints[step.kind] ?? null) : null,
        links: step.after.map((link) => ({
          predecessorId: idOf(link.code),
          minWaitMinutes: link.minWaitMinutes,
          forbidden: link.forbiddenIntervals,
          reason: link.reason,
        })),
        awaited: intake(step),
        paintReadyAt: null,
      })),
    ],
  };
}

export interface Load {
  resource: string;
  usedMinutes: number;
  openMinutes: number;
  /** Of what is open. */
  usedShare: number;
  /** How long tasks stood waiting for it, in all. */
  waitedMinutes: number;
}

/** How far each resource is used, and waited for, until a day. */
export function loads(forecast: ScheduledRecords, by: string): Load[] {
  const { problem, local } = forecast.built;
  const from = problem.nowMinutes ?? 0;
  const until = local.ofDay(by) + 1440;
  const tasks = new Map(problem.tasks.map((task) => [task.id, task]));
  return problem.resources
    .filter((one) => !isCrew(one.id))
    .map((resource) => {
      let usedMinutes = 0;
      let waitedMinutes = 0;
      for (const scheduled of forecast.schedule.tasks) {
        const amount =
          tasks.get(scheduled.id)?.demands.find((demand) => demand.resourceId === resource.id)?.amount ?? 0;
        usedMinutes += amount * overlap(scheduled.worked, from, until);
        let reached = from;
        for (const reason of scheduled.reasons) {
          if (reason.kind === 'resource' && reason.resourceId === resource.id)
            waitedMinutes += Math.max(0, Math.min(until, reason.untilMinutes) - reached);
          reached = Math.max(reached, reason.untilMinutes);
        }
      }
      const openMinutes = openOf(resource, from, until);
      return {
        resource: resource.id,
        usedMinutes,
        openMinutes,
        usedShare: openMinutes > 0 ? usedMinutes / openMinutes : 0,
        waitedMinutes,
      };
    });
}

function openOf(resource: Resource, from: number, until: number): number {
  if (until <= from) return 0;
  const missing = (resource.reductions ?? []).reduce(
    (sum, { amount, ...span }) => sum + amount * overlap([span], from, until),
    0,
  );
  return resource.capacity * (resource.calendar ? overlap(resource.calendar, from, until) : until - from) - missing;
}

function overlap(intervals: readonly Interval[], from: number, until: number): number {
  let sum = 0;
  for (const { startMinutes, endMinutes } of intervals)
    sum += Math.max(0, Math.min(endMinutes, until) - Math.max(startMinutes, from));
  return sum;
}

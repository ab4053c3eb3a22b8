/** How many more machines can still be ready, and what stands in the way. Pure. */
import type { Interval, Resource } from '../../engine/schedule/index.js';
import type { PlanRecords, PlanTask } from '../inputs/records.js';
import { type ScheduledRecords, scheduleRecords } from '../model/scheduled-records.js';
import { isCrew } from '../model/staff.js';

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

/** Less than any job's own priority. */
const BEHIND_ALL = -100_000;
/** More than this many at once is not a plan for one or two people. */
export const MOST_MORE = 30;

export interface FitQuestion {
  records: PlanRecords;
  route: readonly RouteStep[];
  /** The local day by which they must be finished. */
  by: string;
}

/**
 * How many more machines, taken in today and put behind all that is open, would be finished by a day.
 * @returns the count, with the day on which the last that fits and the first that does not would be finished
 */
export function moreThatFit({ records, route, by }: FitQuestion): {
  count: number;
  lastDate: string | null;
  nextDay: string | null;
} {
  // All at once: each stands behind those before it, so none is moved by one that comes after.
  let grown = records;
  for (let number = 1; number <= MOST_MORE + 1; number += 1) grown = withAnother(grown, route, number);
  const made = scheduleRecords(grown);
  let lastDate: string | null = null;
  for (let count = 0; ; count += 1) {
    const day = finishOf(made, `more/${count + 1}`);
    if (day === null || day > by || count === MOST_MORE) return { count, lastDate, nextDay: day };
    lastDate = day;
  }
}

function finishOf(forecast: ScheduledRecords, jobId: string): string | null {
  const finish = forecast.schedule.jobs.find((job) => job.id === jobId)?.finishMinutes;
  return finish === null || finish === undefined ? null : forecast.built.local.dayOf(finish);
}

function withAnother(records: PlanRecords, route: readonly RouteStep[], number: number): PlanRecords {
  const jobId = `more/${number}`;
  const idOf = (code: string): string => `${jobId}/${code}`;
  return {
    ...records,
    jobs: [
      ...records.jobs,
      { id: jobId, number: 0, title: 'another machine', priority: BEHIND_ALL - number, dueDate: null, forSnow: false },
    ],
    tasks: [
      ...records.tasks,
      ...route.map((step, position): PlanTask => ({
        ...step,
        id: idOf(step.code),
        jobId,
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
        awaited: [],
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

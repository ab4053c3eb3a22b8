/**
 * The shop's records as a scheduling problem. Pure: records in, problem out; what the engine calls minutes are
 * minutes since the shop's midnight at the start of today.
 */
import type { AgeTable } from '../../engine/cure/index.js';
import { at } from '../../engine/look-up.js';
import type { Interval, Job, Predecessor, Problem, SharedLuck, Task, WeatherSet } from '../../engine/schedule/index.js';
import type { PaintSpans } from '../../season/paint-windows.js';
import {
  HORIZON_DAYS,
  type MaxWait,
  type PlanJob,
  type PlanRecords,
  type PlanSeason,
  type PlanTask,
} from '../inputs/records.js';
import { LocalMinutes } from '../inputs/shop-calendar.js';
import { lastReadyMinute } from '../inputs/what-counts-as-ready.js';
import { exclusionsOf, roomsOf } from './exclusions.js';
import { foundTasks } from './found-work.js';
import { likelyTasks } from './likely-work.js';
import { cureOfPaint, knownAt, paintLink } from './paint-links.js';
import { type Crew, crewsFor, crewsOf, PEOPLE, staff } from './staff.js';
import { expectedFound, expectedMinutes, isPureCure, MIN_REMAINING_MINUTES, sharedLuckOf } from './task-lengths.js';

const PAINT = 'paint';
const cureOf = (taskId: string): string => `${taskId}/cure`;

export interface BuiltProblem {
  problem: Problem;
  local: LocalMinutes;
}

/** @param options.awaited false: as if every part were on hand, for a simulation that draws the arrivals itself */
export function buildProblem(records: PlanRecords, options: { awaited: boolean } = { awaited: true }): BuiltProblem {
  const local = LocalMinutes.of(records.today, records.timeZone);
  const nowMinutes = Math.max(0, local.ofInstant(records.now));
  const crews = crewsOf(records);
  const resources = staff(records, crews, local);
  for (const kind of ['bench', 'sprayArea', 'cureRack'] as const) {
    const capacity = records.places
      .filter((place) => place.kind === kind)
      .reduce((sum, place) => sum + place.capacity, 0);
    if (capacity > 0) resources.push({ id: kind, capacity });
  }
  const capacityOf = new Map(resources.map((resource) => [resource.id, resource.capacity]));
  const known = new Set(records.tasks.map((task) => task.id));
  const curing = new Set(
    records.tasks.filter((task) => task.cureMinutes > 0 && !isPureCure(task)).map((task) => task.id),
  );
  const priorities = new Map(records.jobs.map((job) => [job.id, job.priority]));
  const luck = sharedLuckOf(records);
  const byId = new Map(records.tasks.map((task) => [task.id, task]));
  const rooms = roomsOf(records.places);
  const tasks: Task[] = [];
  for (const task of records.tasks)
    tasks.push(
      ...tasksOf(options.awaited ? task : { ...task, awaited: [] }, {
        local,
        nowMinutes,
        capacityOf,
        known,
        curing,
        priorities,
        luck,
        byId,
        rooms,
        people: records.people,
        crews,
        maxWaits: records.maxWaits,
      }),
    );
  const unplanned = {
    demands: demandsOf(
      { kind: 'repair', people: 1, placeKind: 'bench' },
      { capacityOf, people: records.people, crews },
    ),
    priorityOf: (jobId: string) => priorities.get(jobId) ?? 0,
  };
  const found = foundTasks(records, { ...unplanned, minutes: expectedFound(luck) });
  const likely = likelyTasks(records, { ...unplanned, local, awaited: options.awaited });
  for (const task of tasks)
    if (!task.fixed) task.predecessors.push(...(found.waits.get(task.id) ?? []), ...(likely.waits.get(task.id) ?? []));
  tasks.push(...found.tasks, ...likely.tasks);
  return {
    local,
    problem: {
      horizonMinutes: local.midnight(HORIZON_DAYS),
      nowMinutes,
      resources,
      tasks,
      jobs: records.jobs.map((job) => jobOf(job, records.season, local, nowMinutes)),
      weather: [paintWeatherOf(records.paintWindows, local)],
      clocks: records.clocks.map(({ id, expected }) => ({ id, table: localTable(expected, local) })),
    },
  };
}

/** No hours are entered, of the shop or of anybody in it, or all of them are off. */
export const nobodyIsIn = ({ problem }: BuiltProblem): boolean =>
  problem.resources.find((resource) => resource.id === PEOPLE)?.calendar?.length === 0;

/** What a machine that misses the snow loses: the search weighs days in thousandths of it. */
const SEASON_LOST = 1000;
/** What a day more in the shop costs: its place, and the money in it. Small, but what is done early is done. */
const DAY_LOST = 1;

/**
 * On time until the end of its due day. Apart from that each day costs a little, and more where it raises the chance that
 * the first snow comes too soon.
 */
function jobOf(job: PlanJob, season: PlanSeason | null, local: LocalMinutes, nowMinutes: number): Job {
  const horizon = local.midnight(HORIZON_DAYS);
  const losses = job.forSnow && season ? season.firstSnowDates.map((day) => lastReadyMinute(day, season, local)) : [];
  const missedBy = (minute: number): number => losses.filter((last) => last <= minute).length;
  const minutes = [
    ...new Set([nowMinutes, ...losses.filter((last) => last > nowMinutes && last < horizon), horizon]),
  ].sort((a, b) => a - b);
  return {
    id: job.id,
    ...(job.dueDate ? { dueMinutes: local.endOfDay(job.dueDate) } : {}),
    valueLost: minutes.map((atMinutes) => ({
      atMinutes,
      lost:
        (DAY_LOST * (atMinutes - nowMinutes)) / 1440 +
        (losses.length > 0 ? (SEASON_LOST * missedBy(atMinutes)) / losses.length : 0),
    })),
  };
}

interface Surroundings {
  local: LocalMinutes;
  nowMinutes: number;
  capacityOf: Map<string, number>;
  known: Set<string>;
  curing: Set<string>;
  /** Of each job, by its id. */
  priorities: Map<string, number>;
  luck: SharedLuck;
  byId: ReadonlyMap<string, PlanTask>;
  rooms: ReturnType<typeof roomsOf>;
  people: PlanRecords['people'];
  crews: readonly Crew[];
  maxWaits: readonly MaxWait[];
}

/** More than any job's own priority: what has begun goes on. */
const BEGUN_PRIORITY = 1e6;

function tasksOf(task: PlanTask, around: Surroundings): Task[] {
  const { local, nowMinutes } = around;
  const demands = demandsOf(task, around);
  const pure = isPureCure(task);
  const minutes = pure ? task.cureMinutes : expectedMinutes(task, around.luck);
  const main: Task = {
    id: task.id,
    jobId: task.jobId,
    durationMinutes: minutes,
    demands,
    pausable: task.pausable && !pure,
    priority: around.priorities.get(task.jobId) ?? 0,
    predecessors: task.links
      .filter((link) => around.known.has(link.predecessorId))
      .flatMap((link) => linksOf(link, task, around)),
    ...exclusionsOf(task, around.rooms),
    ...(task.needsPaintWeather ? { weatherId: PAINT } : {}),
  };
  if (task.finishedAt) {
    const finishMinutes = local.ofInstant(task.finishedAt);
    main.fixed = {
      startMinutes: Math.min(finishMinutes, local.ofInstant(task.startedAt ?? task.finishedAt)),
      finishMinutes,
    };
    main.demands = [];
    delete main.weatherId;
  } else if (task.startedAt) {
    const elapsed = pure ? nowMinutes - local.ofInstant(task.startedAt) : task.workedMinutes;
    main.durationMinutes = pure ? Math.max(0, minutes - elapsed) : Math.max(MIN_REMAINING_MINUTES, minutes - elapsed);
    main.releaseMinutes = nowMinutes;
    main.priority = BEGUN_PRIORITY;
    // It runs already: what had to come before it has been seen to.
    main.predecessors = main.predecessors.map((link) => ({ taskId: link.taskId, minWaitMinutes: 0 }));
  } else {
    const released = Math.max(
      0,
      ...task.awaited.map((part) => local.ofDay(part.expectedDate)),
      task.paintReadyAt ? local.ofInstant(task.paintReadyAt) : 0,
    );
    if (released > 0) main.releaseMinutes = released;
  }
  if (pure && !main.fixed) Object.assign(main, cureOfPaint(task, around.byId, local));
  return task.cureMinutes > 0 && !pure ? [main, cureAfter(main, task, around)] : [main];
}

function demandsOf(
  task: Pick<PlanTask, 'kind' | 'people' | 'placeKind'>,
  { capacityOf, people: staffed, crews }: Pick<Surroundings, 'capacityOf' | 'people' | 'crews'>,
): { resourceId: string; amount: number }[] {
  const demands: { resourceId: string; amount: number }[] = [];
  // More people than the shop has would never fit; the shop then does it with what it has.
  const people = Math.min(task.people, capacityOf.get(PEOPLE) ?? 0);
  if (people > 0) {
    demands.push({ resourceId: PEOPLE, amount: people });
    for (const { id, members } of crewsFor(task.kind, staffed, crews))
      demands.push({ resourceId: id, amount: Math.min(people, members.length) });
  }
  if (task.placeKind && capacityOf.has(task.placeKind)) demands.push({ resourceId: task.placeKind, amount: 1 });
  return demands;
}

/** The time on the rack that follows a coat. */
function cureAfter(main: Task, task: PlanTask, { capacityOf, local }: Surroundings): Task {
  const fixed = main.fixed?.finishMinutes;
  return {
    id: cureOf(task.id),
    jobId: task.jobId,
    durationMinutes: task.cureMinutes,
    demands: capacityOf.has('cureRack') ? [{ resourceId: 'cureRack', amount: 1 }] : [],
    pausable: false,
    ...(main.priority === undefined ? {} : { priority: main.priority }),
    predecessors: [{ taskId: task.id, minWaitMinutes: 0 }],
    ...(fixed === undefined && task.paint?.clockId
      ? {
          cure: {
            clockId: task.paint.clockId,
            ageMinutes: task.paint.assembleMinutes,
            sinceTaskId: task.id,
            ...knownAt(task.paint, local),
          },
        }
      : {}),
    ...(fixed === undefined ? {} : { fixed: { startMinutes: fixed, finishMinutes: fixed + task.cureMinutes } }),
  };
}

function linksOf(link: PlanTask['links'][number], task: PlanTask, around: Surroundings): Predecessor[] {
  const { curing, byId, maxWaits, local } = around;
  const before = byId.get(link.predecessorId);
  const ages = before && paintLink(before, task, local);
  const soon =
    ages || link.forbidden.length > 0
      ? undefined
      : maxWaits.find((one) => one.fromKind === before?.kind && one.toKind === task.kind);
  const own: Predecessor = {
    taskId: link.predecessorId,
    minWaitMinutes: link.minWaitMinutes,
    ...(link.forbidden.length > 0 ? { forbidden: link.forbidden } : {}),
    ...(ages ? { ages } : {}),
    ...(soon ? { maxWaitMinutes: Math.max(link.minWaitMinutes, soon.maxMinutes) } : {}),
  };
  return curing.has(link.predecessorId) ? [own, { taskId: cureOf(link.predecessorId), minWaitMinutes: 0 }] : [own];
}

/** A table of minutes since 1970 as one of the plan's minutes. */
export const localTable = (table: AgeTable, local: LocalMinutes): AgeTable => ({
  ...table,
  fromMinute: local.ofEpochMinute(table.fromMinute),
});

/** Spans in which a coat may go on, as the engine takes them: in order, overlapping ones joined, none before today. */
export function paintWeatherOf(spans: PaintSpans, local: LocalMinutes): WeatherSet {
  const given: Interval[] = [];
  for (let k = 0; k + 1 < spans.length; k += 2)
    given.push({ startMinutes: local.ofEpochMinute(at(spans, k)), endMinutes: local.ofEpochMinute(at(spans, k + 1)) });
  return { id: PAINT, windows: joined(given) };
}

function joined(given: readonly Interval[]): Interval[] {
  const windows: Interval[] = [];
  const sorted = given
    .map((one) => ({ startMinutes: Math.max(0, one.startMinutes), endMinutes: one.endMinutes }))
    .filter((one) => one.endMinutes > one.startMinutes)
    .sort((a, b) => a.startMinutes - b.startMinutes);
  for (const one of sorted) {
    const last = windows.at(-1);
    if (last && last.endMinutes >= one.startMinutes) last.endMinutes = Math.max(last.endMinutes, one.endMinutes);
    else windows.push(one);
  }
  return windows;
}

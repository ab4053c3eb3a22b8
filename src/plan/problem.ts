/**
 * The shop's records as a scheduling problem. Pure: records in, problem out; what the engine calls minutes are
 * minutes since the shop's midnight at the start of today.
 */
import type { Interval, Job, Predecessor, Problem, Resource, Task } from '../engine/schedule/index.js';
import { levels, LocalMinutes, openIntervals, type OpenHours } from './calendar.js';

export type PlaceKind = 'bench' | 'sprayArea' | 'cureRack';

export interface PlanRecords {
  now: Date;
  today: string;
  timeZone: string;
  openingHours: OpenHours[];
  people: { id: string; name: string; weeklyHours: OpenHours[] }[];
  daysOff: { personId: string | null; fromDay: string; toDay: string }[];
  places: { kind: PlaceKind; capacity: number }[];
  jobs: PlanJob[];
  tasks: PlanTask[];
  /** Hours in which a coat may be applied, from forecast and climate. */
  paintWindows: { from: Date; to: Date }[];
}

export interface PlanJob {
  id: string;
  number: number;
  title: string;
  priority: number;
  /** The day it is promised for, or should be ready for the season; null when nothing waits for it. */
  dueDay: string | null;
}

export interface PlanTask {
  id: string;
  jobId: string;
  position: number;
  name: string;
  kind: string;
  handsOnMinutes: number;
  leastMinutes: number;
  mostMinutes: number;
  people: number;
  placeKind: PlaceKind | null;
  pausable: boolean;
  needsPaintWeather: boolean;
  cureMinutes: number;
  cautions: string[];
  startedAt: Date | null;
  finishedAt: Date | null;
  workedMinutes: number;
  links: { predecessorId: string; leastWaitMinutes: number; forbidden: { fromMinutes: number; toMinutes: number }[]; reason: string | null }[];
  /** The parts it needs and does not have yet. */
  awaited: AwaitedPart[];
  /** For an assembly: the moment from which the paint on the job may be touched, by its own clock. */
  paintReadyAt: Date | null;
}

export interface AwaitedPart {
  partName: string;
  quantity: string;
  supplierName: string | null;
  /** Expected day; for a part that is not ordered, the day if it were ordered today. */
  expectedDay: string;
  ordered: boolean;
  backOrdered: boolean;
}

/** How far ahead is planned. Beyond it a job has no expected day. */
export const HORIZON_DAYS = 500;
const PEOPLE = 'people';
const PAINT = 'paint';
const cureOf = (taskId: string): string => `${taskId}/cure`;
/** A task that was begun and has used up its hours is taken to need this much more. */
const LEAST_REMAINING_MINUTES = 15;

export interface BuiltProblem {
  problem: Problem;
  local: LocalMinutes;
}

export function buildProblem(records: PlanRecords): BuiltProblem {
  const local = new LocalMinutes(records.today, records.timeZone);
  const nowMinutes = Math.max(0, local.ofInstant(records.now));
  const { resources, absences } = staff(records, local);
  for (const kind of ['bench', 'sprayArea', 'cureRack'] as const) {
    const capacity = records.places.filter((place) => place.kind === kind).reduce((sum, place) => sum + place.capacity, 0);
    if (capacity > 0) resources.push({ id: kind, capacity });
  }
  const capacityOf = new Map(resources.map((resource) => [resource.id, resource.capacity]));
  const known = new Set(records.tasks.map((task) => task.id));
  const curing = new Set(records.tasks.filter((task) => task.cureMinutes > 0 && !isPureCure(task)).map((task) => task.id));
  const priorities = new Map(records.jobs.map((job) => [job.id, job.priority]));
  const tasks: Task[] = [];
  for (const task of records.tasks) tasks.push(...tasksOf(task, { local, nowMinutes, capacityOf, known, curing, priorities }));
  return {
    local,
    problem: {
      horizonMinutes: local.midnight(HORIZON_DAYS),
      nowMinutes,
      resources,
      tasks: [...tasks, ...absences],
      jobs: records.jobs.map((job): Job => ({ id: job.id, ...(job.dueDay ? { dueMinutes: local.ofDay(job.dueDay) } : {}) })),
      weather: [{ id: PAINT, windows: windowsOf(records, local) }],
    },
  };
}

/** The people as one resource. Where not all of them are in, the missing ones are taken up by an absence. */
function staff(records: PlanRecords, local: LocalMinutes): { resources: Resource[]; absences: Task[] } {
  // A shop that has entered nobody yet is taken to be one person with the shop's hours.
  const people = records.people.length > 0 ? records.people : [{ id: '', name: '', weeklyHours: records.openingHours }];
  const calendars = people.map((person) =>
    openIntervals(
      local,
      person.weeklyHours.length > 0 ? person.weeklyHours : records.openingHours,
      records.daysOff.filter((off) => off.personId === null || off.personId === person.id),
      HORIZON_DAYS,
    ),
  );
  const open = levels(calendars);
  const calendar: Interval[] = [];
  for (const { startMinutes, endMinutes } of open) {
    const last = calendar.at(-1);
    if (last && last.endMinutes === startMinutes) last.endMinutes = endMinutes;
    else calendar.push({ startMinutes, endMinutes });
  }
  const absences = open
    .filter((level) => level.open < people.length)
    .map((level, index): Task => ({
      id: `absence/${index}`,
      durationMinutes: level.endMinutes - level.startMinutes,
      demands: [{ resourceId: PEOPLE, amount: people.length - level.open }],
      pausable: false,
      predecessors: [],
      fixed: { startMinutes: level.startMinutes, finishMinutes: level.endMinutes },
    }));
  return { resources: [{ id: PEOPLE, capacity: people.length, calendar }], absences };
}

/** A task that is nothing but time on the rack. */
const isPureCure = (task: PlanTask): boolean => task.handsOnMinutes === 0 && task.people === 0;

interface Surroundings {
  local: LocalMinutes;
  nowMinutes: number;
  capacityOf: Map<string, number>;
  known: Set<string>;
  curing: Set<string>;
  /** Of each job, by its id. */
  priorities: Map<string, number>;
}

/** More than any job's own priority: what has begun goes on. */
const BEGUN_PRIORITY = 1e6;

function tasksOf(task: PlanTask, around: Surroundings): Task[] {
  const { local, nowMinutes, capacityOf } = around;
  const demands: { resourceId: string; amount: number }[] = [];
  // More people than the shop has would never fit; the shop then does it with what it has.
  const people = Math.min(task.people, capacityOf.get(PEOPLE) ?? 0);
  if (people > 0) demands.push({ resourceId: PEOPLE, amount: people });
  if (task.placeKind && capacityOf.has(task.placeKind)) demands.push({ resourceId: task.placeKind, amount: 1 });
  const pure = isPureCure(task);
  const minutes = pure ? task.cureMinutes : task.handsOnMinutes;
  const main: Task = {
    id: task.id,
    jobId: task.jobId,
    durationMinutes: minutes,
    demands,
    pausable: task.pausable && !pure,
    priority: around.priorities.get(task.jobId) ?? 0,
    predecessors: task.links.filter((link) => around.known.has(link.predecessorId)).flatMap((link) => linksOf(link, around.curing)),
    ...(task.needsPaintWeather ? { weatherId: PAINT } : {}),
  };
  if (task.finishedAt) {
    const finishMinutes = local.ofInstant(task.finishedAt);
    main.fixed = { startMinutes: Math.min(finishMinutes, local.ofInstant(task.startedAt ?? task.finishedAt)), finishMinutes };
    main.demands = [];
    delete main.weatherId;
  } else if (task.startedAt) {
    const elapsed = pure ? nowMinutes - local.ofInstant(task.startedAt) : task.workedMinutes;
    main.durationMinutes = pure ? Math.max(0, minutes - elapsed) : Math.max(LEAST_REMAINING_MINUTES, minutes - elapsed);
    main.releaseMinutes = nowMinutes;
    main.priority = BEGUN_PRIORITY;
    // It runs already: what had to come before it has been seen to.
    main.predecessors = main.predecessors.map((link) => ({ taskId: link.taskId, minWaitMinutes: 0 }));
  } else {
    const released = Math.max(0, ...task.awaited.map((part) => local.ofDay(part.expectedDay)), task.paintReadyAt ? local.ofInstant(task.paintReadyAt) : 0);
    if (released > 0) main.releaseMinutes = released;
  }
  return task.cureMinutes > 0 && !pure ? [main, cureAfter(main, task, capacityOf)] : [main];
}

/** The time on the rack that follows a coat. */
function cureAfter(main: Task, task: PlanTask, capacityOf: Map<string, number>): Task {
  const fixed = main.fixed?.finishMinutes;
  return {
    id: cureOf(task.id),
    jobId: task.jobId,
    durationMinutes: task.cureMinutes,
    demands: capacityOf.has('cureRack') ? [{ resourceId: 'cureRack', amount: 1 }] : [],
    pausable: false,
    predecessors: [{ taskId: task.id, minWaitMinutes: 0 }],
    ...(fixed === undefined ? {} : { fixed: { startMinutes: fixed, finishMinutes: fixed + task.cureMinutes } }),
  };
}

function linksOf(link: PlanTask['links'][number], curing: Set<string>): Predecessor[] {
  const own: Predecessor = {
    taskId: link.predecessorId,
    minWaitMinutes: link.leastWaitMinutes,
    ...(link.forbidden.length > 0 ? { forbidden: link.forbidden } : {}),
  };
  return curing.has(link.predecessorId) ? [own, { taskId: cureOf(link.predecessorId), minWaitMinutes: 0 }] : [own];
}

function windowsOf(records: PlanRecords, local: LocalMinutes): Interval[] {
  const windows: Interval[] = [];
  const sorted = records.paintWindows
    .map(({ from, to }) => ({ startMinutes: Math.max(0, local.ofInstant(from)), endMinutes: local.ofInstant(to) }))
    .filter((one) => one.endMinutes > one.startMinutes)
    .sort((a, b) => a.startMinutes - b.startMinutes);
  for (const one of sorted) {
    const last = windows.at(-1);
    if (last && last.endMinutes >= one.startMinutes) last.endMinutes = Math.max(last.endMinutes, one.endMinutes);
    else windows.push(one);
  }
  return windows;
}

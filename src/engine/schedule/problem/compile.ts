import type { AgeTable } from '../../cure/age-table.js';
import { EngineError } from '../../error.js';
import { findCycle } from '../../graph.js';
import { lookUp } from '../../look-up.js';
import { Calendar, intersect } from './calendar.js';
import {
  type AgeWindow,
  type Interval,
  type KnownAge,
  type Predecessor,
  type Problem,
  type Resource,
  type Task,
  validateProblem,
  type WeatherSet,
} from './problem.js';

/** Stands for "does not happen before the horizon"; adding any wait to it stays inside 32 bits. */
export const NEVER = 2 ** 30;

/** What a simulation varies: one value per task, in compiled order. */
export interface Conditions {
  duration: Int32Array;
  /** Earliest start, the present minute included. */
  release: Int32Array;
  /** Pausable tasks: open minutes of everything they need. Others: where a sitting may lie. Null: anywhere. */
  working: (Calendar | null)[];
  /** Pausable tasks with windows: the windows. Null: none. */
  windows: (Calendar | null)[];
  /** How coats age, by clock. */
  clocks: readonly AgeTable[];
  /**
   * Minutes by which people judge whether a sitting fits before closing or into a window: what is planned, since nobody
   * knows how long it will take. Null: as long as it takes.
   */
  judged: Int32Array | null;
}

/** What a coat's age asks of a task: a link's windows, or the age at which a cure ends. */
export interface Ageing {
  clock: number;
  windows: readonly AgeWindow[];
  known?: KnownAge;
}

/**
 * A problem laid out in arrays. Tasks and resources are numbered in the order of their ids, whatever the order of the
 * input, so that the input's order changes nothing. Links of task `i` are `linkFrom[i] … linkFrom[i+1]-1`, and so on.
 */
export interface Compiled {
  problem: Problem;
  horizon: number;
  now: number;
  count: number;
  tasks: Task[];
  indexOf: Map<string, number>;
  linkFrom: Int32Array;
  linkTask: Int32Array;
  linkWait: Int32Array;
  forbiddenFrom: Int32Array;
  forbiddenStart: Int32Array;
  forbiddenEnd: Int32Array;
  /** 1 where a task has any forbidden interval. */
  hasForbidden: Uint8Array;
  /** By link; null where no age counts. Its forbidden intervals, and its wait, then depend on when the coat went on. */
  linkAges: (Ageing | null)[];
  /** 1 where a task has such a link. */
  hasAges: Uint8Array;
  /** Links whose last forbidden interval only keeps a wait short, and may be given up. */
  softLinks: Int32Array;
  isSoft: Uint8Array;
  /** By task, the age at which its cure ends, and the link it counts from; null for most. */
  cures: ({ clock: number; ageMinutes: number; since: number; known?: KnownAge } | null)[];
  /** Exclusions of task `i` are `exclusionFrom[i] … exclusionFrom[i+1]-1`; the two sides of a group are slots 2g and 2g + 1. */
  exclusionFrom: Int32Array;
  exclusionSlot: Int32Array;
  exclusionTail: Int32Array;
  exclusionSlots: number;
  successors: Int32Array[];
  demandFrom: Int32Array;
  demandResource: Int32Array;
  demandAmount: Int32Array;
  resourceIds: string[];
  capacity: Int32Array;
  resourceCalendar: (Calendar | null)[];
  reductions: { resource: number; start: number; finish: number; amount: number }[];
  /** The open minutes common to all a task needs, windows aside. */
  taskCalendar: (Calendar | null)[];
  pausable: Uint8Array;
  isFixed: Uint8Array;
  /** Tasks still to be placed. */
  free: Int32Array;
  /** All tasks, predecessors first. */
  order: Int32Array;
  conditions: Conditions;
}

/**
 * Checks and compiles a problem.
 * @throws EngineError as `validateProblem`, and `cycle` with the cycle's tasks by name.
 */
export function compile(problem: Problem): Compiled {
  validateProblem(problem);
  const tasks = [...problem.tasks].sort(byId);
  const resources = [...problem.resources].sort(byId);
  const indexOf = new Map(tasks.map((task, i) => [task.id, i]));
  const resourceIndex = new Map(resources.map((resource, r) => [resource.id, r]));
  const order = topologicalOrder(tasks, indexOf);
  const links = flatten(tasks.map((task) => [...task.predecessors].sort((a, b) => compareText(a.taskId, b.taskId))));
  const forbidden = flatten(links.items.map(forbiddenOf));
  const clocks = problem.clocks ?? [];
  const clockIndex = new Map(clocks.map((clock, c) => [clock.id, c]));
  const exclusions = flatten(tasks.map((task) => task.exclusions ?? []));
  const groups = [...new Set(exclusions.items.map((one) => one.groupId))].sort(compareText);
  const demands = flatten(tasks.map((task) => task.demands.filter((demand) => demand.amount > 0)));
  const successors: number[][] = tasks.map(() => []);
  const linkTask = Int32Array.from(links.items, (link) => lookUp(indexOf, link.taskId));
  for (let i = 0; i < tasks.length; i++) {
    for (let k = links.from[i]!; k < links.from[i + 1]!; k++) successors[linkTask[k]!]!.push(i);
  }
  const resourceCalendar = resources.map((resource) => (resource.calendar ? new Calendar(resource.calendar) : null));
  const common = new CommonCalendars(resourceCalendar);
  const taskCalendar = tasks.map((_, i) =>
    common.of(
      demands.items
        .slice(demands.from[i], demands.from[i + 1])
        .map((demand) => lookUp(resourceIndex, demand.resourceId)),
    ),
  );
  const now = problem.nowMinutes ?? 0;
  return {
    problem,
    horizon: problem.horizonMinutes,
    now,
    count: tasks.length,
    tasks,
    indexOf,
    linkFrom: links.from,
    linkTask,
    linkWait: Int32Array.from(links.items, (link) => link.minWaitMinutes),
    forbiddenFrom: forbidden.from,
    forbiddenStart: Int32Array.from(forbidden.items, (interval) => interval.fromMinutes),
    forbiddenEnd: Int32Array.from(forbidden.items, (interval) => interval.toMinutes),
    hasForbidden: Uint8Array.from(tasks, (task) =>
      task.predecessors.some((link) => forbiddenOf(link).length > 0) ? 1 : 0,
    ),
    linkAges: links.items.map(({ ages }) =>
      ages
        ? {
            clock: lookUp(clockIndex, ages.clockId),
            windows: ages.windows,
            ...(ages.known ? { known: ages.known } : {}),
          }
        : null,
    ),
    hasAges: Uint8Array.from(tasks, (task) => (task.predecessors.some((link) => link.ages) ? 1 : 0)),
    softLinks: Int32Array.from(links.items.keys()).filter((l) => links.items[l]!.maxWaitMinutes !== undefined),
    isSoft: Uint8Array.from(links.items, (link) => (link.maxWaitMinutes === undefined ? 0 : 1)),
    cures: tasks.map(({ cure }) =>
      cure
        ? {
            clock: lookUp(clockIndex, cure.clockId),
            ageMinutes: cure.ageMinutes,
            since: lookUp(indexOf, cure.sinceTaskId),
            ...(cure.known ? { known: cure.known } : {}),
          }
        : null,
    ),
    exclusionFrom: exclusions.from,
    exclusionSlot: Int32Array.from(
      exclusions.items,
      ({ groupId, side }) => 2 * groups.indexOf(groupId) + (side === 'first' ? 0 : 1),
    ),
    exclusionTail: Int32Array.from(exclusions.items, (one) => one.tailMinutes ?? 0),
    exclusionSlots: 2 * groups.length,
    successors: successors.map((list) => Int32Array.from(list)),
    demandFrom: demands.from,
    demandResource: Int32Array.from(demands.items, (demand) => lookUp(resourceIndex, demand.resourceId)),
    demandAmount: Int32Array.from(demands.items, (demand) => demand.amount),
    resourceIds: resources.map((resource) => resource.id),
    capacity: Int32Array.from(resources, (resource) => resource.capacity),
    resourceCalendar,
    reductions: resources.flatMap(({ reductions = [] }, resource) => reductionsOf(reductions, resource)),
    taskCalendar,
    pausable: Uint8Array.from(tasks, (task) => (task.pausable ? 1 : 0)),
    isFixed: Uint8Array.from(tasks, (task) => (task.fixed ? 1 : 0)),
    free: Int32Array.from(tasks.keys()).filter((i) => !tasks[i]!.fixed),
    order,
    conditions: {
      duration: Int32Array.from(tasks, (task) => task.durationMinutes),
      release: Int32Array.from(tasks, (task) => Math.max(now, task.releaseMinutes ?? 0)),
      ...weatherCalendars(tasks, taskCalendar, problem.weather ?? []),
      clocks: clocks.map((clock) => clock.table),
      judged: null,
    },
  };
}

/** A link's forbidden intervals, with as many more, empty, as its coat's windows of age may bring. */
function forbiddenOf({
  forbidden = [],
  ages,
  maxWaitMinutes,
}: Predecessor): { fromMinutes: number; toMinutes: number }[] {
  const stated = [...forbidden].sort((a, b) => a.fromMinutes - b.fromMinutes);
  if (maxWaitMinutes !== undefined) return [...stated, { fromMinutes: maxWaitMinutes, toMinutes: NEVER }];
  return ages ? [...stated, ...ages.windows.map(() => NOTHING_FORBIDDEN)] : stated;
}

/** Both ends are allowed, so nothing is forbidden. */
const NOTHING_FORBIDDEN = { fromMinutes: 0, toMinutes: 0 };

/** The same problem with another calendar of one resource, the same up to now: what is finished stays where it is. */
export function withCalendar(
  compiled: Compiled,
  resourceId: string,
  { calendar, reductions = [] }: Pick<Resource, 'calendar' | 'reductions'>,
): Compiled {
  const r = compiled.resourceIds.indexOf(resourceId);
  if (r < 0) throw new EngineError('unknown-id', `There is no resource ${resourceId}`, 'calendars.resourceId');
  const resourceCalendar = compiled.resourceCalendar.slice();
  resourceCalendar[r] = calendar ? new Calendar(calendar) : null;
  const common = new CommonCalendars(resourceCalendar);
  const { demandFrom, demandResource } = compiled;
  const taskCalendar = compiled.taskCalendar.map((old, i) => {
    const demanded = [...demandResource.subarray(demandFrom[i], demandFrom[i + 1])];
    return demanded.includes(r) ? common.of(demanded) : old;
  });
  return {
    ...compiled,
    resourceCalendar,
    taskCalendar,
    reductions: [...compiled.reductions.filter((one) => one.resource !== r), ...reductionsOf(reductions, r)],
    conditions: {
      ...compiled.conditions,
      ...weatherCalendars(compiled.tasks, taskCalendar, compiled.problem.weather ?? []),
    },
  };
}

const reductionsOf = (reductions: NonNullable<Resource['reductions']>, resource: number): Compiled['reductions'] =>
  reductions.map(({ startMinutes, endMinutes, amount }) => ({
    resource,
    start: startMinutes,
    finish: endMinutes,
    amount,
  }));

/** The calendars of every task under one set of weather windows, shared between tasks that have the same. */
export function weatherCalendars(
  tasks: readonly Task[],
  taskCalendar: readonly (Calendar | null)[],
  weather: readonly WeatherSet[],
): Pick<Conditions, 'working' | 'windows'> {
  const windowsOf = new Map(weather.map((set) => [set.id, set.windows]));
  const known = new Map<Calendar | null, Map<string, Calendar>>();
  const working: (Calendar | null)[] = [];
  const windows: (Calendar | null)[] = [];
  for (const [i, task] of tasks.entries()) {
    const calendar = taskCalendar[i]!;
    const bound = task.windows !== undefined || task.weatherId !== undefined;
    if (!bound) {
      working.push(calendar);
      windows.push(null);
      continue;
    }
    const base = task.pausable ? null : calendar;
    const shared = known.get(base) ?? new Map<string, Calendar>();
    known.set(base, shared);
    const key = `${task.weatherId ?? ''}|${task.windows?.map((w) => `${w.startMinutes}-${w.endMinutes}`).join() ?? ''}`;
    let allowed = shared.get(key);
    if (!allowed) {
      let list: Interval[] | undefined = task.windows;
      const set = task.weatherId === undefined ? undefined : windowsOf.get(task.weatherId);
      if (set) list = list ? intersect(list, set) : set;
      if (base) list = intersect(new Calendar(list ?? []).toIntervals(), base.toIntervals());
      allowed = new Calendar(list ?? []);
      shared.set(key, allowed);
    }
    working.push(task.pausable ? calendar : allowed);
    windows.push(task.pausable ? allowed : null);
  }
  return { working, windows };
}

/** Intersections of resource calendars, each computed once. */
class CommonCalendars {
  private readonly known = new Map<string, Calendar | null>();

  constructor(private readonly calendars: readonly (Calendar | null)[]) {}

  of(resources: number[]): Calendar | null {
    const bound = resources.filter((r) => this.calendars[r]).sort((a, b) => a - b);
    if (bound.length === 0) return null;
    if (bound.length === 1) return this.calendars[bound[0]!]!;
    const key = bound.join();
    let calendar = this.known.get(key);
    if (!calendar) {
      calendar = new Calendar(
        bound
          .slice(1)
          .reduce(
            (both, r) => intersect(both, this.calendars[r]!.toIntervals()),
            this.calendars[bound[0]!]!.toIntervals(),
          ),
      );
      this.known.set(key, calendar);
    }
    return calendar;
  }
}

function flatten<T>(lists: T[][]): { from: Int32Array; items: T[] } {
  const from = new Int32Array(lists.length + 1);
  for (let k = 0; k < lists.length; k++) from[k + 1] = from[k]! + lists[k]!.length;
  return { from, items: lists.flat() };
}

/**
 * Tasks with predecessors first; among those ready, lowest index first.
 * @throws EngineError `cycle`, naming the tasks around it.
 */
export function topologicalOrder(
  tasks: readonly Pick<Task, 'id' | 'predecessors'>[],
  indexOf: ReadonlyMap<string, number>,
): Int32Array {
  const status = new Uint8Array(tasks.length);
  const order: number[] = [];
  const visit = (i: number): void => {
    if (status[i] === 2) return;
    if (status[i] === 1) {
      const links = tasks.flatMap((task) => task.predecessors.map((link) => [link.taskId, task.id] as const));
      const names = findCycle(links) ?? [];
      throw new EngineError(
        'cycle',
        `Tasks wait for each other in a circle: ${names.join(' → ')}`,
        `tasks.${tasks[i]!.id}.predecessors`,
      );
    }
    status[i] = 1;
    for (const link of tasks[i]!.predecessors) visit(lookUp(indexOf, link.taskId));
    status[i] = 2;
    order.push(i);
  };
  for (let i = 0; i < tasks.length; i++) visit(i);
  return Int32Array.from(order);
}

function byId(a: { id: string }, b: { id: string }): number {
  return compareText(a.id, b.id);
}

function compareText(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

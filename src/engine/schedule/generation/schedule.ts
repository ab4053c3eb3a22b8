import { EngineError } from '../../error.js';
import { compile, type Compiled, NEVER } from '../problem/compile.js';
import { type Cost, Objective } from '../problem/objective.js';
import type { Interval, Problem } from '../problem/problem.js';
import { explain, type Reason } from './explain.js';
import { firstList, listFromIds } from './priority-list.js';
import { ScheduleGenerator } from './schedule-generator.js';

export interface ScheduledTask {
  id: string;
  jobId?: string;
  startMinutes: number;
  finishMinutes: number;
  /** The worked parts; more than one when the task pauses at closing time. */
  worked: Interval[];
  /** True when it had started or finished before the plan was made. */
  fixed: boolean;
  /** What it waited for, in order; the last one decided the start. Empty for fixed tasks. */
  reasons: Reason[];
}

export interface ScheduledJob {
  id: string;
  /** Null when one of its tasks has no place before the horizon. */
  finishMinutes: number | null;
  tardinessMinutes: number;
  valueLost: number;
}

/** The order a schedule was made from; give it back to start the next one where this one ended. */
export interface Order {
  /** Free tasks by id, first served first. */
  taskIds: string[];
  /** Followers that were to start before the first forbidden interval after that predecessor. */
  firstWindow: { taskId: string; predecessorId: string }[];
}

export interface Schedule {
  /** By start, then id. */
  tasks: ScheduledTask[];
  jobs: ScheduledJob[];
  makespanMinutes: number;
  cost: Cost;
  order: Order;
  /** Tasks that do not fit before the horizon, with the reason in words; empty unless asked for. */
  unplaced: { id: string; reason: string }[];
}

export interface ScheduleOptions {
  /** Default: by priority, due dates and critical path. */
  order?: Partial<Order>;
  /** Default `serial`. */
  scheme?: 'serial' | 'parallel';
  /** True: tasks that do not fit are listed in `unplaced` instead of raising an error. */
  partial?: boolean;
}

/**
 * One schedule from one priority list.
 * @throws EngineError as `compile`; `infeasible` naming the first task that does not fit before the horizon, and why.
 */
export function makeSchedule(problem: Problem, options: ScheduleOptions = {}): Schedule {
  const compiled = compile(problem);
  const list = options.order?.taskIds ? listFromIds(compiled, options.order.taskIds) : firstList(compiled);
  const firstWindow = options.order?.firstWindow?.length ? firstWindowLinks(compiled, options.order.firstWindow) : null;
  return buildSchedule(compiled, list, firstWindow, options);
}

/** As `makeSchedule`, for a compiled problem and list. */
export function buildSchedule(
  compiled: Compiled,
  list: Int32Array,
  firstWindow: Uint8Array | null,
  options: Pick<ScheduleOptions, 'scheme' | 'partial'> = {},
): Schedule {
  const generator = new ScheduleGenerator(compiled);
  const reasons = explain(generator, list, firstWindow, options.scheme ?? 'serial');
  const objective = new Objective(compiled);
  const cost = objective.cost(generator.finish);
  const unplaced = [...list]
    .filter((i) => generator.start[i] === NEVER)
    .map((i) => ({ id: compiled.tasks[i]!.id, reason: misfit(compiled, generator, i) }));
  if (unplaced.length > 0 && !options.partial) {
    throw new EngineError('infeasible', unplaced[0]!.reason, `tasks.${unplaced[0]!.id}`);
  }
  const jobFinish = objective.finishes(generator.finish);
  const tasks = compiled.tasks
    .map((task, i): ScheduledTask => {
      const startMinutes = generator.start[i]!;
      const finishMinutes = generator.finish[i]!;
      const calendar =
        task.pausable && finishMinutes > startMinutes && !task.fixed?.finishMinutes ? compiled.taskCalendar[i] : null;
      return {
        id: task.id,
        ...(task.jobId === undefined ? {} : { jobId: task.jobId }),
        startMinutes,
        finishMinutes,
        worked: calendar
          ? calendar.segments(startMinutes, finishMinutes)
          : [{ startMinutes, endMinutes: finishMinutes }],
        fixed: task.fixed !== undefined,
        reasons: reasons[i]!,
      };
    })
    .filter((task) => task.startMinutes !== NEVER)
    .sort((a, b) => a.startMinutes - b.startMinutes);
  return {
    tasks,
    jobs: objective.jobIds.flatMap((id, j) => {
      const finish = jobFinish[j]!;
      if (finish === -Infinity) return [];
      const end = Math.min(finish, compiled.horizon);
      return {
        id,
        finishMinutes: finish >= NEVER ? null : finish,
        tardinessMinutes: Math.max(0, end - objective.dueOf(j)),
        valueLost: objective.valueLost(j, end),
      };
    }),
    makespanMinutes: cost.makespanMinutes,
    cost,
    order: {
      taskIds: [...list].map((i) => compiled.tasks[i]!.id),
      firstWindow: firstWindow ? firstWindowNames(compiled, firstWindow) : [],
    },
    unplaced,
  };
}

/** First-window flags per link from names; names that no longer exist are passed over. */
export function firstWindowLinks(compiled: Compiled, names: Order['firstWindow']): Uint8Array {
  const firstWindow = new Uint8Array(compiled.linkTask.length);
  for (const { taskId, predecessorId } of names) {
    const i = compiled.indexOf.get(taskId);
    const p = compiled.indexOf.get(predecessorId);
    if (i === undefined || p === undefined) continue;
    for (let l = compiled.linkFrom[i]!; l < compiled.linkFrom[i + 1]!; l++)
      if (compiled.linkTask[l] === p) firstWindow[l] = 1;
  }
  return firstWindow;
}

function firstWindowNames(compiled: Compiled, firstWindow: Uint8Array): Order['firstWindow'] {
  const names: Order['firstWindow'] = [];
  for (let i = 0; i < compiled.count; i++) {
    for (let l = compiled.linkFrom[i]!; l < compiled.linkFrom[i + 1]!; l++) {
      if (firstWindow[l])
        names.push({ taskId: compiled.tasks[i]!.id, predecessorId: compiled.tasks[compiled.linkTask[l]!]!.id });
    }
  }
  return names;
}

/** Why task `i` found no place, in words. */
function misfit(compiled: Compiled, generator: ScheduleGenerator, i: number): string {
  const task = compiled.tasks[i]!;
  for (let l = compiled.linkFrom[i]!; l < compiled.linkFrom[i + 1]!; l++) {
    const p = compiled.linkTask[l]!;
    if (generator.finish[p]! >= NEVER)
      return `Task ${task.id} does not fit: it follows ${compiled.tasks[p]!.id}, which has no place itself`;
  }
  const length = compiled.conditions.duration[i]!;
  const needs = task.demands.map((demand) => demand.resourceId).join(', ');
  const working = compiled.conditions.working[i];
  const windows = compiled.conditions.windows[i];
  const bound = task.windows !== undefined || task.weatherId !== undefined;
  const longest = (calendar: NonNullable<typeof working>): number =>
    calendar.starts.reduce((most, from, k) => Math.max(most, calendar.ends[k]! - from), 0);
  if (working && !task.pausable && longest(working) < length) {
    return (
      `Task ${task.id} can never run: it takes ${length} minutes in one sitting, and the longest time ` +
      `${[needs, bound ? 'its windows' : ''].filter(Boolean).join(' and ')} leave open at once is ${longest(working)}`
    );
  }
  if (windows && longest(windows) < length) {
    return `Task ${task.id} can never run: it takes ${length} minutes, and its longest window has ${longest(windows)}`;
  }
  if (working && task.pausable && working.totalOpen < length) {
    return `Task ${task.id} can never run: it takes ${length} minutes, and ${needs} are open together for only ${working.totalOpen}`;
  }
  return (
    `Task ${task.id} does not fit before the horizon at minute ${compiled.horizon}: it takes ${length} ` +
    `minutes${needs ? ` of ${needs}` : ''}${bound ? ' inside its windows' : ''} ` +
    `and may not start before minute ${earliest(compiled, generator, i)}`
  );
}

function earliest(compiled: Compiled, generator: ScheduleGenerator, i: number): number {
  let minute = compiled.conditions.release[i]!;
  for (let l = compiled.linkFrom[i]!; l < compiled.linkFrom[i + 1]!; l++) {
    minute = Math.max(minute, generator.finish[compiled.linkTask[l]!]! + compiled.linkWait[l]!);
  }
  return minute;
}

/** Records that have been read, scheduled. Pure. */
import { lookUp } from '../../engine/look-up.js';
import { makeSchedule, type Order, type Schedule, type ScheduledTask } from '../../engine/schedule/index.js';
import type { ExpectedCompletion } from '../../platform/operation/expected-completion.js';
import { HORIZON_DAYS, type PlanRecords, type PlanTask } from '../inputs/records.js';
import { buildProblem, type BuiltProblem, nobodyIsIn } from './problem.js';
import { decisive, type Naming, startReason } from './words.js';

export interface ScheduledRecords {
  records: PlanRecords;
  built: BuiltProblem;
  schedule: Schedule;
  naming: Naming;
  /** The scheduled tasks of a job, in order of start; the time on the rack after a coat is one of them. */
  tasksOf(jobId: string): ScheduledTask[];
}

/**
 * Schedules records that have been read. Pure.
 * @param order the plan's; what it does not name comes in where it would without one
 */
export function scheduleRecords(records: PlanRecords, order: Order | null = null): ScheduledRecords {
  const built = buildProblem(records);
  return withSchedule(records, makeSchedule(built.problem, { partial: true, ...(order ? { order } : {}) }), built);
}

export interface ScheduleQuestion {
  records: PlanRecords;
  order: Order | null;
}

/** Only the schedule: plain data, as a thread gives it back. */
export const scheduleOf = ({ records, order }: ScheduleQuestion): Schedule => scheduleRecords(records, order).schedule;

/** The same with a schedule that has been made elsewhere. */
export function withSchedule(
  records: PlanRecords,
  schedule: Schedule,
  built: BuiltProblem = buildProblem(records),
): ScheduledRecords {
  const numbers = new Map(records.jobs.map((job) => [job.id, job.number]));
  const tasks = new Map(
    records.tasks.map((task): [string, PlanTask & { jobNumber: number }] => [
      task.id,
      { ...task, jobNumber: numbers.get(task.jobId) ?? 0 },
    ]),
  );
  const byJob = new Map<string, ScheduledTask[]>();
  for (const task of schedule.tasks) {
    if (task.jobId === undefined) continue;
    const list = byJob.get(task.jobId);
    if (list) list.push(task);
    else byJob.set(task.jobId, [task]);
  }
  return {
    records,
    built,
    schedule,
    naming: { local: built.local, tasks },
    tasksOf: (jobId) => byJob.get(jobId) ?? [],
  };
}

export function completionsOf(forecast: ScheduledRecords): Map<string, ExpectedCompletion> {
  const finishes = new Map(forecast.schedule.jobs.map((job) => [job.id, job.finishMinutes]));
  return new Map(
    forecast.records.jobs.map((job) => {
      const finish = finishes.get(job.id);
      const day = finish === undefined || finish === null ? null : forecast.built.local.dayOf(finish);
      return [job.id, { number: job.number, title: job.title, day, reasons: [jobReason(forecast, job.id)] }];
    }),
  );
}

/** What decides a job's completion: its chain of waits, from the end back to where it begins, longest wait named. */
export function jobReason(forecast: ScheduledRecords, jobId: string): string {
  const misfit = forecast.schedule.unplaced.find(
    (one) => forecast.naming.tasks.get(one.id.replace(/\/cure$/, ''))?.jobId === jobId,
  );
  if (misfit) {
    const task = forecast.naming.tasks.get(misfit.id.replace(/\/cure$/, ''));
    return (
      `${task?.name ?? 'A task'} has no place in the next ${HORIZON_DAYS} ` +
      `days${nobodyIsIn(forecast.built) ? ': nobody is ever in' : ''}`
    );
  }
  const open = forecast.tasksOf(jobId).filter((task) => !task.fixed);
  const own = open.filter((task) => forecast.naming.tasks.has(task.id));
  if (open.length > 0 && own.length === 0) return 'the last coat is curing';
  if (own.length === 0)
    return forecast.tasksOf(jobId).length > 0
      ? 'all its tasks are done'
      : 'it has no tasks yet, so nothing is known of when it will be done';
  const cause = longestWait(own, forecast);
  return cause
    ? `${lookUp(forecast.naming.tasks, cause.id).name} ${startReason(cause, forecast.naming)}`
    : 'only the work itself takes time';
}

/** Of the tasks on the way to the job's end, the one that was pushed furthest beyond the finish of what preceded it. */
function longestWait(tasks: readonly ScheduledTask[], forecast: ScheduledRecords): ScheduledTask | undefined {
  const byId = new Map(forecast.schedule.tasks.map((task) => [task.id, task]));
  const problemTasks = new Map(forecast.built.problem.tasks.map((task) => [task.id, task]));
  let worst: ScheduledTask | undefined;
  let worstWait = 0;
  let at: ScheduledTask | undefined = [...tasks].sort((a, b) => b.finishMinutes - a.finishMinutes)[0];
  const seen = new Set<string>();
  while (at && !seen.has(at.id)) {
    seen.add(at.id);
    const before = (problemTasks.get(at.id)?.predecessors ?? [])
      .map((link) => byId.get(link.taskId))
      .filter((one): one is ScheduledTask => one !== undefined);
    const free = Math.max(forecast.built.problem.nowMinutes ?? 0, ...before.map((one) => one.finishMinutes));
    const wait = at.startMinutes - free;
    // Only the shop's own tasks have names; a cure or a bound between two tasks is told by what waits for it.
    if (wait > worstWait && decisive(at.reasons) && forecast.naming.tasks.has(at.id)) {
      worst = at;
      worstWait = wait;
    }
    at = before.sort((a, b) => b.finishMinutes - a.finishMinutes)[0];
  }
  return worst;
}

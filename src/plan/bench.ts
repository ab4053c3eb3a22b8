/** What to work on, on one day: the part of the plan that falls on it. Pure. */
import type { ScheduledTask } from '../engine/schedule/index.js';
import type { Forecast } from './planned.js';
import { HORIZON_DAYS, nobodyIsIn, type PlanTask } from './problem.js';
import { decisive, partWords, span, whyStart } from './words.js';

export interface BenchEntry {
  taskId: string;
  jobId: string;
  jobNumber: number;
  machine: string;
  name: string;
  startsAt: Date;
  finishesAt: Date;
  minutes: number;
  people: number;
  placeKind: string | null;
  why: string;
  prepare: string[];
  cautions: string[];
}

export interface BenchDay {
  day: string;
  tasks: BenchEntry[];
  /** Why there is nothing to do. */
  note: string | null;
}

export function benchList(forecast: Forecast, day: string): BenchDay {
  const { local } = forecast.built;
  const from = local.ofDay(day);
  const until = from + 1440;
  const tasks: BenchEntry[] = [];
  for (const scheduled of forecast.schedule.tasks) {
    const task = forecast.naming.tasks.get(scheduled.id);
    if (!task || task.finishedAt || task.people === 0) continue;
    const parts = scheduled.worked.filter((part) => part.startMinutes < until && part.endMinutes > from);
    if (parts.length === 0) continue;
    const startMinutes = Math.max(from, parts[0]!.startMinutes);
    const endMinutes = Math.min(until, parts.at(-1)!.endMinutes);
    tasks.push({
      taskId: task.id,
      jobId: task.jobId,
      jobNumber: task.jobNumber,
      machine: forecast.records.jobs.find((job) => job.id === task.jobId)?.title ?? '',
      name: task.name,
      startsAt: local.toInstant(startMinutes),
      finishesAt: local.toInstant(endMinutes),
      minutes: parts.reduce((sum, part) => sum + Math.min(until, part.endMinutes) - Math.max(from, part.startMinutes), 0),
      people: task.people,
      placeKind: task.placeKind,
      why: whyNow(scheduled, forecast, from),
      prepare: prepareFor(task),
      cautions: task.cautions,
    });
  }
  return { day, tasks, note: tasks.length > 0 ? null : whyNothing(forecast, from) };
}

function whyNow(scheduled: ScheduledTask, forecast: Forecast, from: number): string {
  const { naming } = forecast;
  if (naming.tasks.get(scheduled.id)!.startedAt) return 'it has begun';
  if (scheduled.startMinutes < from) return `it goes on from ${naming.local.dayOf(scheduled.worked.findLast((part) => part.startMinutes < from)!.startMinutes)}`;
  const slack = slackDays(scheduled, forecast);
  const reason = decisive(scheduled.why);
  const free = reason === undefined || (reason.kind === 'predecessor' && reason.waitMinutes === 0 && isDone(reason.taskId, forecast));
  const ready = free ? 'it can be done now' : `it ${whyStart(scheduled, naming)}`;
  return slack === null ? ready : `${ready}; ${slack < 0 ? `its job is ${-slack} day${slack === -1 ? '' : 's'} behind what it is due for` : `its job has ${slack} day${slack === 1 ? '' : 's'} to spare`}`;
}

/** A task that is finished, or the cure after one that has run its time. */
function isDone(taskId: string, { naming, built }: Forecast): boolean {
  const task = naming.tasks.get(taskId.replace(/\/cure$/, ''));
  if (!task?.finishedAt) return false;
  const cured = taskId.endsWith('/cure') ? task.cureMinutes : 0;
  return naming.local.ofInstant(task.finishedAt) + cured <= (built.problem.nowMinutes ?? 0);
}

function slackDays(scheduled: ScheduledTask, forecast: Forecast): number | null {
  const job = forecast.records.jobs.find((one) => one.id === scheduled.jobId);
  const finish = forecast.schedule.jobs.find((one) => one.id === scheduled.jobId)?.finishMinutes;
  if (!job?.dueDay || finish === null || finish === undefined) return null;
  return Math.floor((forecast.built.local.ofDay(job.dueDay) - finish) / 1440) + 1;
}

function prepareFor(task: Pick<PlanTask, 'awaited' | 'cureMinutes'>): string[] {
  return [
    ...task.awaited.map((part) => `have ready: ${partWords(part)}`),
    ...(task.cureMinutes > 0 ? [`keep a place on the rack free for ${span(task.cureMinutes)}`] : []),
  ];
}

function whyNothing(forecast: Forecast, from: number): string {
  const next = forecast.schedule.tasks.find((task) => {
    const known = forecast.naming.tasks.get(task.id);
    return known !== undefined && !known.finishedAt && known.people > 0 && task.startMinutes >= from;
  });
  if (!next) {
    if (forecast.schedule.unplaced.length === 0) return forecast.records.jobs.length === 0 ? 'No job is open.' : 'No open job has a task left to do.';
    return nobodyIsIn(forecast.built) ? 'Nothing can be planned: nobody is ever in. Enter the shop\'s opening hours, or a person\'s weekly hours.' : `What is left to do has no place in the next ${HORIZON_DAYS} days.`;
  }
  const task = forecast.naming.tasks.get(next.id)!;
  return `Nothing can be worked on. Next: ${task.name.toLowerCase()} on job ${task.jobNumber} on ${forecast.built.local.dayOf(next.startMinutes)}; it ${whyStart(next, forecast.naming)}.`;
}

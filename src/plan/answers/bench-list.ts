/** What to work on, on one day: the part of the plan that falls on it. Pure. */
import { minutesInWords } from '../../engine/durations.js';
import { at, last, lookUp } from '../../engine/look-up.js';
import type { ScheduledTask } from '../../engine/schedule/index.js';
import { daysBetween } from '../../platform/days.js';
import { HORIZON_DAYS, type PlanTask } from '../inputs/records.js';
import { nobodyIsIn } from '../model/problem.js';
import type { ScheduledRecords } from '../model/scheduled-records.js';
import { decisive, partWords, startReason } from '../model/words.js';
import { type Assignee, assignPeople, type DayTask } from './assign-people.js';

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
  /** Who is to do it; nobody while the shop has entered no people. */
  assignees: Assignee[];
  placeKind: PlanTask['placeKind'];
  reasons: string[];
  prepare: string[];
  cautions: string[];
}

export interface BenchDay {
  day: string;
  tasks: BenchEntry[];
  /** Why there is nothing to do. */
  note: string | null;
}

/** Of jobs, the day by which each is likely finished; without it, the day of the one pass. */
export type LikelyDays = ReadonlyMap<string, string | null>;

export function benchList(forecast: ScheduledRecords, day: string, likely: LikelyDays = new Map()): BenchDay {
  const { local } = forecast.built;
  const from = local.ofDay(day);
  const until = from + 1440;
  const tasks: BenchEntry[] = [];
  const shared: DayTask[] = [];
  for (const scheduled of forecast.schedule.tasks) {
    const task = forecast.naming.tasks.get(scheduled.id);
    if (!task || task.finishedAt || task.people === 0) continue;
    const parts = scheduled.worked.filter((part) => part.startMinutes < until && part.endMinutes > from);
    if (parts.length === 0) continue;
    const startMinutes = Math.max(from, at(parts, 0).startMinutes);
    const endMinutes = Math.min(until, last(parts).endMinutes);
    shared.push({
      taskId: task.id,
      jobId: task.jobId,
      kind: task.kind,
      people: task.people,
      worked: parts.map((part) => ({
        startMinutes: Math.max(from, part.startMinutes),
        endMinutes: Math.min(until, part.endMinutes),
      })),
    });
    tasks.push({
      taskId: task.id,
      jobId: task.jobId,
      jobNumber: task.jobNumber,
      machine: forecast.records.jobs.find((job) => job.id === task.jobId)?.title ?? '',
      name: task.name,
      startsAt: local.toInstant(startMinutes),
      finishesAt: local.toInstant(endMinutes),
      minutes: parts.reduce(
        (sum, part) => sum + Math.min(until, part.endMinutes) - Math.max(from, part.startMinutes),
        0,
      ),
      people: task.people,
      assignees: [],
      placeKind: task.placeKind,
      reasons: [reasonNow(scheduled, forecast, from, likely)],
      prepare: prepareFor(task),
      cautions: task.cautions,
    });
  }
  const assigned = assignPeople(forecast.records, shared, local);
  for (const task of tasks) task.assignees = assigned.get(task.taskId) ?? [];
  return { day, tasks, note: tasks.length > 0 ? null : reasonForNothing(forecast, from) };
}

function reasonNow(scheduled: ScheduledTask, forecast: ScheduledRecords, from: number, likely: LikelyDays): string {
  const { naming } = forecast;
  if (lookUp(naming.tasks, scheduled.id).startedAt) return 'it has begun';
  const before = scheduled.worked.findLast((part) => part.startMinutes < from);
  if (before) return `it goes on from ${naming.local.dayOf(before.startMinutes)}`;
  const slack = slackDays(scheduled, forecast, likely);
  const reason = decisive(scheduled.reasons);
  const free =
    reason === undefined ||
    (reason.kind === 'predecessor' && reason.waitMinutes === 0 && isDone(reason.taskId, forecast));
  const ready = free ? 'it can be done now' : `it ${startReason(scheduled, naming)}`;
  return slack === null
    ? ready
    : `${ready}; ${
        slack < 0
          ? `its job is ${-slack} day${slack === -1 ? '' : 's'} ` + `behind what it is due for`
          : `its job has ${slack} day${slack === 1 ? '' : 's'} to spare`
      }`;
}

/** A task that is finished, or the cure after one that has run its time. */
function isDone(taskId: string, { naming, built }: ScheduledRecords): boolean {
  const task = naming.tasks.get(taskId.replace(/\/cure$/, ''));
  if (!task?.finishedAt) return false;
  const cured = taskId.endsWith('/cure') ? task.cureMinutes : 0;
  return naming.local.ofInstant(task.finishedAt) + cured <= (built.problem.nowMinutes ?? 0);
}

function slackDays(
  { jobId }: ScheduledTask,
  { records, schedule, built }: ScheduledRecords,
  likely: LikelyDays,
): number | null {
  const due = records.jobs.find((one) => one.id === jobId)?.dueDate;
  const finish = schedule.jobs.find((one) => one.id === jobId)?.finishMinutes;
  const day =
    (jobId === undefined ? undefined : likely.get(jobId)) ??
    (finish === null || finish === undefined ? null : built.local.dayOf(finish));
  return due && day ? daysBetween(day, due) : null;
}

function prepareFor(task: Pick<PlanTask, 'awaited' | 'cureMinutes'>): string[] {
  return [
    ...task.awaited.map((part) => `have ready: ${partWords(part)}`),
    ...(task.cureMinutes > 0 ? [`keep a place on the rack free for ${minutesInWords(task.cureMinutes)}`] : []),
  ];
}

function reasonForNothing(forecast: ScheduledRecords, from: number): string {
  const { naming, built, schedule } = forecast;
  const ahead = schedule.tasks.flatMap((task) => {
    const known = naming.tasks.get(task.id);
    const part =
      known && !known.finishedAt && known.people > 0
        ? task.worked.find(({ startMinutes }) => startMinutes >= from)
        : undefined;
    return known && part ? [{ task, known, at: part.startMinutes }] : [];
  });
  const [next] = ahead.sort((a, b) => a.at - b.at);
  if (!next) {
    if (schedule.unplaced.length === 0)
      return forecast.records.jobs.length === 0 ? 'No job is open.' : 'No open job has a task left to do.';
    return nobodyIsIn(built)
      ? "Nothing can be planned: nobody is ever in. Enter the shop's opening hours, or a person's weekly hours."
      : `What is left to do has no place in the next ${HORIZON_DAYS} days.`;
  }
  const what = `${next.known.name.toLowerCase()} on job ${next.known.jobNumber}`;
  const day = built.local.dayOf(next.at);
  if (next.task.startMinutes < from) return `Nobody is in. Next: ${what} goes on on ${day}.`;
  return `Nothing can be worked on. Next: ${what} on ${day}; it ${startReason(next.task, naming)}.`;
}

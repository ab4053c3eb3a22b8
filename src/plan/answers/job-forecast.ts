/** A job's expected completion told in full: the chain that leads there and every wait on it. Pure. */
import { minutesInWords } from '../../engine/durations.js';
import { lookUp } from '../../engine/look-up.js';
import type { Reason, ScheduledTask } from '../../engine/schedule/index.js';
import { daysBetween } from '../../platform/days.js';
import type { PlanJob } from '../inputs/records.js';
import { isFound, stepOfFound } from '../model/found-work.js';
import { isLikely } from '../model/likely-work.js';
import { completionsOf, type ScheduledRecords } from '../model/scheduled-records.js';
import { decisive, partWords, startReason, WAIT_WORTH_TELLING_MINUTES } from '../model/words.js';

export interface JobScheduleFacts {
  jobId: string;
  jobNumber: number;
  jobTitle: string;
  expectedDate: string | null;
  dueDate: string | null;
  daysLate: number | null;
  nextTask: string | null;
  remainingHandsOnMinutes: number;
  reasons: string[];
  chain: string[];
  waits: JobWait[];
}

export interface JobWait {
  taskId: string | null;
  taskName: string | null;
  until: string | null;
  what: string;
  kind: 'part' | 'cure' | 'recoat' | 'weather' | 'resource' | 'safetyChecks' | 'other';
}

export function jobSchedules(forecast: ScheduledRecords): JobScheduleFacts[] {
  const completions = completionsOf(forecast);
  return forecast.records.jobs.map((job) => jobSchedule(forecast, job, lookUp(completions, job.id)));
}

function jobSchedule(
  forecast: ScheduledRecords,
  job: PlanJob,
  completion: { day: string | null; reasons: string[] },
): JobScheduleFacts {
  const open = forecast.tasksOf(job.id).filter((task) => !task.fixed);
  const own = open.filter((task) => forecast.naming.tasks.has(task.id));
  // The cure is time too, but nobody's.
  const remaining = own
    .filter((task) => lookUp(forecast.naming.tasks, task.id).people > 0)
    .reduce((sum, task) => sum + task.worked.reduce((all, part) => all + part.endMinutes - part.startMinutes, 0), 0);
  return {
    jobId: job.id,
    jobNumber: job.number,
    jobTitle: job.title,
    expectedDate: completion.day,
    dueDate: job.dueDate,
    daysLate: completion.day && job.dueDate ? daysBetween(job.dueDate, completion.day) : null,
    nextTask: own[0] ? lookUp(forecast.naming.tasks, own[0].id).name : null,
    remainingHandsOnMinutes: remaining,
    reasons: completion.reasons,
    chain: chainOf(forecast, open),
    waits: own.flatMap((task) => waitOf(forecast, task)),
  };
}

/** From the first task to the last along the predecessors that finished latest, each with what it waited for. */
function chainOf(forecast: ScheduledRecords, open: readonly ScheduledTask[]): string[] {
  const byId = new Map(open.map((task) => [task.id, task]));
  const problemTasks = new Map(forecast.built.problem.tasks.map((task) => [task.id, task]));
  const chain: string[] = [];
  let at: ScheduledTask | undefined = [...open].sort((a, b) => b.finishMinutes - a.finishMinutes)[0];
  while (at && chain.length < 100) {
    const { local } = forecast.built;
    const cure = at.id.endsWith('/cure');
    const reason = cure ? '' : `, ${startReason(at, forecast.naming)}`;
    chain.unshift(
      `${local.dayOf(at.startMinutes)} to ${local.dayOf(at.finishMinutes)}: ${nameOf(forecast, at.id)}${reason}`,
    );
    const before: ScheduledTask[] = (problemTasks.get(at.id)?.predecessors ?? [])
      .map((link) => byId.get(link.taskId))
      .filter((one): one is ScheduledTask => one !== undefined);
    at = before.sort((a, b) => b.finishMinutes - a.finishMinutes)[0];
  }
  return chain;
}

function nameOf(forecast: ScheduledRecords, id: string): string {
  if (isLikely(id)) return 'what was found and is not decided on, by how likely it is';
  const task = lookUp(forecast.naming.tasks, stepOfFound(id.replace(/\/cure$/, '')));
  if (id.endsWith('/cure')) return `cure after ${task.name.toLowerCase()} (${minutesInWords(task.cureMinutes)})`;
  return isFound(id) ? `what "${task.name}" may turn up` : task.name;
}

/** What a task not yet begun waits for. A part that is not on hand is told even where something else takes longer. */
function waitOf(forecast: ScheduledRecords, scheduled: ScheduledTask): JobWait[] {
  const task = lookUp(forecast.naming.tasks, scheduled.id);
  if (task.startedAt) return [];
  const { local } = forecast.built;
  const waits: JobWait[] = task.awaited.map((part) => ({
    taskId: task.id,
    taskName: task.name,
    until: part.expectedDate,
    what: partWords(part),
    kind: 'part',
  }));
  const reason = decisive(scheduled.reasons);
  if (!reason || (reason.kind === 'release' && task.awaited.length > 0)) return waits;
  const kind = kindOf(reason);
  const from =
    reason.kind === 'predecessor' ? reason.untilMinutes - reason.waitMinutes : (forecast.built.problem.nowMinutes ?? 0);
  if (
    kind !== 'other' &&
    reason.untilMinutes - from >= WAIT_WORTH_TELLING_MINUTES &&
    !(reason.kind === 'predecessor' && reason.waitMinutes === 0)
  ) {
    waits.push({
      taskId: task.id,
      taskName: task.name,
      until: local.dayOf(reason.untilMinutes),
      what: startReason(scheduled, forecast.naming),
      kind,
    });
  }
  return waits;
}

function kindOf(reason: Reason): JobWait['kind'] {
  switch (reason.kind) {
    case 'release':
      return 'cure';
    case 'predecessor':
      return 'cure';
    case 'forbidden':
      return 'recoat';
    case 'window':
      return 'weather';
    case 'resource':
      return 'resource';
    default:
      return 'other';
  }
}

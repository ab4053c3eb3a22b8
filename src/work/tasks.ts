/** What happens to tasks: started, finished, reopened; each against the order they stand in. */
import { Temporal } from 'temporal-polyfill';
import type { z } from 'zod';
import { minutesInWords } from '../engine/durations.js';
import type { Prisma } from '../platform/database/client/client.js';
import { Conflict, Forbidden, Invalid, NotFound, Refused } from '../platform/errors.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';
import { cautionsFor } from './cautions.js';
import { lockOpenJob, noteOnJob, settleJob } from './jobs.js';
import { isTooLong } from './labour-length.js';
import { type Before, type ForbiddenInterval, type Hindrance, hindranceAt } from './order.js';
import type { TaskStatus } from './work.shapes.js';

/** What a task's reply always holds. */
export const taskInclude = {
  predecessors: { orderBy: [{ createdAt: 'asc' }, { id: 'asc' }] },
  findings: { select: { findingId: true }, orderBy: { id: 'asc' } },
} satisfies Prisma.TaskInclude;

/** A task's row with its links to those before it. */
export type StoredTask = Stored<'task', typeof taskInclude>;

/** A task's row with its state and its cautions in full. */
export const withTaskStatus = <R extends StoredTask>({ cautions, findings, ...task }: R) => ({
  ...task,
  status: statusOf(task),
  cautions: cautionsFor(cautions),
  findingIds: findings.map(({ findingId }) => findingId),
});
export type TaskWithStatus = ReturnType<typeof withTaskStatus<StoredTask>>;

const statusOf = (
  task: Pick<Stored<'task'>, 'startedAt' | 'finishedAt' | 'skippedReason'>,
): z.output<typeof TaskStatus> =>
  task.skippedReason !== null ? 'skipped' : task.finishedAt ? 'finished' : task.startedAt ? 'started' : 'toDo';

/**
 * A task of an open job, the job locked.
 * @throws NotFound, Conflict `archived` or `job-closed`
 */
export async function taskToWorkOn(
  context: OperationContext,
  taskId: string,
): Promise<{ task: Stored<'task'>; job: Stored<'job'> }> {
  const found = await context.tx.task.findFirst({ where: { id: taskId }, select: { jobId: true } });
  if (!found) throw new NotFound('task', taskId);
  const job = await lockOpenJob(context, found.jobId);
  // Read again: whoever held the lock may have changed it.
  const task = await context.tx.task.findUniqueOrThrow({ where: { id: taskId } });
  if (task.archivedAt) throw new Conflict('archived', 'This task was archived and is only kept for history.');
  return { task, job };
}

/**
 * The moment a caller gave, or now.
 * @throws Invalid when it lies in the future
 */
export function pastMoment(context: OperationContext, given: string | null | undefined, pointer: string): Date {
  if (!given) return context.now;
  const moment = new Date(given);
  if (moment > context.now)
    throw new Invalid([{ detail: 'lies in the future; only what has happened is recorded', pointer }]);
  return moment;
}

export interface StartOverride {
  override?: boolean | null | undefined;
  reason?: string | null | undefined;
}

/** Starts a task. @throws Conflict when it was started, Refused when the order of the tasks stands against it */
export async function startTask(
  context: OperationContext,
  taskId: string,
  given: StartOverride & { at?: string | null | undefined },
): Promise<TaskWithStatus> {
  const { task, job } = await taskToWorkOn(context, taskId);
  if (task.finishedAt)
    throw new Conflict('task-finished', `"${task.name}" is finished; reopen it if it has to be done again.`);
  if (task.startedAt)
    throw new Conflict('task-started', `"${task.name}" was started at ${local(context, task.startedAt)}.`);
  const at = pastMoment(context, given.at, '/at');
  await mindOrder(context, job, task, at, given);
  return writeTask(context, task.id, { startedAt: at });
}

/**
 * Finishes a task, and starts it first where that was not recorded; whoever is clocked on to it is clocked off.
 * @throws Conflict when it is finished, Refused when the order of the tasks or its own cure stands against it
 */
export async function finishTask(
  context: OperationContext,
  taskId: string,
  given: StartOverride & { at?: string | null | undefined; startedAt?: string | null | undefined },
): Promise<TaskWithStatus> {
  const { task, job } = await taskToWorkOn(context, taskId);
  if (task.finishedAt)
    throw new Conflict('task-finished', `"${task.name}" was finished at ${local(context, task.finishedAt)}.`);
  const at = pastMoment(context, given.at, '/at');
  if (task.startedAt && given.startedAt)
    throw new Conflict(
      'task-started',
      `"${task.name}" was started at ${local(context, task.startedAt)}; leave startedAt out.`,
    );
  const startedAt: Date = task.startedAt ?? (given.startedAt ? pastMoment(context, given.startedAt, '/startedAt') : at);
  if (startedAt > at)
    throw new Invalid([{ detail: `lies before the task was started at ${local(context, startedAt)}`, pointer: '/at' }]);
  if (!task.startedAt) await mindOrder(context, job, task, startedAt, given);
  const curedAt = new Date(startedAt.getTime() + task.cureMinutes * 60_000);
  if (task.cureMinutes > 0 && at < curedAt) {
    await refuseUnless(
      context,
      job,
      task,
      given,
      'still-curing',
      `"${task.name}" holds until ${local(context, curedAt)}, ${minutesInWords(task.cureMinutes)} after it was started.`,
      curedAt,
    );
  }
  await clockOff(context, task, at);
  const finished = await writeTask(context, task.id, { startedAt, finishedAt: at });
  await settleJob(context, job.id);
  return finished;
}

/**
 * Takes a task's finish back, so that it is started again; of a task only started, takes the start back.
 * @throws Conflict when it is not started, when it has labour, or when what follows it was started
 */
export async function reopenTask(
  context: OperationContext,
  taskId: string,
  given: StartOverride,
): Promise<TaskWithStatus> {
  const { task, job } = await taskToWorkOn(context, taskId);
  if (!task.startedAt) throw new Conflict('task-to-do', `"${task.name}" has not been started.`);
  if (!task.finishedAt) {
    const labour = await context.tx.labourEntry.count({ where: { taskId, archivedAt: null } });
    if (labour > 0)
      throw new Conflict(
        'has-labour',
        `"${task.name}" has labour recorded on it, so it was started; archive those entries first.`,
      );
    return writeTask(context, taskId, { startedAt: null });
  }
  const followers = await context.tx.taskLink.findMany({
    where: { predecessorId: taskId, task: { archivedAt: null, startedAt: { not: null } } },
    include: { task: true },
  });
  if (followers.length > 0) {
    const names = followers.map((link) => `"${link.task.name}"`).join(', ');
    await refuseUnless(
      context,
      job,
      task,
      given,
      'follower-started',
      `${names} came after "${task.name}" and was started; reopen that first.`,
      null,
    );
  }
  const reopened = await writeTask(context, taskId, { finishedAt: null });
  await settleJob(context, job.id);
  return reopened;
}

const writeTask = async (context: OperationContext, taskId: string, columns: object): Promise<TaskWithStatus> =>
  withTaskStatus(
    await context.tx.task.update({
      where: { id: taskId },
      data: { ...columns, version: { increment: 1 } },
      include: taskInclude,
    }),
  );

async function clockOff(context: OperationContext, task: Stored<'task'>, at: Date): Promise<void> {
  const running = { taskId: task.id, endedAt: null, archivedAt: null };
  const late = await context.tx.labourEntry.findFirst({
    where: { ...running, startedAt: { gte: at } },
    include: { person: true },
  });
  if (late)
    throw new Conflict(
      'labour-running',
      `${late.person.name} clocked on to "${task.name}" after that; end or archive that entry first.`,
    );
  const longest = await context.tx.labourEntry.findFirst({
    where: running,
    orderBy: { startedAt: 'asc' },
    include: { person: true },
  });
  if (longest && isTooLong(longest.startedAt, at)) {
    throw new Conflict(
      'labour-too-long',
      `${longest.person.name} has been clocked on to "${task.name}" since ${local(context, longest.startedAt)}, ` +
        `longer than anybody works in one go; end that entry with its true end first.`,
    );
  }
  await context.tx.labourEntry.updateMany({ where: running, data: { endedAt: at, version: { increment: 1 } } });
}

async function mindOrder(
  context: OperationContext,
  job: Stored<'job'>,
  task: Stored<'task'>,
  at: Date,
  given: StartOverride,
): Promise<void> {
  const links = await context.tx.taskLink.findMany({
    where: { taskId: task.id, predecessor: { archivedAt: null } },
    include: { predecessor: true },
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
  });
  const hindrance = hindranceAt(
    links.map((link): Before => ({
      name: link.predecessor.name,
      finishedAt: link.predecessor.finishedAt,
      minWaitMinutes: link.minWaitMinutes,
      // The column is written only through the shape.
      forbiddenIntervals: link.forbiddenIntervals as unknown as ForbiddenInterval[],
      reason: link.reason,
    })),
    at,
  );
  if (hindrance)
    await refuseUnless(
      context,
      job,
      task,
      given,
      hindrance.code,
      inWords(context, task, hindrance),
      hindrance.allowedFrom,
    );
  const other = hindrance ? null : await context.startHindrance(task.id, at);
  if (other) await refuseUnless(context, job, task, given, other.code, other.detail, other.allowedFrom);
}

function inWords(
  context: OperationContext,
  task: Stored<'task'>,
  { code, before, forbidden, allowedFrom }: Hindrance,
): string {
  const because = before.reason ? ` (${before.reason})` : '';
  const from = allowedFrom ? ` It may start from ${local(context, allowedFrom)}.` : '';
  const since = before.finishedAt
    ? `"${before.name}", finished at ${local(context, before.finishedAt)},`
    : `"${before.name}"`;
  if (code === 'wait-not-over')
    return `"${task.name}" may start ${minutesInWords(before.minWaitMinutes)} after ${since} at the earliest${because}.${from}`;
  if (forbidden)
    return (
      `"${task.name}" may not start between ${minutesInWords(forbidden.fromMinutes)} and ` +
      `${minutesInWords(forbidden.toMinutes)} after ${since} is done${because}.${from}`
    );
  if (before.finishedAt) return `"${task.name}" comes after ${since} which is later${because}.${from}`;
  return `"${task.name}" comes after ${since}, which is not finished${because}; it may start once that is.`;
}

/** Refuses, unless the owner has it done even so and says why, which is then written into the job's notes. */
async function refuseUnless(
  context: OperationContext,
  job: Stored<'job'>,
  task: Stored<'task'>,
  given: StartOverride,
  code: string,
  detail: string,
  allowedFrom: Date | null,
): Promise<void> {
  if (!given.override) throw new Refused(code, detail, { allowedFrom: allowedFrom?.toISOString() ?? null });
  if (context.role !== 'owner') throw new Forbidden(`Only an owner's key may have it done even so. ${detail}`);
  if (!given.reason) throw new Invalid([{ detail: 'say why it is done even so', pointer: '/reason' }]);
  // Read again: one operation may write two such notes.
  await noteOnJob(
    context,
    await context.tx.job.findUniqueOrThrow({ where: { id: job.id } }),
    `${task.code} done even so (${code}): ${given.reason}`,
  );
}

/** An instant in the shop's local time, still RFC 3339. */
export const local = (context: OperationContext, moment: Date): string =>
  Temporal.Instant.fromEpochMilliseconds(moment.getTime())
    .toZonedDateTimeISO(context.shop.timeZone)
    .toString({ smallestUnit: 'minute', timeZoneName: 'never' });

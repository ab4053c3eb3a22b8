/** Labour: who worked on which task, from when to when, and how much that comes to. */
import { lookUp } from '../engine/look-up.js';
import type { Prisma } from '../platform/database/client/client.js';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { asDay, type Columns } from '../platform/operation/columns.js';
import { dayIn } from '../platform/operation/execute.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';
import { checkLength, runningWarning } from './labour-length.js';
import { local, pastMoment, type StartOverride, startTask, taskToWorkOn } from './tasks.js';
import type { LabourEntryChange } from './work.shapes.js';

/** A labour entry's row with its whole minutes, counted up to now while it runs, and a word where it runs too long. */
export const withMinutes = (context: OperationContext, entry: Stored<'labourEntry'>) => ({
  ...entry,
  minutes: Math.max(0, Math.round(((entry.endedAt ?? context.now).getTime() - entry.startedAt.getTime()) / 60_000)),
  warning: runningWarning(entry, context.now),
});

/** Clocks a person on to a task, and starts the task if that is the first work on it. */
export async function startLabour(
  context: OperationContext,
  given: StartOverride & {
    taskId: string;
    personId: string;
    at?: string | null | undefined;
    note?: string | null | undefined;
  },
): Promise<Stored<'labourEntry'>> {
  const at = pastMoment(context, given.at, '/at');
  await checkPerson(context, given.personId);
  await checkStart(context, given.taskId, at, '/at');
  const running = await context.tx.labourEntry.findFirst({
    where: { personId: given.personId, endedAt: null, archivedAt: null },
    include: { task: true, person: true },
  });
  if (running)
    throw new Conflict(
      'person-busy',
      `${running.person.name} has been on "${running.task.name}" since ${local(context, running.startedAt)}; end that first.`,
    );
  await startForLabour(context, given.taskId, at, given);
  return context.tx.labourEntry.create({
    data: {
      shopId: context.shop.id,
      taskId: given.taskId,
      personId: given.personId,
      startedAt: at,
      note: given.note ?? null,
    },
  });
}

/** Clocks off. @throws Conflict when the entry has an end, Invalid when the end does not lie after the start */
export async function endLabour(
  context: OperationContext,
  entryId: string,
  given: string | null | undefined,
  reason: string | null | undefined,
): Promise<Stored<'labourEntry'>> {
  const entry = await context.tx.labourEntry.findFirst({ where: { id: entryId } });
  if (!entry) throw new NotFound('labour entry', entryId);
  if (entry.archivedAt) throw new Conflict('archived', 'This labour entry was archived and is only kept for history.');
  if (entry.endedAt)
    throw new Conflict(
      'labour-ended',
      `It was ended at ${local(context, entry.endedAt)}; change the entry if that is wrong.`,
    );
  await taskToWorkOn(context, entry.taskId);
  const endedAt = pastMoment(context, given, '/at');
  if (!reason && runningWarning(entry, context.now))
    throw new Invalid([
      { detail: 'say why it is ended only now: it has outlasted a long working day', pointer: '/reason' },
    ]);
  if (endedAt <= entry.startedAt)
    throw new Invalid([{ detail: `must lie after ${local(context, entry.startedAt)}, when it began`, pointer: '/at' }]);
  checkLength(entry.startedAt, endedAt, '/at');
  return context.tx.labourEntry.update({ where: { id: entryId }, data: { endedAt, version: { increment: 1 } } });
}

/**
 * Takes a start back that was a slip: the entry is archived, and the task is not started any more where nothing else was
 * done on it.
 * @throws Conflict `labour-ended` for what was ended, which is corrected or archived instead; as `taskToWorkOn`
 */
export async function undoLabourStart(context: OperationContext, entryId: string): Promise<Stored<'labourEntry'>> {
  const found = await context.tx.labourEntry.findFirst({ where: { id: entryId } });
  if (!found) throw new NotFound('labour entry', entryId);
  const { task } = await taskToWorkOn(context, found.taskId);
  // Read again: whoever held the job may have ended it.
  const entry = await context.tx.labourEntry.findUniqueOrThrow({ where: { id: entryId } });
  if (entry.archivedAt) throw new Conflict('archived', 'This labour entry was archived and is only kept for history.');
  if (entry.endedAt)
    throw new Conflict(
      'labour-ended',
      `It was ended at ${local(context, entry.endedAt)}; change the entry, or archive it if nothing was done.`,
    );
  const undone = await context.tx.labourEntry.update({
    where: { id: entryId },
    data: { archivedAt: context.now, version: { increment: 1 } },
  });
  const others = await context.tx.labourEntry.count({ where: { taskId: task.id, archivedAt: null } });
  const begunWithIt = task.startedAt?.getTime() === entry.startedAt.getTime();
  if (others === 0 && begunWithIt && !task.finishedAt)
    await context.tx.task.update({ where: { id: task.id }, data: { startedAt: null, version: { increment: 1 } } });
  return undone;
}

/** Writes labour after the fact. */
export async function addLabourEntry(
  context: OperationContext,
  given: { taskId: string; personId: string; startedAt: string; endedAt: string; note?: string | null | undefined },
): Promise<Stored<'labourEntry'>> {
  const { startedAt, endedAt } = labourTimes(context, given.startedAt, given.endedAt);
  if (endedAt) checkLength(startedAt, endedAt, '/endedAt');
  await checkPerson(context, given.personId);
  await checkStart(context, given.taskId, startedAt, '/startedAt');
  const { task } = await taskToWorkOn(context, given.taskId);
  if (!task.startedAt) await startForLabour(context, task.id, startedAt, {});
  return context.tx.labourEntry.create({
    data: {
      shopId: context.shop.id,
      taskId: task.id,
      personId: given.personId,
      startedAt,
      endedAt,
      note: given.note ?? null,
    },
  });
}

/** Checks a change of an entry against what it would then be. @returns the columns to write */
export async function changedLabour(
  context: OperationContext,
  before: Stored<'labourEntry'>,
  { reason, ...columns }: Columns<typeof LabourEntryChange>,
): Promise<Prisma.LabourEntryUncheckedUpdateManyInput> {
  if (!reason && (columns.taskId || columns.personId || columns.startedAt || columns.endedAt))
    throw new Invalid([{ detail: 'say why it is corrected', pointer: '/reason' }]);
  await taskToWorkOn(context, before.taskId);
  if (columns.taskId && columns.taskId !== before.taskId) {
    const { task } = await taskToWorkOn(context, columns.taskId);
    if (!task.startedAt) await startForLabour(context, task.id, new Date(columns.startedAt ?? before.startedAt), {});
  }
  if (columns.personId) await checkPerson(context, columns.personId);
  const end = columns.endedAt ?? before.endedAt;
  const times = labourTimes(context, columns.startedAt ?? before.startedAt, end);
  // What was written before these checks may keep its times while its note is changed.
  if (times.endedAt && (columns.startedAt || columns.endedAt))
    checkLength(times.startedAt, times.endedAt, columns.endedAt ? '/endedAt' : '/startedAt');
  if (columns.startedAt || columns.taskId)
    await checkStart(
      context,
      columns.taskId ?? before.taskId,
      times.startedAt,
      columns.startedAt ? '/startedAt' : '/taskId',
    );
  return { ...columns, ...times };
}

function labourTimes(
  context: OperationContext,
  start: string | Date,
  end: string | Date | null,
): { startedAt: Date; endedAt: Date | null } {
  const startedAt = pastMoment(context, new Date(start).toISOString(), '/startedAt');
  const endedAt = end === null ? null : pastMoment(context, new Date(end).toISOString(), '/endedAt');
  if (endedAt && endedAt <= startedAt) throw new Invalid([{ detail: 'must lie after startedAt', pointer: '/endedAt' }]);
  return { startedAt, endedAt };
}

/** @throws Invalid for work on a machine that was not in the shop yet */
async function checkStart(context: OperationContext, taskId: string, startedAt: Date, pointer: string): Promise<void> {
  const task = await context.tx.task.findFirst({
    where: { id: taskId },
    select: { job: { select: { machine: { select: { acquisition: { select: { acquiredDate: true } } } } } } },
  });
  const acquiredDate = task?.job.machine.acquisition?.acquiredDate;
  if (!acquiredDate || dayIn(startedAt, context.shop.timeZone) >= asDay(acquiredDate)) return;
  throw new Invalid(
    [
      {
        detail: `lies before the machine came into the shop on ${asDay(acquiredDate)}; if that day is wrong, change its acquisition first`,
        pointer,
      },
    ],
    'before-acquisition',
  );
}

async function startForLabour(
  context: OperationContext,
  taskId: string,
  at: Date,
  given: StartOverride,
): Promise<void> {
  const { task } = await taskToWorkOn(context, taskId);
  if (task.finishedAt)
    throw new Conflict('task-finished', `"${task.name}" is finished; reopen it before more work is done on it.`);
  if (!task.startedAt) await startTask(context, taskId, { ...given, at: at.toISOString() });
}

async function checkPerson(context: OperationContext, personId: string): Promise<void> {
  const person = await context.tx.person.findFirst({ where: { id: personId } });
  if (!person) throw new NotFound('person', personId);
  if (person.archivedAt) throw new Conflict('archived', `${person.name} no longer works here.`);
}

export interface LabourSumOf {
  minutes: number;
  /** Somebody is clocked on right now. */
  running: boolean;
}

interface SumRow extends LabourSumOf {
  id: string;
}

/** Whole minutes of labour by task, archived entries left out, running ones counted up to `call.now`: one statement. */
export async function labourByTask(context: OperationContext, taskIds: string[]): Promise<Map<string, LabourSumOf>> {
  if (taskIds.length === 0) return new Map();
  const rows = await context.tx.$queryRaw<SumRow[]>`
    SELECT "taskId" AS id,
      sum(round(extract(epoch FROM greatest(coalesce("endedAt", ${context.now}::timestamptz)
      - "startedAt", interval '0')) / 60))::int AS minutes,
      bool_or("endedAt" IS NULL) AS running
    FROM "LabourEntry" WHERE "taskId" = ANY(${taskIds}::uuid[]) AND "archivedAt" IS NULL GROUP BY "taskId"`;
  return sums(taskIds, rows);
}

/** As `labourByTask`, by job: archived tasks count too, since the hours were worked. */
export async function labourByJob(context: OperationContext, jobIds: string[]): Promise<Map<string, LabourSumOf>> {
  if (jobIds.length === 0) return new Map();
  const rows = await context.tx.$queryRaw<SumRow[]>`
    SELECT t."jobId" AS id,
      sum(round(extract(epoch FROM greatest(coalesce(l."endedAt", ${context.now}::timestamptz)
      - l."startedAt", interval '0')) / 60))::int AS minutes,
      bool_or(l."endedAt" IS NULL) AS running
    FROM "LabourEntry" l JOIN "Task" t ON t."shopId" = l."shopId" AND t.id = l."taskId"
    WHERE t."jobId" = ANY(${jobIds}::uuid[]) AND l."archivedAt" IS NULL GROUP BY t."jobId"`;
  return sums(jobIds, rows);
}

/** Whole minutes of labour by job and by the day on which each entry began; one statement. */
export async function labourByJobAndDay(
  context: OperationContext,
  jobIds: string[],
): Promise<Map<string, { date: string; minutes: number }[]>> {
  const days = new Map<string, { date: string; minutes: number }[]>(jobIds.map((jobId) => [jobId, []]));
  if (jobIds.length === 0) return days;
  const rows = await context.tx.$queryRaw<{ id: string; date: string; minutes: number }[]>`
    SELECT t."jobId" AS id, to_char(l."startedAt" AT TIME ZONE ${context.shop.timeZone}, 'YYYY-MM-DD') AS date,
      sum(round(extract(epoch FROM greatest(coalesce(l."endedAt", ${context.now}::timestamptz)
        - l."startedAt", interval '0')) / 60))::int AS minutes
    FROM "LabourEntry" l JOIN "Task" t ON t."shopId" = l."shopId" AND t.id = l."taskId"
    WHERE t."jobId" = ANY(${jobIds}::uuid[]) AND l."archivedAt" IS NULL GROUP BY 1, 2 ORDER BY 2`;
  for (const { id: jobId, date, minutes } of rows) lookUp(days, jobId).push({ date, minutes });
  return days;
}

function sums(ids: string[], rows: SumRow[]): Map<string, LabourSumOf> {
  const found = new Map(rows.map(({ id, minutes, running }) => [id, { minutes, running }]));
  return new Map(ids.map((id) => [id, found.get(id) ?? { minutes: 0, running: false }]));
}

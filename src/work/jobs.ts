/** A job's life: settled by its tasks, closed with an outcome, its state told from its records. */
import type { z } from 'zod';
import { at, lookUp } from '../engine/look-up.js';
import { requireMachineOnHand, requireSoldMachine } from '../machines/on-hand.js';
import { Prisma } from '../platform/database/client/client.js';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { asDate, asDay } from '../platform/operation/columns.js';
import { dayIn } from '../platform/operation/execute.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { lock } from '../platform/operation/rows.js';
import type { Stored } from '../platform/operation/stored.js';
import { JobOutcome, type JobStatus } from './work.shapes.js';

/**
 * Locks a job's row until the transaction ends, so that what follows from all of its tasks is worked out by one at a time.
 * @throws NotFound
 */
export async function lockJob(context: OperationContext, jobId: string): Promise<Stored<'job'>> {
  await context.tx.$queryRaw`SELECT id FROM "Job" WHERE id = ${jobId}::uuid FOR UPDATE`;
  const job = await context.tx.job.findFirst({ where: { id: jobId } });
  if (!job) throw new NotFound('job', jobId);
  return job;
}

/** As `lockJob`, for work on the job. @throws Conflict when it is closed or archived */
export async function lockOpenJob(context: OperationContext, jobId: string): Promise<Stored<'job'>> {
  const job = await lockJob(context, jobId);
  if (job.archivedAt) throw new Conflict('archived', 'This job was archived and is only kept for history.');
  if (job.closedDate)
    throw new Conflict('job-closed', `Job ${job.number} is closed; reopen it before its work is changed.`);
  return job;
}

/**
 * Writes the day the job was finished, or takes it back: to be called after anything that changes its tasks.
 * It is no change of the job by anybody, so its version stays.
 * @param without a task that is about to be archived
 */
export async function settleJob(context: OperationContext, jobId: string, without?: string): Promise<void> {
  const tasks = await context.tx.task.findMany({
    where: { jobId, archivedAt: null, ...(without ? { id: { not: without } } : {}) },
    select: { finishedAt: true },
  });
  const times = tasks.map(({ finishedAt }) => finishedAt?.getTime() ?? Infinity);
  const last = times.length === 0 ? Infinity : Math.max(...times);
  const finishedDate = last === Infinity ? null : asDate(dayIn(new Date(last), context.shop.timeZone));
  await context.tx.job.updateMany({ where: { id: jobId }, data: { finishedDate } });
}

/**
 * Lets go of the parts that are held or expected for a job's tasks and were not used: bins and order lines serve other
 * jobs again. The needs themselves stay, should the job be opened again.
 */
export async function releaseParts(context: OperationContext, jobId: string): Promise<void> {
  await context.tx.partNeed.updateMany({
    where: {
      usedDate: null,
      archivedAt: null,
      task: { jobId },
      OR: [{ stockId: { not: null } }, { orderLineId: { not: null } }],
    },
    data: { stockId: null, orderLineId: null, version: { increment: 1 } },
  });
}

/**
 * Closes a job: the resale area does for a sale, the owner for a machine kept, parted out,
 * scrapped, or handed back after work under warranty. What was held for
 * it and not used is free again.
 * @returns the job's row
 * @throws Conflict when it is closed already or somebody is clocked on to it; Invalid when the day does not fit
 */
export async function closeJobRow(
  context: OperationContext,
  jobId: string,
  outcome: Exclude<z.output<typeof JobOutcome>, 'returned'>,
  day: string,
): Promise<Stored<'job'>> {
  const job = await lockOpenJob(context, jobId);
  if (day > context.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/closedDate' }]);
  if (day < asDay(job.openedDate))
    throw new Invalid([
      { detail: `lies before the job was opened on ${asDay(job.openedDate)}`, pointer: '/closedDate' },
    ]);
  if ((job.purpose === 'warranty') !== (outcome === 'handedBack')) {
    throw new Invalid([
      {
        detail:
          job.purpose === 'warranty'
            ? 'a warranty job ends with the machine handed back: "handedBack"'
            : 'only a warranty job ends with "handedBack"',
        pointer: '/outcome',
      },
    ]);
  }
  const running = await context.tx.labourEntry.findFirst({
    where: { endedAt: null, archivedAt: null, task: { jobId } },
    include: { person: true, task: true },
  });
  if (running)
    throw new Conflict(
      'labour-running',
      `${running.person.name} is clocked on to "${running.task.name}"; end that first.`,
    );
  await releaseParts(context, job.id);
  return context.tx.job.update({
    where: { id: job.id },
    data: { outcome, closedDate: asDate(day), version: { increment: 1 } },
  });
}

/**
 * Opens a closed job again, as when its sale is reversed.
 * @returns the job's row
 * @throws Conflict `job-open` when it is open, or when the machine has another open job by now; as `requireMachineOnHand` when the
 *   machine was sold, taken apart or scrapped with another job since
 */
export async function reopenJobRow(context: OperationContext, jobId: string): Promise<Stored<'job'>> {
  const job = await lockJob(context, jobId);
  if (!job.closedDate) throw new Conflict('job-open', `Job ${job.number} is open.`);
  await lock(context, 'Machine', [job.machineId]);
  const other = await context.tx.job.findFirst({
    where: { machineId: job.machineId, closedDate: null, archivedAt: null },
  });
  if (other)
    throw new Conflict('job-open', `The machine is on job ${other.number} by now; finish or close that one first.`);
  if (job.purpose === 'warranty') await requireSoldMachine(context, job.machineId);
  else await requireMachineOnHand(context, job.machineId, undefined, job.id);
  return context.tx.job.update({
    where: { id: job.id },
    data: { outcome: null, closedDate: null, version: { increment: 1 } },
  });
}

/** Adds a dated line to a job's notes. */
export async function noteOnJob(context: OperationContext, job: Stored<'job'>, line: string): Promise<void> {
  const notes = `${job.notes ? `${job.notes}\n` : ''}${context.today}: ${line}`;
  await context.tx.job.update({ where: { id: job.id }, data: { notes, version: { increment: 1 } } });
}

export interface JobStatusFacts {
  id: string;
  status: JobStatus;
  taskCount: number;
  finishedTaskCount: number;
}

/** The one place where a job's state is told from its records. */
const statuses = (which: Prisma.Sql) => Prisma.sql`
  SELECT j.id, t.total AS "taskCount", t.finished AS "finishedTaskCount",
    CASE
      WHEN j."archivedAt" IS NOT NULL THEN 'archived'
      WHEN j.outcome IS NOT NULL THEN j.outcome::text
      WHEN EXISTS (SELECT FROM "Offer" o WHERE o."shopId" = j."shopId" AND o."jobId" = j.id AND o."withdrawnDate" IS NULL) THEN 'offered'
      WHEN t.total > 0 AND t.finished = t.total THEN 'finished'
      WHEN t.started > 0 THEN 'inWork'
      WHEN EXISTS (SELECT FROM "Finding" f WHERE f."shopId" = j."shopId" AND f."jobId" = j.id AND f."archivedAt" IS NULL) THEN 'diagnosed'
      ELSE 'intake'
    END AS status
  FROM "Job" j CROSS JOIN LATERAL (
    SELECT count(*)::int AS total, count(t."startedAt")::int AS started, count(t."finishedAt")::int AS finished
    FROM "Task" t WHERE t."shopId" = j."shopId" AND t."jobId" = j.id AND t."archivedAt" IS NULL) t
  WHERE ${which}`;

/** How jobs stand: one statement, however many. */
export async function jobStatuses(context: OperationContext, jobIds: string[]): Promise<Map<string, JobStatusFacts>> {
  if (jobIds.length === 0) return new Map();
  const rows = await context.tx.$queryRaw<JobStatusFacts[]>(statuses(Prisma.sql`j.id = ANY(${jobIds}::uuid[])`));
  return new Map(rows.map((row) => [row.id, row]));
}

/** Job rows with their state and task counts. */
export async function withJobStatus<R extends { id: string }>(
  context: OperationContext,
  jobs: readonly R[],
): Promise<(R & JobStatusFacts)[]> {
  const status = await jobStatuses(
    context,
    jobs.map((job) => job.id),
  );
  return jobs.map((job) => ({ ...job, ...lookUp(status, job.id) }));
}

/** As `withJobStatus`, of one row. */
export async function withOneJobStatus<R extends { id: string }>(
  context: OperationContext,
  job: R,
): Promise<R & JobStatusFacts> {
  return at(await withJobStatus(context, [job]), 0);
}

/** A `where` for the jobs in one state. Only open jobs need their records looked at, and those are few. */
export async function whereStatus(context: OperationContext, status: JobStatus): Promise<Prisma.JobWhereInput> {
  if (status === 'archived') return { archivedAt: { not: null } };
  const ended = JobOutcome.options.find((outcome) => outcome === status);
  if (ended) return { outcome: ended, archivedAt: null };
  const open = await context.tx.$queryRaw<JobStatusFacts[]>(
    statuses(Prisma.sql`j."closedDate" IS NULL AND j."archivedAt" IS NULL`),
  );
  return { id: { in: open.filter((job) => job.status === status).map((job) => job.id) } };
}

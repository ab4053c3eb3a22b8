/** A job's life: settled by its tasks, closed with an outcome, its state told from its records. */
import type { z } from 'zod';
import { needSold, refuseGone } from '../machines/on-hand.js';
import { lock } from '../platform/operation/rows.js';
import { Prisma } from '../platform/database/client/client.js';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { dayIn } from '../platform/operation/execute.js';
import { asDate, asDay } from '../platform/operation/crud-operations.js';
import { JobOutcome, type JobState } from './work.shapes.js';

/**
 * Locks a job's row until the transaction ends, so that what follows from all of its tasks is worked out by one at a time.
 * @throws NotFound
 */
export async function lockJob(call: Call, jobId: string): Promise<Presentable> {
  await call.tx.$queryRaw`SELECT id FROM "Job" WHERE id = ${jobId}::uuid FOR UPDATE`;
  const job = await call.tx.job.findFirst({ where: { id: jobId } });
  if (!job) throw new NotFound('job', jobId);
  return job;
}

/** As `lockJob`, for work on the job. @throws Conflict when it is closed or retired */
export async function lockOpenJob(call: Call, jobId: string): Promise<Presentable> {
  const job = await lockJob(call, jobId);
  if (job.retiredAt) throw new Conflict('retired', 'This job was retired and is only kept for history.');
  if (job.closedOn)
    throw new Conflict('job-closed', `Job ${job.number} is closed; reopen it before its work is changed.`);
  return job;
}

/**
 * Writes the day the job was finished, or takes it back: to be called after anything that changes its tasks.
 * It is no change of the job by anybody, so its version stays.
 * @param without a task that is about to be retired
 */
export async function settleJob(call: Call, jobId: string, without?: string): Promise<void> {
  const tasks = await call.tx.task.findMany({
    where: { jobId, retiredAt: null, ...(without ? { id: { not: without } } : {}) },
    select: { finishedAt: true },
  });
  const times = tasks.map(({ finishedAt }) => finishedAt?.getTime() ?? Infinity);
  const last = times.length === 0 ? Infinity : Math.max(...times);
  const finishedOn = last === Infinity ? null : asDate(dayIn(new Date(last), call.shop.timeZone));
  await call.tx.job.updateMany({ where: { id: jobId }, data: { finishedOn } });
}

/**
 * Lets go of the parts that are held or expected for a job's tasks and were not used: bins and order lines serve other
 * jobs again. The needs themselves stay, should the job be opened again.
 */
export async function releaseParts(call: Call, jobId: string): Promise<void> {
  await call.tx.partNeed.updateMany({
    where: {
      usedOn: null,
      retiredAt: null,
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
  call: Call,
  jobId: string,
  outcome: Exclude<z.output<typeof JobOutcome>, 'returned'>,
  day: string,
): Promise<Presentable> {
  const job = await lockOpenJob(call, jobId);
  if (day > call.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/closedOn' }]);
  if (day < asDay(job.openedOn))
    throw new Invalid([{ detail: `lies before the job was opened on ${asDay(job.openedOn)}`, pointer: '/closedOn' }]);
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
  const running = await call.tx.labourEntry.findFirst({
    where: { endedAt: null, retiredAt: null, task: { jobId } },
    include: { person: true, task: true },
  });
  if (running)
    throw new Conflict(
      'labour-running',
      `${running.person.name} is clocked on to "${running.task.name}"; end that first.`,
    );
  await releaseParts(call, job.id);
  return call.tx.job.update({
    where: { id: job.id },
    data: { outcome, closedOn: asDate(day), version: { increment: 1 } },
  });
}

/**
 * Opens a closed job again, as when its sale is reversed.
 * @returns the job's row
 * @throws Conflict `job-open` when it is open, or when the machine has another open job by now; as `refuseGone` when the
 *   machine was sold, taken apart or scrapped with another job since
 */
export async function reopenJobRow(call: Call, jobId: string): Promise<Presentable> {
  const job = await lockJob(call, jobId);
  if (!job.closedOn) throw new Conflict('job-open', `Job ${job.number} is open.`);
  await lock(call, 'Machine', [job.machineId]);
  const other = await call.tx.job.findFirst({ where: { machineId: job.machineId, closedOn: null, retiredAt: null } });
  if (other)
    throw new Conflict('job-open', `The machine is on job ${other.number} by now; finish or close that one first.`);
  if (job.purpose === 'warranty') await needSold(call, job.machineId);
  else await refuseGone(call, job.machineId, undefined, job.id);
  return call.tx.job.update({
    where: { id: job.id },
    data: { outcome: null, closedOn: null, version: { increment: 1 } },
  });
}

/** Adds a dated line to a job's notes. */
export async function noteOnJob(call: Call, job: Presentable, line: string): Promise<void> {
  const notes = `${job.notes ? `${job.notes}\n` : ''}${call.today}: ${line}`;
  await call.tx.job.update({ where: { id: job.id }, data: { notes, version: { increment: 1 } } });
}

export interface JobStanding {
  id: string;
  state: JobState;
  taskCount: number;
  finishedTaskCount: number;
}

/** The one place where a job's state is told from its records. */
const standings = (which: Prisma.Sql) => Prisma.sql`
  SELECT j.id, t.total AS "taskCount", t.finished AS "finishedTaskCount",
    CASE
      WHEN j."retiredAt" IS NOT NULL THEN 'retired'
      WHEN j.outcome IS NOT NULL THEN j.outcome::text
      WHEN EXISTS (SELECT FROM "Offer" o WHERE o."shopId" = j."shopId" AND o."jobId" = j.id AND o."withdrawnOn" IS NULL) THEN 'offered'
      WHEN t.total > 0 AND t.finished = t.total THEN 'finished'
      WHEN t.started > 0 THEN 'inWork'
      WHEN EXISTS (SELECT FROM "Finding" f WHERE f."shopId" = j."shopId" AND f."jobId" = j.id AND f."retiredAt" IS NULL) THEN 'diagnosed'
      ELSE 'intake'
    END AS state
  FROM "Job" j CROSS JOIN LATERAL (
    SELECT count(*)::int AS total, count(t."startedAt")::int AS started, count(t."finishedAt")::int AS finished
    FROM "Task" t WHERE t."shopId" = j."shopId" AND t."jobId" = j.id AND t."retiredAt" IS NULL) t
  WHERE ${which}`;

/** How jobs stand: one statement, however many. */
export async function jobStandings(call: Call, jobIds: string[]): Promise<Map<string, JobStanding>> {
  if (jobIds.length === 0) return new Map();
  const rows = await call.tx.$queryRaw<JobStanding[]>(standings(Prisma.sql`j.id = ANY(${jobIds}::uuid[])`));
  return new Map(rows.map((row) => [row.id, row]));
}

/** Job rows with their state and task counts. */
export async function withStanding(call: Call, jobs: Presentable[]): Promise<Presentable[]> {
  const standing = await jobStandings(
    call,
    jobs.map((job) => job.id as string),
  );
  return jobs.map((job) => ({ ...job, ...standing.get(job.id) }));
}

/** A `where` for the jobs in one state. Only open jobs need their records looked at, and those are few. */
export async function whereState(call: Call, state: JobState): Promise<object> {
  if (state === 'retired') return { retiredAt: { not: null } };
  const ended = JobOutcome.options.find((outcome) => outcome === state);
  if (ended) return { outcome: ended, retiredAt: null };
  const open = await call.tx.$queryRaw<JobStanding[]>(
    standings(Prisma.sql`j."closedOn" IS NULL AND j."retiredAt" IS NULL`),
  );
  return { id: { in: open.filter((job) => job.state === state).map((job) => job.id) } };
}

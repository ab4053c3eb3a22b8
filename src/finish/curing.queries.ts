/** Where coats stand, and when the paint on the shop's jobs has cured. A constant number of statements, whatever their number. */
import { at, lookUp } from '../engine/look-up.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { StatusQuestion } from './coat-status.js';
import { coatsOfJobs, type CoatWithProduct, warningsFor, withHistory } from './coat-warnings.js';
import { assemblyWaitOf, coatFacts, readCureRecords } from './cure-records.js';
import { minuteOf } from './cure-weather.js';
import type { JobCuring } from './curing.js';
import { workerTasks } from './worker-tasks.js';

/** When the paint on each job lets it be handled and assembled, for the plan. Jobs without coats are not in it. */
export async function curing(context: OperationContext, jobIds: readonly string[]): Promise<Map<string, JobCuring>> {
  const coats = jobIds.length === 0 ? [] : await coatsOfJobs(context, jobIds);
  return coats.length === 0 ? new Map() : context.compute(workerTasks.curing, await questionOf(context, coats));
}

/**
 * The standing of some coats, in their order.
 * @param rows coats as stored or as a reply tells them
 */
export async function statusesOf(context: OperationContext, rows: readonly { id: string; jobId: string }[]) {
  const all = await coatsOfJobs(
    context,
    rows.map((row) => row.jobId),
  );
  // An archived coat is not among its job's, yet its status is told as well.
  const missing = rows.filter((row) => !all.some((one) => one.id === row.id)).map((row) => row.id);
  const archived =
    missing.length > 0
      ? await context.tx.coat.findMany({
          where: { id: { in: missing } },
          include: withHistory,
        })
      : [];
  const stored = new Map([...all, ...archived].map((coat) => [coat.id, coat]));
  const coats = rows.map((row) => lookUp(stored, row.id));
  const statuses = await context.compute(workerTasks.statuses, await questionOf(context, coats));
  return statuses.map((status, index) => ({
    ...status,
    warnings: [...status.warnings, ...warningsFor(at(coats, index), all)],
  }));
}

const questionOf = async (context: OperationContext, coats: readonly CoatWithProduct[]): Promise<StatusQuestion> => ({
  coats: coats.map(coatFacts),
  records: await readCureRecords(context, coats),
  nowMinute: minuteOf(context.now),
  assemblyWaitMinutes: await assemblyWaitOf(context),
});

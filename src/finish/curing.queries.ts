/** Where coats stand, and when the paint on the shop's jobs has cured. A constant number of statements, whatever their number. */
import type { OperationContext, Presentable } from '../platform/operation/operation.js';
import type { StatusQuestion } from './coat-status.js';
import { coatsOfJobs, warningsFor } from './coat-warnings.js';
import { assemblyWaitOf, coatFacts, readCureRecords } from './cure-records.js';
import { minuteOf } from './cure-weather.js';
import type { JobCuring } from './curing.js';
import { withRecoatWindows } from './recoat-windows.js';
import { workerTasks } from './worker-tasks.js';

/** When the paint on each job lets it be handled and assembled, for the plan. Jobs without coats are not in it. */
export async function curing(context: OperationContext, jobIds: readonly string[]): Promise<Map<string, JobCuring>> {
  const coats = jobIds.length === 0 ? [] : await coatsOfJobs(context, jobIds);
  return coats.length === 0 ? new Map() : context.compute(workerTasks.curing, await questionOf(context, coats));
}

/**
 * The standing of some coats, in their order.
 * @param rows stored coats, with or without their product
 */
export async function statusesOf(context: OperationContext, rows: readonly Presentable[]): Promise<Presentable[]> {
  const all = await coatsOfJobs(
    context,
    rows.map((row) => row.jobId as string),
  );
  // A archived coat is not among its job's; its product is still known.
  const missing = rows.filter((row) => !all.some((one) => one.id === row.id));
  const products =
    missing.length > 0
      ? await context.tx.coatingProduct.findMany({
          where: { id: { in: missing.map((row) => row.productId as string) } },
          include: withRecoatWindows,
        })
      : [];
  const coats = rows.map(
    (row): Presentable =>
      all.find((one) => one.id === row.id) ?? { ...row, product: products.find((one) => one.id === row.productId) },
  );
  const statuses = await context.compute(workerTasks.statuses, await questionOf(context, coats));
  return statuses.map((status, index) => ({
    ...status,
    warnings: [...status.warnings, ...warningsFor(coats[index], all)],
  }));
}

const questionOf = async (context: OperationContext, coats: readonly Presentable[]): Promise<StatusQuestion> => ({
  coats: coats.map(coatFacts),
  records: await readCureRecords(context, coats),
  nowMinute: minuteOf(context.now),
  assemblyWaitMinutes: await assemblyWaitOf(context),
});

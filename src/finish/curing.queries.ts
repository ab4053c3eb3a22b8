/** Where coats stand, and when the paint on the shop's jobs has cured. A constant number of statements, whatever their number. */
import type { Call, Presentable } from '../platform/operation/operation.js';
import { coatsOfJobs, warningsFor } from './coat-warnings.js';
import { assemblyWaitOf, coatFacts, readCureRecords } from './cure-records.js';
import { minuteOf } from './cure-weather.js';
import type { JobCuring } from './curing.js';
import type { StandingQuestion } from './standing.js';
import { works } from './worker-tasks.js';

/** When the paint on each job lets it be handled and assembled, for the plan. Jobs without coats are not in it. */
export async function curing(call: Call, jobIds: readonly string[]): Promise<Map<string, JobCuring>> {
  const coats = jobIds.length === 0 ? [] : await coatsOfJobs(call, jobIds);
  return coats.length === 0 ? new Map() : call.compute(works.curing, await questionOf(call, coats));
}

/**
 * The standing of some coats, in their order.
 * @param rows stored coats, with or without their product
 */
export async function standingsOf(call: Call, rows: readonly Presentable[]): Promise<Presentable[]> {
  const all = await coatsOfJobs(
    call,
    rows.map((row) => row.jobId as string),
  );
  // A retired coat is not among its job's; its product is still known.
  const missing = rows.filter((row) => !all.some((one) => one.id === row.id));
  const products =
    missing.length > 0
      ? await call.tx.coatingProduct.findMany({ where: { id: { in: missing.map((row) => row.productId as string) } } })
      : [];
  const coats = rows.map(
    (row): Presentable =>
      all.find((one) => one.id === row.id) ?? { ...row, product: products.find((one) => one.id === row.productId) },
  );
  const standings = await call.compute(works.standings, await questionOf(call, coats));
  return standings.map((standing, index) => ({
    ...standing,
    warnings: [...standing.warnings, ...warningsFor(coats[index], all)],
  }));
}

const questionOf = async (call: Call, coats: readonly Presentable[]): Promise<StandingQuestion> => ({
  coats: coats.map(coatFacts),
  records: await readCureRecords(call, coats),
  nowMinute: minuteOf(call.now),
  assemblyWaitMinutes: await assemblyWaitOf(call),
});

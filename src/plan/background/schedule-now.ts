/** The plan as it stands in the caller's own transaction: the shop's records, scheduled in the order of the last plan. */
import type { Order } from '../../engine/schedule/index.js';
import type { ExpectedCompletion } from '../../platform/operation/expected-completion.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { gatherRecords } from '../inputs/load-records.js';
import type { PlanRecords } from '../inputs/records.js';
import { completionsOf, type ScheduledRecords, withSchedule } from '../model/scheduled-records.js';
import { workerTasks } from '../simulation/worker-tasks.js';
import { lastPlan } from './plan-store.js';

/** What the call itself has written is in it; likely hours and median arrivals, no chances. */
export async function forecast(context: OperationContext): Promise<ScheduledRecords> {
  return forecastOf(context, await gatherRecords(context));
}

/** The same of records that were changed in memory: what would be, with nothing written. */
export async function forecastOf(context: OperationContext, records: PlanRecords): Promise<ScheduledRecords> {
  return scheduled(context, records, (await lastPlan(context))?.order ?? null);
}

/** Records that have been read, scheduled in an order. */
export async function scheduled(
  context: OperationContext,
  records: PlanRecords,
  order: Order | null,
): Promise<ScheduledRecords> {
  return withSchedule(records, await context.compute(workerTasks.schedule, { records, order }));
}

/** The expected day of every open job, with what decides it. */
export async function expectedCompletions(context: OperationContext): Promise<Map<string, ExpectedCompletion>> {
  return completionsOf(await forecast(context));
}

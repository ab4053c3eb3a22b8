/** The plan as it stands in the caller's own transaction: the shop's records, scheduled in the order of the last plan. */
import type { Order } from '../../engine/schedule/index.js';
import type { Call } from '../../platform/operation/operation.js';
import { gatherRecords } from '../inputs/load-records.js';
import { lastPlan } from './plan-store.js';
import { completionsOf, type ExpectedCompletion, type Forecast, forecastOf } from '../model/scheduled-records.js';
import type { PlanRecords } from '../model/problem.js';
import { works } from '../simulation/worker-tasks.js';

export { completionsOf, type ExpectedCompletion, type Forecast, forecastFrom, whyJob } from '../model/scheduled-records.js';

/** What the call itself has written is in it; likely hours and median arrivals, no chances. */
export async function forecast(call: Call): Promise<Forecast> {
  return scheduled(call, await gatherRecords(call), (await lastPlan(call))?.order ?? null);
}

/** Records that have been read, scheduled in an order. */
export async function scheduled(call: Call, records: PlanRecords, order: Order | null): Promise<Forecast> {
  return forecastOf(records, await call.compute(works.schedule, { records, order }));
}

/** The expected day of every open job, with what decides it. */
export async function expectedCompletions(call: Call): Promise<Map<string, ExpectedCompletion>> {
  return completionsOf(await forecast(call));
}

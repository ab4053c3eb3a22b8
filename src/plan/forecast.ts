/** The plan as it stands in the caller's own transaction: the shop's records, scheduled in the order of the last plan. */
import type { Call } from '../platform/operation/operation.js';
import { gatherRecords } from './gather.js';
import { lastPlan } from './plan-store.js';
import { completionsOf, forecastFrom, type ExpectedCompletion, type Forecast } from './planned.js';

export { completionsOf, forecastFrom, whyJob, type ExpectedCompletion, type Forecast } from './planned.js';

/** What the call itself has written is in it; likely hours and median arrivals, no chances. */
export async function forecast(call: Call): Promise<Forecast> {
  return forecastFrom(await gatherRecords(call), (await lastPlan(call))?.order ?? null);
}

/** The expected day of every open job, with what decides it. */
export async function expectedCompletions(call: Call): Promise<Map<string, ExpectedCompletion>> {
  return completionsOf(await forecast(call));
}

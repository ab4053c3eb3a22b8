/** The plan settled within a command that quotes from it, so that the date told is the plan's and stays it. */
import { lockChanges } from '../../platform/events/change-lock.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { gatherRecords, withUncertainty } from '../inputs/load-records.js';
import { type ScheduledRecords, withSchedule } from '../model/scheduled-records.js';
import type { PlanSimulation } from '../simulation/simulate-plan.js';
import { workerTasks } from '../simulation/worker-tasks.js';
import { fingerprintOf } from './current-plan.js';
import { lastPlan, PLAN_SEED, planHead, storePlan } from './plan-store.js';
import { REPLAN } from './replan-settings.js';

/**
 * Plans the records as they stand in the caller's transaction as the background would (same seed, same search from the last
 * plan's order) and stores what comes of it with them: the background then finds nothing left to do.
 * To be called when everything has been written.
 */
export async function settlePlan(
  context: OperationContext,
): Promise<{ made: ScheduledRecords; simulation: PlanSimulation }> {
  // Counts the caller's own changes now instead of at the commit. From here on others who change the shop's records wait for
  // this commit, so that what is read next is all there is.
  await lockChanges(context.tx, context.shop.id);
  await context.tx.$executeRaw`set constraints plan_again immediate`;
  const { revision } = await planHead(context);
  const records = await withUncertainty(context, await gatherRecords(context));
  const { schedule, ...answer } = await context.compute(workerTasks.plan, {
    records,
    last: await lastPlan(context),
    seed: PLAN_SEED,
    schedules: REPLAN.schedules,
    scenarios: REPLAN.scenarios,
  });
  await storePlan(context.tx, context.shop.id, {
    computedAt: context.now,
    fingerprint: fingerprintOf(records),
    seed: PLAN_SEED,
    revision,
    answer,
    records,
  });
  await context.tx.$executeRaw`
    update "PlanRequest" set "plannedRevision" = greatest("plannedRevision", ${revision}), "plannedAt" = clock_timestamp()
    where "shopId" = ${context.shop.id}::uuid`;
  return { made: withSchedule(records, schedule), simulation: answer.simulation };
}

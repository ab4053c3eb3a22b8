/** When jobs are expected to be finished, for what it costs until then and what they are worth on that day. */
import { planHead, storedPlan } from '../plan/background/plan-store.js';
import { expectedCompletions } from '../plan/background/schedule-now.js';
import type { OperationContext } from '../platform/operation/operation.js';

/** By job id; null where no day is in sight. */
export type ExpectedDays = ReadonlyMap<string, string | null>;

/**
 * The day by which a job is finished with even chances, while the last plan fits the records; right after a change the day
 * on which it would be finished if all went as is likeliest.
 */
export async function expectedDates(context: OperationContext): Promise<ExpectedDays> {
  const head = await planHead(context);
  const plan = head.planId === null ? null : await storedPlan(context, head.planId);
  if (plan?.revision === head.revision && plan.records.today === context.today)
    return new Map(plan.answer.simulation.jobs.map((job) => [job.jobId, job.p50Date]));
  return new Map([...(await expectedCompletions(context))].map(([jobId, one]) => [jobId, one.day]));
}

/** Days between which a job is finished in most futures; null where it is not within the plan's horizon. */
export interface FinishSpan {
  p10Date: string | null;
  p95Date: string | null;
}

/** Of the last plan's simulation, by job id; none while it does not fit the records, as right after a change. */
export async function finishSpans(context: OperationContext): Promise<ReadonlyMap<string, FinishSpan>> {
  const head = await planHead(context);
  const plan = head.planId === null ? null : await storedPlan(context, head.planId);
  if (plan?.revision !== head.revision || plan.records.today !== context.today) return new Map();
  return new Map(plan.answer.simulation.jobs.map(({ jobId, p10Date, p95Date }) => [jobId, { p10Date, p95Date }]));
}

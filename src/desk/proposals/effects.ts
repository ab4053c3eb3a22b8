/** What a change of a job's work does to date, cost and margin: both sides measured the same way. */
import { jobCosts } from '../../cost/cost.queries.js';
import { withCompletionEffects } from '../../platform/completion/completion-effects.js';
import { daysBetween } from '../../platform/days.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { priceAdviceFor } from '../../resale/price.queries.js';

async function measure(context: OperationContext, jobId: string) {
  const completions = await context.expectedCompletions();
  const days = new Map([...completions].map(([id, one]) => [id, one.day]));
  const [cost] = await jobCosts(context, [jobId], days);
  const advice = (await priceAdviceFor(context, [jobId], days)).get(jobId);
  return {
    completions,
    day: days.get(jobId) ?? null,
    minutes: cost?.remainingMinutes ?? 0,
    cost: cost?.estimate.p50 ?? null,
    price: advice?.expected.likely ?? null,
    margin: advice?.marginRange ?? null,
  };
}
export type Measured = Awaited<ReturnType<typeof measure>>;

/**
 * Does something to a job's work, inside the caller's transaction.
 * @returns its result, and what it did; null for the effects where nobody waits for an answer
 */
export async function withWorkEffects<T>(
  context: OperationContext,
  jobId: string,
  work: () => Promise<T>,
): Promise<{ result: T; effects: ReturnType<typeof effectsOf> | null }> {
  if (context.unattended) return { result: (await withCompletionEffects(context, work)).result, effects: null };
  const before = await measure(context, jobId);
  const result = await work();
  return { result, effects: effectsOf(before, await measure(context, jobId), jobId) };
}

function effectsOf(before: Measured, after: Measured, jobId: string) {
  const completion = [...after.completions].flatMap(([id, now]) => {
    const earlier = before.completions.get(id);
    return earlier?.day === now.day
      ? []
      : [
          {
            jobId: id,
            jobNumber: now.number,
            jobTitle: now.title,
            before: earlier?.day ?? null,
            after: now.day,
            days: earlier?.day && now.day ? daysBetween(earlier.day, now.day) : null,
            reasons: now.reasons,
          },
        ];
  });
  const minutes = after.minutes - before.minutes;
  return {
    completion,
    expectedDateBefore: before.day,
    expectedDateAfter: after.day,
    handsOnMinutesBefore: before.minutes,
    handsOnMinutesAfter: after.minutes,
    costBefore: before.cost,
    costAfter: after.cost,
    priceBefore: before.price,
    priceAfter: after.price,
    marginBefore: before.margin,
    marginAfter: after.margin,
    reasons: [
      minutes === 0
        ? 'the hours still to be done stay as they are'
        : `${Math.abs(minutes)} minutes ${minutes > 0 ? 'more' : 'less'} are to be done`,
      ...(completion.some((one) => one.jobId !== jobId)
        ? [`${completion.filter((one) => one.jobId !== jobId).length} other jobs move with it`]
        : []),
      'what was found and not decided counts as likely on both sides',
    ],
  };
}

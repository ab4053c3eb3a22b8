/** What a step does to the expected completion of the open jobs: the plan before and after it, compared. */
import { daysBetween } from '../days.js';
import type { OperationContext } from '../operation/operation.js';
import type { CompletionEffect } from './completion-effects.shapes.js';

/**
 * Runs a step inside the caller's transaction and tells how it moved the open jobs. What completion is expected is the
 * plan's to say: the context's port `expectedCompletions` leads there.
 * @returns the step's own result, and one effect for each job whose expected day changed
 */
export async function withCompletionEffects<T>(
  context: OperationContext,
  work: () => Promise<T>,
): Promise<{ result: T; effects: CompletionEffect[] }> {
  if (context.unattended) return { result: await work(), effects: [] };
  const before = await context.expectedCompletions();
  const result = await work();
  const after = await context.expectedCompletions();
  const effects: CompletionEffect[] = [];
  for (const [jobId, now] of after) {
    const earlier = before.get(jobId);
    if (earlier?.day === now.day) continue;
    effects.push({
      jobId,
      jobNumber: now.number,
      jobTitle: now.title,
      before: earlier?.day ?? null,
      after: now.day,
      days: earlier?.day && now.day ? daysBetween(earlier.day, now.day) : null,
      reasons: now.reasons,
    });
  }
  return { result, effects };
}

/** What a step does to the expected completion of the open jobs: the plan before and after it, compared. */
import { daysBetween } from '../days.js';
import type { Call } from '../operation/operation.js';
import type { CompletionEffect } from './completion-effects.shapes.js';
import { expectedCompletions } from '../../plan/background/schedule-now.js';

/**
 * Runs a step inside the caller's transaction and tells how it moved the open jobs.
 * @returns the step's own result, and one effect for each job whose expected day changed
 */
export async function withCompletionEffects<T>(
  call: Call,
  work: () => Promise<T>,
): Promise<{ result: T; effects: CompletionEffect[] }> {
  if (call.unattended) return { result: await work(), effects: [] };
  const before = await expectedCompletions(call);
  const result = await work();
  const after = await expectedCompletions(call);
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
      why: now.why,
    });
  }
  return { result, effects };
}

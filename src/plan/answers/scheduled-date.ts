/** The scheduled day as it is told beside the chances. Pure. */
import type { JobSimulation } from '../simulation/simulate-plan.js';

/**
 * One pass takes the weather of most years: where fit days are rare, most single years have one sooner, and the pass can end
 * beyond what nineteen in twenty of them need. Then it is told as that day, so that no answer stands against another.
 */
export function scheduledDate(
  expectedDate: string | null,
  simulation: Pick<JobSimulation, 'p10Date' | 'p95Date'> | undefined,
): string | null {
  const { p10Date = null, p95Date = null } = simulation ?? {};
  if (p95Date !== null && (expectedDate === null || expectedDate > p95Date)) return p95Date;
  return p10Date !== null && expectedDate !== null && expectedDate < p10Date ? p10Date : expectedDate;
}

/** Machines that are no longer there to work on, as the jobs tell that ended so. */
import { Conflict } from '../platform/errors.js';
import type { Call } from '../platform/operation/operation.js';
import { asDay } from '../platform/operation/records.js';

type Ending = 'sold' | 'partedOut' | 'scrapped';

const words: Record<Ending, { code: string; was: string; next: (number: number) => string }> = {
  sold: {
    code: 'machine-sold',
    was: 'sold',
    next: (number) => `If the sale was undone, reverse it, which opens job ${number} again. If the machine was bought back, record a new acquisition with a machine of its own: what was paid for it then is another price.`,
  },
  partedOut: { code: 'machine-parted-out', was: 'taken apart', next: (number) => `Reopen job ${number} if there is still something to do on it.` },
  scrapped: { code: 'machine-scrapped', was: 'scrapped', next: (number) => `Reopen job ${number} if that was a mistake.` },
};

/**
 * A machine that was kept may come back to the bench, one that was sold, taken apart or scrapped may not.
 * @param ways the endings that stand against it
 * @param without a job that is about to be opened again
 * @throws Conflict `machine-sold`, `machine-parted-out` or `machine-scrapped`, each with what to do next
 */
export async function refuseGone(call: Call, machineId: string, ways: readonly Ending[] = ['sold', 'partedOut', 'scrapped'], without?: string): Promise<void> {
  const last = await call.tx.job.findFirst({
    where: { machineId, retiredAt: null, outcome: { in: [...ways] }, ...(without ? { id: { not: without } } : {}) },
    orderBy: { number: 'desc' },
    select: { number: true, closedOn: true, outcome: true },
  });
  if (!last) return;
  const { code, was, next } = words[last.outcome as Ending];
  throw new Conflict(code, `This machine was ${was} with job ${last.number}, closed on ${asDay(last.closedOn!)}. ${next(last.number)}`);
}

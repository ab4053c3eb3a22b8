/** Machines that are no longer there to work on, as the jobs tell that ended so. */
import { Conflict, Refused } from '../platform/errors.js';
import { asDay } from '../platform/operation/columns.js';
import type { OperationContext } from '../platform/operation/operation.js';

type Ending = 'sold' | 'partedOut' | 'scrapped';

const words: Record<Ending, { code: string; was: string; next: (number: number) => string }> = {
  sold: {
    code: 'machine-sold',
    was: 'sold',
    next: (number) =>
      `For work on it under warranty, open a job of that purpose. If its buyer brought it back, record a ` +
      `refund of the sale with the machine returned; if the sale never came about, reverse it, which opens ` +
      `job ${number} again. If it was bought back, record a new acquisition with ` +
      `a machine of its own: what was paid for it then is another price.`,
  },
  partedOut: {
    code: 'machine-parted-out',
    was: 'taken apart',
    next: (number) => `Reopen job ${number} if there is still something to do on it.`,
  },
  scrapped: {
    code: 'machine-scrapped',
    was: 'scrapped',
    next: (number) => `Reopen job ${number} if that was a mistake.`,
  },
};

/**
 * A machine that was kept may come back to the bench, one that was sold, taken apart or scrapped may not.
 * @param ways the endings that stand against it
 * @param without a job that is about to be opened again
 * @throws Conflict `machine-sold`, `machine-parted-out` or `machine-scrapped`, each with what to do next; whatever the ways,
 *   when its remains were sold as scrap
 */
export async function requireMachineOnHand(
  context: OperationContext,
  machineId: string,
  ways: readonly Ending[] = ['sold', 'partedOut', 'scrapped'],
  without?: string,
): Promise<void> {
  const scrap = await context.tx.scrapSale.findFirst({ where: { machineId, reversedDate: null } });
  if (scrap)
    throw new Conflict(
      'machine-scrapped',
      `What was left of this machine was sold as scrap on ${asDay(scrap.soldDate)}. Reverse that if it was a mistake.`,
    );
  const last = await context.tx.job.findFirst({
    where: { machineId, archivedAt: null, outcome: { in: [...ways] }, ...(without ? { id: { not: without } } : {}) },
    orderBy: { number: 'desc' },
    select: { number: true, closedDate: true, outcome: true },
  });
  if (!last) return;
  const { code, was, next } = words[last.outcome as Ending];
  throw new Conflict(
    code,
    // A job with an outcome is closed: the database holds the two to each other.
    // eslint-disable-next-line @typescript-eslint/no-non-null-assertion
    `This machine was ${was} with job ${last.number}, closed on ${asDay(last.closedDate!)}. ${next(last.number)}`,
  );
}

/** Only what is a buyer's is worked on under warranty. @throws Refused `not-sold` */
export async function requireSoldMachine(context: OperationContext, machineId: string): Promise<void> {
  const sold = await context.tx.job.count({ where: { machineId, archivedAt: null, outcome: 'sold' } });
  if (sold === 0)
    throw new Refused(
      'not-sold',
      "This machine is the shop's: a warranty job is for one that was sold. Open a job to refurbish it.",
    );
}

/** A machine taken against the price of another: an acquisition of its own at what was allowed for it. */
import type { Decimal } from 'decimal.js';
import type { z } from 'zod';
import { resplit } from '../machines/acquisitions.js';
import { addAcquisition, addMachine } from '../machines/machines.operations.js';
import { AcquisitionCreate, MachineInLot } from '../machines/machines.shapes.js';
import { Conflict } from '../platform/errors.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { TradeInGiven } from './resale.shapes.js';

/** @returns the acquisition's id */
export async function recordTradeIn(
  context: OperationContext,
  { soldDate, allowance }: { soldDate: string; allowance: Decimal },
  { allowance: _, sellerClaims, ...machine }: z.output<typeof TradeInGiven>,
): Promise<string> {
  const acquisition = await addAcquisition(
    context,
    AcquisitionCreate.parse({ source: 'tradeIn', acquiredDate: soldDate, price: allowance.toFixed(), sellerClaims }),
  );
  await addMachine(context, MachineInLot.parse(machine), acquisition.id, '/tradeIn');
  await resplit(context, acquisition.id);
  return acquisition.id;
}

/** The sale never came about, so the other machine did not come in either. @throws Conflict when it was worked on */
export async function undoTradeIn(context: OperationContext, acquisitionId: string): Promise<void> {
  const acquisition = await context.tx.acquisition.findFirst({
    where: { id: acquisitionId, archivedAt: null },
    include: { machines: { include: { jobs: { where: { archivedAt: null } }, harvests: true } } },
  });
  if (!acquisition) return;
  const touched = acquisition.machines.find(({ jobs, harvests }) => jobs.length + harvests.length > 0);
  if (touched)
    throw new Conflict(
      'traded-in',
      `The ${touched.maker} ${touched.model} that was taken in trade has been worked on. ` +
        'Archive its job first, or record what really happened as a refund.',
    );
  for (const { id } of acquisition.machines)
    await context.tx.machine.update({ where: { id }, data: { archivedAt: context.now, version: { increment: 1 } } });
  await context.tx.acquisition.update({
    where: { id: acquisition.id },
    data: { archivedAt: context.now, version: { increment: 1 } },
  });
}

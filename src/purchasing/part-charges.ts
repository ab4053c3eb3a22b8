/** The one place where parts become a job's cost: at the bin's unit cost, which for bought parts is the landed cost. */
import { Decimal } from 'decimal.js';
import { minorUnits } from '../engine/money/index.js';
import { reverseEntry, writeEntry } from '../ledger/ledger.operations.js';
import { toDecimal } from '../platform/money.js';
import type { OperationContext } from '../platform/operation/operation.js';

/**
 * What taking some more of a bin costs: everything that the bin has given to jobs at its unit cost, to the minor unit,
 * less what the jobs bear of it already. So however a bin is used up, one piece at a time or all at once, taken back
 * and used again, the jobs bear what the parts cost.
 */
export function costOfNext(
  unitCost: Decimal,
  takenBefore: Decimal,
  chargedBefore: Decimal,
  quantity: Decimal,
  currency: string,
): Decimal {
  return unitCost
    .times(takenBefore.plus(quantity))
    .toDecimalPlaces(minorUnits(currency), Decimal.ROUND_HALF_UP)
    .minus(chargedBefore);
}

/** The cost of taking from a bin whose row is locked. */
export async function costOfTaking(
  context: OperationContext,
  stock: { id: string; unitCost: { toString(): string } },
  quantity: Decimal,
): Promise<Decimal> {
  const used = await context.tx.partNeed.findMany({
    where: { stockId: stock.id, usedDate: { not: null } },
    select: { id: true, quantity: true },
  });
  // The charge of a need that stands is its latest; an owner may have reversed it for reasons of the job's own, which
  // the next job does not pay for.
  const charges = await context.tx.ledgerEntry.findMany({
    where: { partNeedId: { in: used.map((need) => need.id) }, reversesId: null },
    distinct: ['partNeedId'],
    orderBy: [{ createdAt: 'desc' }, { id: 'desc' }],
  });
  const takenBefore = Decimal.sum(0, ...used.map((need) => toDecimal(need.quantity)));
  const charged = Decimal.sum(0, ...charges.map((entry) => toDecimal(entry.amount)));
  return costOfNext(toDecimal(stock.unitCost), takenBefore, charged, quantity, context.shop.currency);
}

/**
 * Writes the cost of a used part to the job's ledger; a part that cost nothing leaves no entry.
 */
export async function chargePart(
  context: OperationContext,
  {
    partNeedId,
    ...entry
  }: { partNeedId: string; jobId: string; amount: Decimal; description: string; occurredDate: string },
): Promise<void> {
  if (entry.amount.greaterThan(0))
    await writeEntry(context, { ...entry, kind: 'part', amount: entry.amount.toFixed(), cause: { partNeedId } });
}

/** Takes back what a part need was charged with, by the opposite entry. */
export async function uncharge(context: OperationContext, needId: string): Promise<void> {
  const status = await context.tx.ledgerEntry.findFirst({
    where: { partNeedId: needId, reversesId: null, reversedBy: null },
  });
  if (status) await reverseEntry(context, status.id, 'the part was taken back');
}

/**
 * Charges the jobs anew for what they have of a bin whose unit cost has changed: each entry that would be another is
 * reversed and written again. One that an owner has reversed stays so. The bin must be locked.
 */
export async function chargeAnew(
  context: OperationContext,
  stock: { id: string; unitCost: { toString(): string }; part: { name: string } },
  reason: string,
): Promise<void> {
  const used = await context.tx.partNeed.findMany({
    where: { stockId: stock.id, usedDate: { not: null } },
    include: {
      task: { select: { jobId: true } },
      ledger: { where: { reversesId: null }, include: { reversedBy: { select: { id: true } } } },
    },
    orderBy: [{ usedDate: 'asc' }, { id: 'asc' }],
  });
  let taken = new Decimal(0);
  let charged = new Decimal(0);
  for (const need of used) {
    const quantity = toDecimal(need.quantity);
    const amount = costOfNext(toDecimal(stock.unitCost), taken, charged, quantity, context.shop.currency);
    taken = taken.plus(quantity);
    charged = charged.plus(amount);
    const standing = need.ledger.find((entry) => !entry.reversedBy);
    // Charged and reversed: it stays so. Never charged, because it had cost nothing so far: it is now.
    if (standing ? toDecimal(standing.amount).equals(amount) : need.ledger.length > 0) continue;
    if (standing) await reverseEntry(context, standing.id, reason);
    await chargePart(context, {
      jobId: need.task.jobId,
      amount,
      description: `${quantity} × ${stock.part.name}`,
      partNeedId: need.id,
      occurredDate: context.today,
    });
  }
}

/** The one place where parts become a job's cost: at the bin's unit cost, which for bought parts is the landed cost. */
import { Decimal } from 'decimal.js';
import { minorUnits } from '../engine/money/index.js';
import type { Call } from '../platform/operation/operation.js';
import { asDate } from '../platform/operation/records.js';
import { figure } from './rows.js';

/**
 * What taking some more of a bin costs: everything that the bin has given to jobs at its unit cost, to the minor unit,
 * less what the jobs bear of it already. So however a bin is used up, one piece at a time or all at once, taken back
 * and used again, the jobs bear what the parts cost.
 */
export function costOfNext(unitCost: Decimal, takenBefore: Decimal, chargedBefore: Decimal, quantity: Decimal, currency: string): Decimal {
  return unitCost.times(takenBefore.plus(quantity)).toDecimalPlaces(minorUnits(currency), Decimal.ROUND_HALF_UP).minus(chargedBefore);
}

/** The cost of taking from a bin whose row is locked. */
export async function costOfTaking(call: Call, stock: { id: string; unitCost: unknown }, quantity: Decimal): Promise<Decimal> {
  const used = await call.tx.partNeed.findMany({ where: { stockId: stock.id, usedOn: { not: null } }, select: { id: true, quantity: true } });
  const charged = await call.tx.ledgerEntry.aggregate({ where: { sourceId: { in: used.map((need) => need.id) }, kind: 'part' }, _sum: { amount: true } });
  const takenBefore = Decimal.sum(0, ...used.map((need) => figure(need.quantity)));
  return costOfNext(figure(stock.unitCost as string), takenBefore, figure(charged._sum.amount), quantity, call.shop.currency);
}

/**
 * Writes the cost of a used part to the job's ledger; a part that cost nothing leaves no entry.
 * @param entry amount in the shop's currency; sourceId is the part need
 */
export async function chargePart(call: Call, entry: { jobId: string; amount: Decimal; description: string; sourceId: string; day: string }): Promise<void> {
  if (entry.amount.lessThanOrEqualTo(0)) return;
  await call.tx.ledgerEntry.create({
    data: {
      shopId: call.shop.id,
      jobId: entry.jobId,
      kind: 'part',
      amount: entry.amount.toString(),
      occurredOn: asDate(entry.day),
      description: entry.description,
      sourceId: entry.sourceId,
    },
  });
}

/** Takes back what a part need was charged with, by the opposite entry. */
export async function uncharge(call: Call, sourceId: string, description: string): Promise<void> {
  const standing = await call.tx.ledgerEntry.findFirst({ where: { sourceId, kind: 'part', reversesId: null, reversedBy: null } });
  if (!standing) return;
  await call.tx.ledgerEntry.create({
    data: {
      shopId: call.shop.id,
      jobId: standing.jobId,
      kind: 'part',
      amount: standing.amount.negated(),
      occurredOn: asDate(call.today),
      description,
      reversesId: standing.id,
      sourceId,
    },
  });
}

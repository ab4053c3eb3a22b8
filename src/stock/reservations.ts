/** What of the bins is held for which need, and what is free: computed, never stored. */
import { Decimal } from 'decimal.js';
import { toDecimal } from '../platform/money.js';
import { groupBy } from '../platform/operation/group-by.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';

interface HoldingNeed extends Pick<Stored<'partNeed'>, 'id' | 'stockId' | 'orderLineId' | 'createdAt' | 'position'> {
  quantity: { toString(): string };
}

/** Part needs, oldest first; such as came at once, such as a kit's, by their place. */
export const needOrder = [{ createdAt: 'asc' as const }, { position: 'asc' as const }, { id: 'asc' as const }];

/**
 * How much of each bin is held for which need. Needs that were reserved from what was there come first, then those
 * that wait for the rest of an order line, oldest first; a need of a partly received line holds what has come.
 * @param stock rows with id and quantity
 * @returns by need id
 */
export function coverOf(
  stock: readonly { id: string; quantity: { toString(): string } }[],
  needs: readonly HoldingNeed[],
): Map<string, Decimal> {
  const cover = new Map<string, Decimal>();
  const byStock = groupBy(needs, (need) => need.stockId);
  for (const bin of stock) {
    let left = toDecimal(bin.quantity);
    const waiting = [...(byStock.get(bin.id) ?? [])].sort(
      (a, b) =>
        Number(a.orderLineId !== null) - Number(b.orderLineId !== null) ||
        a.createdAt.getTime() - b.createdAt.getTime() ||
        a.position - b.position ||
        (a.id < b.id ? -1 : 1),
    );
    for (const need of waiting) {
      const held = Decimal.min(left, toDecimal(need.quantity));
      cover.set(need.id, held);
      left = left.minus(held);
    }
  }
  return cover;
}

/** The standing needs on some bins: reserved and not used up. */
export const needsOnStock = (context: OperationContext, stockIds: string[]) =>
  context.tx.partNeed.findMany({ where: { stockId: { in: stockIds }, usedDate: null, archivedAt: null } });

interface Free {
  quantityReserved: Decimal;
  quantityFree: Decimal;
}
/** A bin's row with what is held of it and what is free. */
export type CompleteStock = Stored<'stock'> & Free;

/** Stock rows with what is held of them and what is free. */
export async function completeStock<R extends Stored<'stock'>>(
  context: OperationContext,
  rows: readonly R[],
): Promise<(R & Free)[]> {
  const needs =
    rows.length === 0
      ? []
      : await needsOnStock(
          context,
          rows.map((row) => row.id),
        );
  const cover = coverOf(rows, needs);
  const byStock = groupBy(needs, (need) => need.stockId);
  return rows.map((row) => {
    const reserved = Decimal.sum(0, ...(byStock.get(row.id) ?? []).map((need) => cover.get(need.id) ?? 0));
    return { ...row, quantityReserved: reserved, quantityFree: toDecimal(row.quantity).minus(reserved) };
  });
}

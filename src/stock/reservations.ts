/** What of the bins is held for which need, and what is free: computed, never stored. */
import { Decimal } from 'decimal.js';
import { toDecimal } from '../platform/money.js';
import type { OperationContext, Presentable } from '../platform/operation/operation.js';
import { groupBy } from '../platform/operation/rows.js';

/** Part needs, oldest first; such as came at once, such as a kit's, by their place. */
export const needOrder = [{ createdAt: 'asc' as const }, { position: 'asc' as const }, { id: 'asc' as const }];

/**
 * How much of each bin is held for which need. Needs that were reserved from what was there come first, then those
 * that wait for the rest of an order line, oldest first; a need of a partly received line holds what has come.
 * @param stock rows with id and quantity
 * @returns by need id
 */
export function coverOf(stock: readonly Presentable[], needs: readonly Presentable[]): Map<string, Decimal> {
  const cover = new Map<string, Decimal>();
  const byStock = groupBy(needs, (need) => need.stockId as string | null);
  for (const bin of stock) {
    let left = toDecimal(bin.quantity);
    const waiting = [...(byStock.get(bin.id) ?? [])].sort(
      (a, b) =>
        Number(a.orderLineId !== null) - Number(b.orderLineId !== null) ||
        a.createdAt - b.createdAt ||
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

/** Stock rows with what is held of them and what is free. */
export async function completeStock(context: OperationContext, rows: Presentable[]): Promise<Presentable[]> {
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

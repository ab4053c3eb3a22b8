/** Catalogue entries with what the bins, the orders and a fastener's designation say of them. */
import { Decimal } from 'decimal.js';
import { toDecimal } from '../platform/money.js';
import type { OperationContext, Presentable } from '../platform/operation/operation.js';
import { groupBy } from '../platform/operation/rows.js';
import { completeStock } from '../stock/reservations.js';
import { fastenerFacts } from './fastener.js';

/** A part's numbers as they were given, always fetched with it. */
export const withMakerNumbers = { makerNumbers: { orderBy: { position: 'asc' as const } } };

export async function completeParts(context: OperationContext, rows: Presentable[]): Promise<Presentable[]> {
  const ids = rows.map((row) => row.id as string);
  const stock = groupBy(await stockOfParts(context, ids), (row) => row.partId as string);
  const coming =
    ids.length === 0
      ? []
      : await context.tx.$queryRaw<{ partId: string; outstanding: Decimal }[]>`
        select l."partId", sum(l."quantityOrdered" - l."quantityReceived" - l."quantityCancelled") as outstanding
        from "OrderLine" l join "Order" o on o.id = l."orderId"
        where l."partId" = any(${ids}::uuid[]) and o."archivedAt" is null group by l."partId"`;
  const onOrder = new Map(coming.map((row) => [row.partId, toDecimal(row.outstanding)]));
  return rows.map((row) => {
    const bins = stock.get(row.id) ?? [];
    const quantityOnHand = Decimal.sum(0, ...bins.map((bin) => toDecimal(bin.quantity)));
    const quantityFree = Decimal.sum(0, ...bins.map((bin) => toDecimal(bin.quantityFree)));
    const quantityOnOrder = onOrder.get(row.id) ?? new Decimal(0);
    return {
      ...row,
      fastenerFacts: row.fastener ? fastenerFacts(row.fastener) : null,
      quantityOnHand,
      quantityFree,
      quantityOnOrder,
      belowReorderPoint:
        row.reorderPoint !== null && quantityFree.plus(quantityOnOrder).lessThan(toDecimal(row.reorderPoint)),
    };
  });
}

/** What is on hand of some parts, fullest bins first. */
export async function stockOfParts(context: OperationContext, partIds: string[]): Promise<Presentable[]> {
  if (partIds.length === 0) return [];
  return completeStock(
    context,
    await context.tx.stock.findMany({
      where: { partId: { in: partIds }, archivedAt: null, quantity: { gt: 0 } },
      orderBy: [{ quantity: 'desc' }, { id: 'asc' }],
    }),
  );
}

export async function partsByIds(context: OperationContext, ids: string[]): Promise<Presentable[]> {
  return completeParts(
    context,
    await context.tx.part.findMany({ where: { id: { in: ids } }, include: withMakerNumbers }),
  );
}

/** Catalogue entries with what the bins, the orders and a fastener's designation say of them. */
import { Decimal } from 'decimal.js';
import { figure } from '../platform/money.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { fastenerFacts } from './fastener.js';
import { completeStock } from '../purchasing/needs.queries.js';
import { groupBy } from '../platform/operation/rows.js';

export async function completeParts(call: Call, rows: Presentable[]): Promise<Presentable[]> {
  const ids = rows.map((row) => row.id as string);
  const stock = groupBy(await stockOfParts(call, ids), (row) => row.partId as string);
  const coming =
    ids.length === 0
      ? []
      : await call.tx.$queryRaw<{ partId: string; outstanding: Decimal }[]>`
        select l."partId", sum(l."quantityOrdered" - l."quantityReceived" - l."quantityCancelled") as outstanding
        from "OrderLine" l join "Order" o on o.id = l."orderId"
        where l."partId" = any(${ids}::uuid[]) and o."retiredAt" is null group by l."partId"`;
  const onOrder = new Map(coming.map((row) => [row.partId, figure(row.outstanding)]));
  return rows.map((row) => {
    const bins = stock.get(row.id) ?? [];
    const quantityOnHand = Decimal.sum(0, ...bins.map((bin) => figure(bin.quantity)));
    const quantityFree = Decimal.sum(0, ...bins.map((bin) => figure(bin.quantityFree)));
    const quantityOnOrder = onOrder.get(row.id) ?? new Decimal(0);
    return {
      ...row,
      fastenerFacts: row.fastener ? fastenerFacts(row.fastener) : null,
      quantityOnHand,
      quantityFree,
      quantityOnOrder,
      belowReorderPoint:
        row.reorderPoint !== null && quantityFree.plus(quantityOnOrder).lessThan(figure(row.reorderPoint)),
    };
  });
}

/** What is on hand of some parts, fullest bins first. */
export async function stockOfParts(call: Call, partIds: string[]): Promise<Presentable[]> {
  if (partIds.length === 0) return [];
  return completeStock(
    call,
    await call.tx.stock.findMany({
      where: { partId: { in: partIds }, retiredAt: null, quantity: { gt: 0 } },
      orderBy: [{ quantity: 'desc' }, { id: 'asc' }],
    }),
  );
}

export async function partsByIds(call: Call, ids: string[]): Promise<Presentable[]> {
  return completeParts(call, await call.tx.part.findMany({ where: { id: { in: ids } } }));
}

/** Catalogue entries with what the bins, the orders and a fastener's designation say of them. */
import { Decimal } from 'decimal.js';
import { toDecimal } from '../platform/money.js';
import { groupBy } from '../platform/operation/group-by.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';
import { type CompleteStock, completeStock } from '../stock/reservations.js';
import { fastenerFacts } from './fastener.js';

/** A part's numbers as they were given, always fetched with it. */
export const withMakerNumbers = { makerNumbers: { orderBy: { position: 'asc' as const } } };

/** A catalogue entry with what is on hand and coming of it. */
export type CompletePart = Awaited<ReturnType<typeof completeParts>>[number];

export async function completeParts(
  context: OperationContext,
  rows: readonly Stored<'part', typeof withMakerNumbers>[],
) {
  const ids = rows.map((row) => row.id);
  const stock = groupBy(await stockOfParts(context, ids), (row) => row.partId);
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
export async function stockOfParts(context: OperationContext, partIds: string[]): Promise<CompleteStock[]> {
  if (partIds.length === 0) return [];
  return completeStock(
    context,
    await context.tx.stock.findMany({
      where: { partId: { in: partIds }, archivedAt: null, quantity: { gt: 0 } },
      orderBy: [{ quantity: 'desc' }, { id: 'asc' }],
    }),
  );
}

export async function partsByIds(context: OperationContext, ids: string[]): Promise<CompletePart[]> {
  return completeParts(
    context,
    await context.tx.part.findMany({ where: { id: { in: ids } }, include: withMakerNumbers }),
  );
}

/** Orders and their lines with what follows from prices, promises, receipts and returns. */
import { Decimal } from 'decimal.js';
import type { z } from 'zod';
import { daysBetween } from '../platform/days.js';
import { toDecimal } from '../platform/money.js';
import { asDay } from '../platform/operation/columns.js';
import { groupBy } from '../platform/operation/group-by.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';
import type { OrderLineStatus } from './orders.shapes.js';

type Figure = { toString(): string };
/** How many of a line were ordered, came and were cancelled. */
export type LineQuantities = Record<'quantityOrdered' | 'quantityReceived' | 'quantityCancelled', Figure>;

/** What is still to come of a line. */
export const outstandingOf = (line: LineQuantities): Decimal =>
  toDecimal(line.quantityOrdered).minus(toDecimal(line.quantityReceived)).minus(toDecimal(line.quantityCancelled));

/** What was not cancelled of a line. */
export const keptOf = (line: Omit<LineQuantities, 'quantityReceived'>): Decimal =>
  toDecimal(line.quantityOrdered).minus(toDecimal(line.quantityCancelled));

/**
 * Price, core charge and shares of shipping and tax for one piece, of what was not cancelled:
 * ((unit price + core charge) × quantity + shares − what was paid back) / quantity, never below nothing.
 * The rule for a core charge: it has been paid and is part of the cost until the old part is sent back; what is then
 * paid back for it is taken off, spread over the pieces of the line. A core that is never sent back stays in the cost.
 * What a supplier pays back for a piece that it replaces makes the line's pieces cheaper in the same way.
 * @param supplierRefundTotal so far for the line's cores and for what was replaced
 */
export function landedUnitCost(line: Stored<'orderLine'>, supplierRefundTotal: Decimal): Decimal | null {
  const kept = keptOf(line);
  if (kept.lessThanOrEqualTo(0)) return null;
  const price = toDecimal(line.unitPrice).plus(toDecimal(line.coreCharge)).times(kept);
  return Decimal.max(
    0,
    price.plus(toDecimal(line.shippingShare)).plus(toDecimal(line.taxShare)).minus(supplierRefundTotal),
  ).div(kept);
}

export interface SupplierRefunds {
  coresReturned: Decimal;
  coreRefunded: Decimal;
  /** For cores and for what was replaced: what the line's pieces cost less. */
  supplierRefundTotal: Decimal;
}

/** What was paid back so far for pieces of lines that stand. Two statements. */
export async function supplierRefundsOn(
  context: OperationContext,
  lineIds: readonly string[],
): Promise<(lineId: string) => SupplierRefunds> {
  const ids = [...new Set(lineIds)];
  const cores =
    ids.length === 0
      ? []
      : await context.tx.coreReturn.groupBy({
          by: ['orderLineId'],
          where: { orderLineId: { in: ids } },
          _sum: { quantity: true, supplierRefund: true },
        });
  const replaced =
    ids.length === 0
      ? []
      : await context.tx.partReturn.findMany({
          where: { replacementExpected: true, supplierRefund: { gt: 0 }, receipt: { orderLineId: { in: ids } } },
          select: { supplierRefund: true, receipt: { select: { orderLineId: true } } },
        });
  return (lineId) => {
    const sum = cores.find((row) => row.orderLineId === lineId)?._sum;
    const coreRefunded = toDecimal(sum?.supplierRefund);
    const forReplaced = replaced
      .filter((one) => one.receipt.orderLineId === lineId)
      .map((one) => toDecimal(one.supplierRefund));
    return {
      coresReturned: toDecimal(sum?.quantity),
      coreRefunded,
      supplierRefundTotal: Decimal.sum(coreRefunded, ...forReplaced),
    };
  };
}

/** How a line's promises stand on a day. A back-order is a line whose promise moved later, passed, or was withdrawn. */
export function promiseFacts(promises: readonly { promisedDate: Date | null }[], outstanding: boolean, today: string) {
  const first = promises.find((promise) => promise.promisedDate)?.promisedDate ?? null;
  const latest = promises.at(-1)?.promisedDate ?? null;
  const firstPromisedDate = first && asDay(first);
  const promisedDate = latest && asDay(latest);
  const withdrawn = promises.length > 0 && promisedDate === null;
  const passed = promisedDate !== null && promisedDate < today;
  const moved = firstPromisedDate !== null && promisedDate !== null && promisedDate > firstPromisedDate;
  const slipDays =
    firstPromisedDate !== null && promisedDate !== null
      ? daysBetween(firstPromisedDate, outstanding && passed ? today : promisedDate)
      : null;
  return { firstPromisedDate, promisedDate, slipDays, backOrdered: outstanding && (withdrawn || passed || moved) };
}

/** An order line with what is still to come of it, when, and what it costs. */
export type CompleteLine = Awaited<ReturnType<typeof completeLines>>[number];

/** Order lines with their promises' standing and their landed cost: a constant number of statements for any number of lines. */
export async function completeLines(context: OperationContext, rows: readonly Stored<'orderLine'>[]) {
  const promises =
    rows.length === 0
      ? []
      : await context.tx.promise.findMany({
          where: { orderLineId: { in: rows.map((row) => row.id) } },
          orderBy: { sequence: 'asc' },
        });
  const byLine = groupBy(promises, (promise) => promise.orderLineId);
  const backOn = await supplierRefundsOn(
    context,
    rows.map((row) => row.id),
  );
  return rows.map((row) => {
    const { coresReturned, coreRefunded, supplierRefundTotal } = backOn(row.id);
    const coresToReturn = toDecimal(row.coreCharge).isZero()
      ? 0
      : Decimal.max(0, toDecimal(row.quantityReceived).minus(coresReturned));
    const quantityOutstanding = outstandingOf(row);
    const facts = promiseFacts(byLine.get(row.id) ?? [], quantityOutstanding.greaterThan(0), context.today);
    const status = lineStatus(row, quantityOutstanding, facts.backOrdered);
    return {
      ...row,
      quantityOutstanding,
      ...facts,
      status,
      coresReturned,
      coresToReturn,
      coreRefunded,
      landedUnitCost: landedUnitCost(row, supplierRefundTotal),
    };
  });
}

function lineStatus(
  line: Stored<'orderLine'>,
  outstanding: Decimal,
  backOrdered: boolean,
): z.output<typeof OrderLineStatus> {
  if (outstanding.greaterThan(0)) return backOrdered ? 'backOrdered' : 'onOrder';
  return toDecimal(line.quantityReceived).greaterThan(0) ? 'received' : 'cancelled';
}

export async function linesByIds(context: OperationContext, ids: string[]): Promise<CompleteLine[]> {
  return ids.length === 0
    ? []
    : completeLines(context, await context.tx.orderLine.findMany({ where: { id: { in: ids } } }));
}

export async function linesOfOrders(context: OperationContext, orderIds: string[]): Promise<CompleteLine[]> {
  return completeLines(
    context,
    await context.tx.orderLine.findMany({
      where: { orderId: { in: orderIds } },
      orderBy: { position: 'asc' },
    }),
  );
}

/** Orders with their lines' standing and their sums. */
export async function completeOrders(context: OperationContext, rows: readonly Stored<'order'>[]) {
  const ids = rows.map((row) => row.id);
  const lines = groupBy(ids.length === 0 ? [] : await linesOfOrders(context, ids), (line) => line.orderId);
  const returns =
    ids.length === 0
      ? []
      : await context.tx.partReturn.findMany({
          where: { receipt: { orderLine: { orderId: { in: ids } } } },
          select: {
            supplierRefund: true,
            quantity: true,
            replacementExpected: true,
            receipt: { select: { orderLine: { select: { orderId: true, unitPrice: true, coreCharge: true } } } },
          },
        });
  const sentBack = groupBy(returns, (one) => one.receipt.orderLine.orderId);
  return rows.map((row) => {
    const its = lines.get(row.id) ?? [];
    const goodsCost = Decimal.sum(0, ...its.map((line) => toDecimal(line.unitPrice).times(keptOf(line))));
    const coreCharges = Decimal.sum(0, ...its.map((line) => toDecimal(line.coreCharge).times(keptOf(line))));
    const coresRefunded = Decimal.sum(0, ...its.map((line) => line.coreRefunded));
    const extras = toDecimal(row.shippingCost).plus(toDecimal(row.taxCost));
    const spread = Decimal.sum(0, ...its.map((line) => toDecimal(line.shippingShare).plus(toDecimal(line.taxShare))));
    const back = sentBack.get(row.id) ?? [];
    const refunded = Decimal.sum(0, ...back.map((one) => toDecimal(one.supplierRefund)));
    // What went back for good stands no more among the goods, but it was paid before it was refunded.
    const paidForBack = Decimal.sum(
      0,
      ...back
        .filter((one) => !one.replacementExpected)
        .map(({ quantity, receipt: { orderLine } }) =>
          toDecimal(orderLine.unitPrice).plus(toDecimal(orderLine.coreCharge)).times(toDecimal(quantity)),
        ),
    );
    const totalCost = Decimal.sum(goodsCost, coreCharges, extras, paidForBack).minus(refunded).minus(coresRefunded);
    return {
      ...row,
      status: orderStatus(its),
      goodsCost,
      coreCharges,
      coresRefunded,
      unspreadCost: extras.minus(spread),
      refunded,
      totalCost,
    };
  });
}

function orderStatus(lines: readonly CompleteLine[]): z.output<typeof OrderLineStatus> {
  for (const status of ['backOrdered', 'onOrder', 'received'] as const) {
    if (lines.some((line) => line.status === status)) return status;
  }
  return 'cancelled';
}

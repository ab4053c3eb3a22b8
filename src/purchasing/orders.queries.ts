/** Orders and their lines with what follows from prices, promises, receipts and returns. */
import { Decimal } from 'decimal.js';
import { daysBetween } from '../platform/days.js';
import { figure } from '../platform/money.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { asDay } from '../platform/operation/crud-operations.js';
import { groupBy } from '../platform/operation/rows.js';

/** What is still to come of a line. */
export const outstandingOf = (line: Presentable): Decimal =>
  figure(line.quantityOrdered).minus(figure(line.quantityReceived)).minus(figure(line.quantityCancelled));

/** What was not cancelled of a line. */
const keptOf = (line: Presentable): Decimal => figure(line.quantityOrdered).minus(figure(line.quantityCancelled));

/**
 * Price, core charge and shares of shipping and tax for one piece, of what was not cancelled:
 * ((unit price + core charge) × quantity + shares − what was paid back) / quantity, never below nothing.
 * The rule for a core charge: it has been paid and is part of the cost until the old part is sent back; what is then
 * paid back for it is taken off, spread over the pieces of the line. A core that is never sent back stays in the cost.
 * What a supplier pays back for a piece that it replaces makes the line's pieces cheaper in the same way.
 * @param paidBack so far for the line's cores and for what was replaced
 */
export function landedUnitCost(line: Presentable, paidBack: Decimal): Decimal | null {
  const kept = keptOf(line);
  if (kept.lessThanOrEqualTo(0)) return null;
  const price = figure(line.unitPrice).plus(figure(line.coreCharge)).times(kept);
  return Decimal.max(0, price.plus(figure(line.shippingShare)).plus(figure(line.taxShare)).minus(paidBack)).div(kept);
}

export interface PaidBack {
  coresReturned: Decimal;
  coreRefunded: Decimal;
  /** For cores and for what was replaced: what the line's pieces cost less. */
  paidBack: Decimal;
}

/** What was paid back so far for pieces of lines that stand. Two statements. */
export async function paidBackOn(call: Call, lineIds: readonly string[]): Promise<(lineId: string) => PaidBack> {
  const ids = [...new Set(lineIds)];
  const cores =
    ids.length === 0
      ? []
      : await call.tx.coreReturn.groupBy({
          by: ['orderLineId'],
          where: { orderLineId: { in: ids } },
          _sum: { quantity: true, refund: true },
        });
  const replaced =
    ids.length === 0
      ? []
      : await call.tx.partReturn.findMany({
          where: { replacementExpected: true, refund: { gt: 0 }, receipt: { orderLineId: { in: ids } } },
          select: { refund: true, receipt: { select: { orderLineId: true } } },
        });
  return (lineId) => {
    const sum = cores.find((row) => row.orderLineId === lineId)?._sum;
    const coreRefunded = figure(sum?.refund);
    const forReplaced = replaced.filter((one) => one.receipt.orderLineId === lineId).map((one) => figure(one.refund));
    return { coresReturned: figure(sum?.quantity), coreRefunded, paidBack: Decimal.sum(coreRefunded, ...forReplaced) };
  };
}

/** How a line's promises stand on a day. A back-order is a line whose promise moved later, passed, or was withdrawn. */
export function promiseFacts(promises: readonly { promisedDay: Date | null }[], outstanding: boolean, today: string) {
  const first = promises.find((promise) => promise.promisedDay)?.promisedDay ?? null;
  const latest = promises.at(-1)?.promisedDay ?? null;
  const firstPromisedDay = first && asDay(first);
  const promisedDay = latest && asDay(latest);
  const withdrawn = promises.length > 0 && promisedDay === null;
  const passed = promisedDay !== null && promisedDay < today;
  const moved = firstPromisedDay !== null && promisedDay !== null && promisedDay > firstPromisedDay;
  const slipDays =
    firstPromisedDay !== null && promisedDay !== null
      ? daysBetween(firstPromisedDay, outstanding && passed ? today : promisedDay)
      : null;
  return { firstPromisedDay, promisedDay, slipDays, backOrdered: outstanding && (withdrawn || passed || moved) };
}

/** Order lines with their promises' standing and their landed cost: a constant number of statements for any number of lines. */
export async function completeLines(call: Call, rows: Presentable[]): Promise<Presentable[]> {
  const promises =
    rows.length === 0
      ? []
      : await call.tx.promise.findMany({
          where: { orderLineId: { in: rows.map((row) => row.id) } },
          orderBy: { sequence: 'asc' },
        });
  const byLine = groupBy(promises, (promise) => promise.orderLineId);
  const backOn = await paidBackOn(
    call,
    rows.map((row) => row.id),
  );
  return rows.map((row) => {
    const { coresReturned, coreRefunded, paidBack } = backOn(row.id);
    const coresToReturn = figure(row.coreCharge).isZero()
      ? 0
      : Decimal.max(0, figure(row.quantityReceived).minus(coresReturned));
    const quantityOutstanding = outstandingOf(row);
    const facts = promiseFacts(byLine.get(row.id) ?? [], quantityOutstanding.greaterThan(0), call.today);
    const standing = lineStanding(row, quantityOutstanding, facts.backOrdered);
    return {
      ...row,
      quantityOutstanding,
      ...facts,
      standing,
      coresReturned,
      coresToReturn,
      coreRefunded,
      landedUnitCost: landedUnitCost(row, paidBack),
    };
  });
}

function lineStanding(line: Presentable, outstanding: Decimal, backOrdered: boolean): string {
  if (outstanding.greaterThan(0)) return backOrdered ? 'backOrdered' : 'onOrder';
  return figure(line.quantityReceived).greaterThan(0) ? 'received' : 'cancelled';
}

export async function linesByIds(call: Call, ids: string[]): Promise<Presentable[]> {
  return ids.length === 0 ? [] : completeLines(call, await call.tx.orderLine.findMany({ where: { id: { in: ids } } }));
}

export async function linesOfOrders(call: Call, orderIds: string[]): Promise<Presentable[]> {
  return completeLines(
    call,
    await call.tx.orderLine.findMany({
      where: { orderId: { in: orderIds } },
      orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
    }),
  );
}

/** Orders with their lines' standing and their sums. */
export async function completeOrders(call: Call, rows: Presentable[]): Promise<Presentable[]> {
  const ids = rows.map((row) => row.id as string);
  const lines = groupBy(ids.length === 0 ? [] : await linesOfOrders(call, ids), (line) => line.orderId as string);
  const returns =
    ids.length === 0
      ? []
      : await call.tx.partReturn.findMany({
          where: { receipt: { orderLine: { orderId: { in: ids } } } },
          select: {
            refund: true,
            quantity: true,
            replacementExpected: true,
            receipt: { select: { orderLine: { select: { orderId: true, unitPrice: true, coreCharge: true } } } },
          },
        });
  const sentBack = groupBy(returns, (one) => one.receipt.orderLine.orderId);
  return rows.map((row) => {
    const its = lines.get(row.id) ?? [];
    const goodsCost = Decimal.sum(0, ...its.map((line) => figure(line.unitPrice).times(keptOf(line))));
    const coreCharges = Decimal.sum(0, ...its.map((line) => figure(line.coreCharge).times(keptOf(line))));
    const coresRefunded = Decimal.sum(0, ...its.map((line) => line.coreRefunded));
    const extras = figure(row.shippingCost).plus(figure(row.taxCost));
    const spread = Decimal.sum(0, ...its.map((line) => figure(line.shippingShare).plus(figure(line.taxShare))));
    const back = sentBack.get(row.id) ?? [];
    const refunded = Decimal.sum(0, ...back.map((one) => figure(one.refund)));
    // What went back for good stands no more among the goods, but it was paid before it was refunded.
    const paidForBack = Decimal.sum(
      0,
      ...back
        .filter((one) => !one.replacementExpected)
        .map(({ quantity, receipt: { orderLine } }) =>
          figure(orderLine.unitPrice).plus(figure(orderLine.coreCharge)).times(figure(quantity)),
        ),
    );
    const totalCost = Decimal.sum(goodsCost, coreCharges, extras, paidForBack).minus(refunded).minus(coresRefunded);
    return {
      ...row,
      standing: orderStanding(its),
      goodsCost,
      coreCharges,
      coresRefunded,
      unspreadCost: extras.minus(spread),
      refunded,
      totalCost,
    };
  });
}

function orderStanding(lines: readonly Presentable[]): string {
  for (const standing of ['backOrdered', 'onOrder', 'received']) {
    if (lines.some((line) => line.standing === standing)) return standing;
  }
  return 'cancelled';
}

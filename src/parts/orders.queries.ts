/** Orders and their lines with what follows from prices, promises, receipts and returns. */
import { Decimal } from 'decimal.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { asDay } from '../platform/operation/records.js';
import { figure, groupBy } from './rows.js';

const daysBetween = (from: string, to: string): number => Math.round((Date.parse(to) - Date.parse(from)) / 86_400_000);

/** What is still to come of a line. */
export const outstandingOf = (line: Presentable): Decimal => figure(line.quantityOrdered).minus(figure(line.quantityReceived)).minus(figure(line.quantityCancelled));

/** Price and shares of shipping and tax for one piece: (unit price × quantity + shares) / quantity, of what was not cancelled. */
export function landedUnitCost(line: Presentable): Decimal | null {
  const kept = figure(line.quantityOrdered).minus(figure(line.quantityCancelled));
  if (kept.lessThanOrEqualTo(0)) return null;
  return figure(line.unitPrice).times(kept).plus(figure(line.shippingShare)).plus(figure(line.taxShare)).div(kept);
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
  const slipDays = firstPromisedDay !== null && promisedDay !== null ? daysBetween(firstPromisedDay, outstanding && passed ? today : promisedDay) : null;
  return { firstPromisedDay, promisedDay, slipDays, backOrdered: outstanding && (withdrawn || passed || moved) };
}

/** Order lines with their promises' standing and their landed cost: one statement for any number of lines. */
export async function completeLines(call: Call, rows: Presentable[]): Promise<Presentable[]> {
  const promises = rows.length === 0 ? [] : await call.tx.promise.findMany({ where: { orderLineId: { in: rows.map((row) => row.id) } }, orderBy: { sequence: 'asc' } });
  const byLine = groupBy(promises, (promise) => promise.orderLineId);
  return rows.map((row) => {
    const quantityOutstanding = outstandingOf(row);
    const facts = promiseFacts(byLine.get(row.id) ?? [], quantityOutstanding.greaterThan(0), call.today);
    return { ...row, quantityOutstanding, ...facts, standing: lineStanding(row, quantityOutstanding, facts.backOrdered), landedUnitCost: landedUnitCost(row) };
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
  return completeLines(call, await call.tx.orderLine.findMany({ where: { orderId: { in: orderIds } }, orderBy: [{ createdAt: 'asc' }, { id: 'asc' }] }));
}

/** Orders with their lines' standing and their sums. */
export async function completeOrders(call: Call, rows: Presentable[]): Promise<Presentable[]> {
  const ids = rows.map((row) => row.id as string);
  const lines = groupBy(ids.length === 0 ? [] : await linesOfOrders(call, ids), (line) => line.orderId as string);
  const returns = ids.length === 0
    ? []
    : await call.tx.partReturn.findMany({ where: { receipt: { orderLine: { orderId: { in: ids } } } }, select: { refund: true, receipt: { select: { orderLine: { select: { orderId: true } } } } } });
  const refunds = groupBy(returns, (one) => one.receipt.orderLine.orderId);
  return rows.map((row) => {
    const its = lines.get(row.id) ?? [];
    const goodsCost = Decimal.sum(0, ...its.map((line) => figure(line.unitPrice).times(figure(line.quantityOrdered).minus(figure(line.quantityCancelled)))));
    const extras = figure(row.shippingCost).plus(figure(row.taxCost));
    const spread = Decimal.sum(0, ...its.map((line) => figure(line.shippingShare).plus(figure(line.taxShare))));
    const refunded = Decimal.sum(0, ...(refunds.get(row.id) ?? []).map((one) => figure(one.refund)));
    return { ...row, standing: orderStanding(its), goodsCost, unspreadCost: extras.minus(spread), refunded, totalCost: goodsCost.plus(extras).minus(refunded) };
  });
}

function orderStanding(lines: readonly Presentable[]): string {
  for (const standing of ['backOrdered', 'onOrder', 'received']) {
    if (lines.some((line) => line.standing === standing)) return standing;
  }
  return 'cancelled';
}

/** The money and the quantities of an order, and the steps that change them. */
import { Decimal } from 'decimal.js';
import { allocate, landLines } from '../engine/money/index.js';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { checkAmount, figure } from '../platform/money.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { asDate, asDay, findOne } from '../platform/operation/crud-operations.js';
import { otherPart } from '../catalogue/kits.queries.js';
import { completeNeeds } from './needs.queries.js';
import { linesByIds, outstandingOf } from './orders.queries.js';
import { lock, needParts, pastDay } from '../platform/operation/rows.js';

const nothingCame = (lines: readonly Presentable[]): boolean =>
  lines.every((line) => figure(line.quantityReceived).isZero());

/**
 * Spreads the order's shipping and tax anew over the lines that were not cancelled whole, which is possible until
 * something has come: from then on parts in the bins carry their landed cost.
 */
export async function spreadAnew(call: Call, orderId: string): Promise<void> {
  const order = await findOne(call.tx.order, 'order', orderId);
  const lines = await call.tx.orderLine.findMany({
    where: { orderId },
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
  });
  if (!nothingCame(lines)) return;
  const keptOf = (line: Presentable): Decimal => figure(line.quantityOrdered).minus(figure(line.quantityCancelled));
  const bearing = lines.filter((line) => keptOf(line).greaterThan(0));
  const landed =
    bearing.length === 0
      ? []
      : landLines(
          bearing.map((line) => ({ quantity: keptOf(line), unitPrice: figure(line.unitPrice) })),
          { shipping: figure(order.shippingCost), tax: figure(order.taxCost), spread: order.spreadMethod },
          call.shop.currency,
        );
  for (const line of lines) {
    const its = landed[bearing.indexOf(line)];
    const shares = { shippingShare: (its?.shippingShare ?? 0).toString(), taxShare: (its?.taxShare ?? 0).toString() };
    if (figure(line.shippingShare).equals(shares.shippingShare) && figure(line.taxShare).equals(shares.taxShare))
      continue;
    await call.tx.orderLine.update({ where: { id: line.id }, data: { ...shares, version: { increment: 1 } } });
  }
}

/**
 * Holds an order's row, so that its lines and their shares change by one hand at a time.
 * @throws Conflict when something of it has come and `untouched` is asked for
 */
export async function lockOrder(call: Call, orderId: string, untouched: boolean): Promise<Presentable> {
  await lock(call, 'Order', [orderId]);
  const order = await findOne(call.tx.order, 'order', orderId);
  if (order.retiredAt) throw new Conflict('retired', 'This order was retired and is only kept for history.');
  if (untouched) {
    const lines = await call.tx.orderLine.findMany({ where: { orderId }, select: { quantityReceived: true } });
    if (!nothingCame(lines))
      throw new Conflict(
        'partly-received',
        'Something of this order has come, and its parts carry their share of the cost; make a new order instead.',
      );
  }
  return order;
}

/** Locks a line behind its order, and gives both. */
export async function lockLine(call: Call, orderLineId: string): Promise<Presentable> {
  const { orderId } = await findOne(call.tx.orderLine, 'order line', orderLineId);
  const order = await lockOrder(call, orderId, false);
  await lock(call, 'OrderLine', [orderLineId]);
  return { ...(await findOne(call.tx.orderLine, 'order line', orderLineId)), order };
}

export const completeLine = async (call: Call, orderLineId: string): Promise<Presentable> =>
  (await linesByIds(call, [orderLineId]))[0];

/** Writes a line, its first promise, and points the needs at it that it is for. */
async function addLine(
  call: Call,
  order: Presentable,
  given: Presentable,
  index: number,
  pointer: string,
): Promise<Presentable> {
  const line = await call.tx.orderLine.create({
    data: {
      shopId: call.shop.id,
      orderId: order.id,
      partId: given.partId,
      quantityOrdered: given.quantity,
      unitPrice: checkAmount(given.unitPrice, call.shop.currency, `${pointer}/unitPrice`).toString(),
      coreCharge: checkAmount(given.coreCharge ?? '0', call.shop.currency, `${pointer}/coreCharge`).toString(),
      shippingShare: '0',
      taxShare: '0',
      // A millisecond apart, so that lines stay in the order in which they were given.
      createdAt: new Date(call.now.getTime() + index),
    },
  });
  if (given.promisedDay)
    await addPromise(call, line.id, { promisedDay: given.promisedDay, statedOn: order.orderedOn, note: null, pointer });
  await pointNeeds(call, line, given.partNeedIds, pointer);
  return line;
}

async function pointNeeds(call: Call, line: Presentable, needIds: string[], pointer: string): Promise<void> {
  if (needIds.length === 0) return;
  await lock(call, 'PartNeed', needIds);
  const needs = await call.tx.partNeed.findMany({ where: { id: { in: needIds } } });
  for (const [index, needId] of needIds.entries()) {
    const need = needs.find((one) => one.id === needId);
    const fault = (detail: string) => new Invalid([{ detail, pointer: `${pointer}/partNeedIds/${index}` }]);
    if (!need) throw new NotFound('part need', needId);
    if (need.partId !== line.partId) throw fault(await otherPart(call, line.partId, need.partId, 'need'));
    if (need.usedOn || need.retiredAt) throw fault('that need is used or was taken back');
    if (need.stockId) throw fault('parts are already held for that need; release them first');
  }
  await checkRoom(call, line, Decimal.sum(0, ...needs.map((need) => figure(need.quantity))));
  await call.tx.partNeed.updateMany({
    where: { id: { in: needIds } },
    data: { orderLineId: line.id, version: { increment: 1 } },
  });
}

/**
 * Is there room on a line for so many more, beside what other needs expect of it? The line must be locked or new.
 * @throws Conflict when too few are to come
 */
export async function checkRoom(call: Call, line: Presentable, more: Decimal): Promise<void> {
  const expecting = await completeNeeds(
    call,
    await call.tx.partNeed.findMany({ where: { orderLineId: line.id, usedOn: null, retiredAt: null } }),
  );
  const expected = Decimal.sum(0, ...expecting.map((need) => figure(need.quantity).minus(need.quantityCovered)));
  const left = outstandingOf(line).minus(expected);
  if (left.lessThan(more))
    throw new Conflict(
      'line-too-small',
      `${left} of this line are to come and expected by no other task; ${more} are needed.`,
    );
}

/** Writes what a supplier has said of a line, next in its sequence; the line must be locked or new. */
export async function addPromise(
  call: Call,
  orderLineId: string,
  said: { promisedDay: string | null; statedOn: Date; note: string | null; pointer: string },
): Promise<Presentable> {
  if (said.promisedDay !== null && asDate(said.promisedDay) < said.statedOn) {
    throw new Invalid([
      { detail: 'must not lie before the day on which it was said', pointer: `${said.pointer}/promisedDay` },
    ]);
  }
  const last = await call.tx.promise.findFirst({ where: { orderLineId }, orderBy: { sequence: 'desc' } });
  if (last && last.statedOn > said.statedOn) {
    throw new Invalid([
      {
        detail: `the supplier said something later, on ${asDay(last.statedOn)}; promises are recorded in their sequence`,
        pointer: `${said.pointer}/statedOn`,
      },
    ]);
  }
  return call.tx.promise.create({
    data: {
      shopId: call.shop.id,
      orderLineId,
      sequence: (last?.sequence ?? 0) + 1,
      statedOn: said.statedOn,
      promisedDay: said.promisedDay === null ? null : asDate(said.promisedDay),
      note: said.note,
    },
  });
}

/** @returns the new order's id */
export async function placeOrder(call: Call, input: Presentable): Promise<string> {
  const supplier = await call.tx.supplier.findFirst({ where: { id: input.supplierId } });
  if (!supplier) throw new NotFound('supplier', input.supplierId);
  if (supplier.retiredAt) throw new Invalid([{ detail: 'that supplier was retired', pointer: '/supplierId' }]);
  await needParts(
    call,
    input.lines.map((line: Presentable) => line.partId),
  );
  const order = await call.tx.order.create({
    data: {
      shopId: call.shop.id,
      supplierId: supplier.id,
      reference: input.reference ?? null,
      orderedOn: asDate(pastDay(call, input.orderedOn, '/orderedOn')),
      shippingCost: checkAmount(input.shippingCost, call.shop.currency, '/shippingCost').toString(),
      taxCost: checkAmount(input.taxCost, call.shop.currency, '/taxCost').toString(),
      spreadMethod: input.spreadMethod,
      notes: input.notes ?? null,
    },
  });
  for (const [index, line] of input.lines.entries()) await addLine(call, order, line, index, `/lines/${index}`);
  await spreadAnew(call, order.id);
  return order.id;
}

/** Adds a line while nothing of the order has come. @returns the order's id */
export async function extendOrder(call: Call, input: Presentable): Promise<string> {
  const order = await lockOrder(call, input.orderId, true);
  await needParts(call, [input.partId]);
  await addLine(call, order, input, await call.tx.orderLine.count({ where: { orderId: order.id } }), '');
  const costs = Object.fromEntries(
    (['shippingCost', 'taxCost'] as const)
      .filter((key) => input[key])
      .map((key) => [key, checkAmount(input[key], call.shop.currency, `/${key}`).toString()]),
  );
  await call.tx.order.update({ where: { id: order.id }, data: { ...costs, version: { increment: 1 } } });
  await spreadAnew(call, order.id);
  return order.id;
}

/**
 * Cancels so many of a line. What was not received yet is lost to it; needs that can no longer be met from it stand
 * unordered again. Where other parts have already come, the shares of what is cancelled stay on the order, on no part.
 */
export async function cancelSome(call: Call, line: Presentable, quantity: Decimal): Promise<void> {
  const kept = figure(line.quantityOrdered).minus(figure(line.quantityCancelled));
  const [shippingShare, taxShare] = [line.shippingShare, line.taxShare].map((share) =>
    figure(share).isZero()
      ? figure(share)
      : allocate(figure(share), [kept.minus(quantity), quantity], call.shop.currency)[0]!,
  );
  await call.tx.orderLine.update({
    where: { id: line.id },
    data: {
      quantityCancelled: figure(line.quantityCancelled).plus(quantity).toString(),
      cancelledOn: asDate(call.today),
      shippingShare: shippingShare!.toString(),
      taxShare: taxShare!.toString(),
      version: { increment: 1 },
    },
  });
  await spreadAnew(call, line.orderId);
}

/** @throws Conflict when nothing is to come any more */
export function needOutstanding(line: Presentable): Decimal {
  const outstanding = outstandingOf(line);
  if (outstanding.lessThanOrEqualTo(0))
    throw new Conflict('nothing-outstanding', 'Nothing is to come on this line any more.');
  return outstanding;
}

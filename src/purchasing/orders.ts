/** The money and the quantities of an order, and the steps that change them. */
import { Decimal } from 'decimal.js';
import type { z } from 'zod';
import { otherPart } from '../catalogue/kits.queries.js';
import { at } from '../engine/look-up.js';
import { allocate, landLines } from '../engine/money/index.js';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { checkAmount, toDecimal } from '../platform/money.js';
import { asDate, asDay } from '../platform/operation/columns.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { lock, requireActiveParts, requirePastDate } from '../platform/operation/rows.js';
import { findOne, type Stored } from '../platform/operation/stored.js';
import { completeNeeds } from './needs.queries.js';
import { type CompleteLine, keptOf, type LineQuantities, linesByIds, outstandingOf } from './orders.queries.js';
import type { OrderCreate, OrderLineCreate } from './orders.shapes.js';

const nothingCame = (lines: readonly Pick<Stored<'orderLine'>, 'quantityReceived'>[]): boolean =>
  lines.every((line) => toDecimal(line.quantityReceived).isZero());

/**
 * Spreads the order's shipping and tax anew over the lines that were not cancelled whole, which is possible until
 * something has come: from then on parts in the bins carry their landed cost.
 */
export async function spreadAnew(context: OperationContext, orderId: string): Promise<void> {
  const order = await findOne(context.tx.order, 'order', orderId);
  const lines = await context.tx.orderLine.findMany({ where: { orderId }, orderBy: { position: 'asc' } });
  if (!nothingCame(lines)) return;
  const bearing = lines.filter((line) => keptOf(line).greaterThan(0));
  const landed =
    bearing.length === 0
      ? []
      : landLines(
          bearing.map((line) => ({ quantity: keptOf(line), unitPrice: toDecimal(line.unitPrice) })),
          { shipping: toDecimal(order.shippingCost), tax: toDecimal(order.taxCost), spread: order.spreadMethod },
          context.shop.currency,
        );
  for (const line of lines) {
    const its = landed[bearing.indexOf(line)];
    const shares = { shippingShare: (its?.shippingShare ?? 0).toString(), taxShare: (its?.taxShare ?? 0).toString() };
    if (toDecimal(line.shippingShare).equals(shares.shippingShare) && toDecimal(line.taxShare).equals(shares.taxShare))
      continue;
    await context.tx.orderLine.update({ where: { id: line.id }, data: { ...shares, version: { increment: 1 } } });
  }
}

/**
 * Holds an order's row, so that its lines and their shares change by one hand at a time.
 * @throws Conflict when something of it has come and `untouched` is asked for
 */
export async function lockOrder(
  context: OperationContext,
  orderId: string,
  untouched: boolean,
): Promise<Stored<'order'>> {
  await lock(context, 'Order', [orderId]);
  const order = await findOne(context.tx.order, 'order', orderId);
  if (order.archivedAt) throw new Conflict('archived', 'This order was archived and is only kept for history.');
  if (untouched) {
    const lines = await context.tx.orderLine.findMany({ where: { orderId }, select: { quantityReceived: true } });
    if (!nothingCame(lines))
      throw new Conflict(
        'partly-received',
        'Something of this order has come, and its parts carry their share of the cost; make a new order instead.',
      );
  }
  return order;
}

/** A line with its order. */
export type OrderedLine = Stored<'orderLine'> & { order: Stored<'order'> };

/** Locks a line behind its order, and gives both. */
export async function lockLine(context: OperationContext, orderLineId: string): Promise<OrderedLine> {
  const { orderId } = await findOne(context.tx.orderLine, 'order line', orderLineId);
  const order = await lockOrder(context, orderId, false);
  await lock(context, 'OrderLine', [orderLineId]);
  return { ...(await findOne(context.tx.orderLine, 'order line', orderLineId)), order };
}

export const completeLine = async (context: OperationContext, orderLineId: string): Promise<CompleteLine> =>
  at(await linesByIds(context, [orderLineId]), 0);

type NewLine = z.output<typeof OrderCreate>['lines'][number];

/** Writes a line, its first promise, and points the needs at it that it is for. */
async function addLine(
  context: OperationContext,
  order: Stored<'order'>,
  given: NewLine,
  position: number,
  pointer: string,
): Promise<Stored<'orderLine'>> {
  const line = await context.tx.orderLine.create({
    data: {
      shopId: context.shop.id,
      orderId: order.id,
      position,
      partId: given.partId,
      quantityOrdered: given.quantity,
      unitPrice: checkAmount(given.unitPrice, context.shop.currency, `${pointer}/unitPrice`).toString(),
      coreCharge: checkAmount(given.coreCharge ?? '0', context.shop.currency, `${pointer}/coreCharge`).toString(),
      shippingShare: '0',
      taxShare: '0',
    },
  });
  if (given.promisedDate)
    await addPromise(context, line.id, {
      promisedDate: given.promisedDate,
      statedDate: order.orderedDate,
      note: null,
      pointer,
    });
  await pointNeeds(context, line, given.partNeedIds, pointer);
  return line;
}

async function pointNeeds(
  context: OperationContext,
  line: Stored<'orderLine'>,
  needIds: string[],
  pointer: string,
): Promise<void> {
  if (needIds.length === 0) return;
  await lock(context, 'PartNeed', needIds);
  const needs = await context.tx.partNeed.findMany({ where: { id: { in: needIds } } });
  for (const [index, needId] of needIds.entries()) {
    const need = needs.find((one) => one.id === needId);
    const fault = (detail: string) => new Invalid([{ detail, pointer: `${pointer}/partNeedIds/${index}` }]);
    if (!need) throw new NotFound('part need', needId);
    if (need.partId !== line.partId) throw fault(await otherPart(context, line.partId, need.partId, 'need'));
    if (need.usedDate || need.archivedAt) throw fault('that need is used or was taken back');
    if (need.stockId) throw fault('parts are already held for that need; release them first');
  }
  await checkRoom(context, line, Decimal.sum(0, ...needs.map((need) => toDecimal(need.quantity))));
  await context.tx.partNeed.updateMany({
    where: { id: { in: needIds } },
    data: { orderLineId: line.id, version: { increment: 1 } },
  });
}

/**
 * Is there room on a line for so many more, beside what other needs expect of it? The line must be locked or new.
 * @throws Conflict when too few are to come
 */
export async function checkRoom(context: OperationContext, line: Stored<'orderLine'>, more: Decimal): Promise<void> {
  const expecting = await completeNeeds(
    context,
    await context.tx.partNeed.findMany({ where: { orderLineId: line.id, usedDate: null, archivedAt: null } }),
  );
  const expected = Decimal.sum(0, ...expecting.map((need) => toDecimal(need.quantity).minus(need.quantityCovered)));
  const left = outstandingOf(line).minus(expected);
  if (left.lessThan(more))
    throw new Conflict(
      'line-too-small',
      `${left} of this line are to come and expected by no other task; ${more} are needed.`,
    );
}

/** Writes what a supplier has said of a line, next in its sequence; the line must be locked or new. */
export async function addPromise(
  context: OperationContext,
  orderLineId: string,
  said: { promisedDate: string | null; statedDate: Date; note: string | null; pointer: string },
): Promise<Stored<'promise'>> {
  if (said.promisedDate !== null && asDate(said.promisedDate) < said.statedDate) {
    throw new Invalid([
      { detail: 'must not lie before the day on which it was said', pointer: `${said.pointer}/promisedDate` },
    ]);
  }
  const last = await context.tx.promise.findFirst({ where: { orderLineId }, orderBy: { sequence: 'desc' } });
  if (last && last.statedDate > said.statedDate) {
    throw new Invalid([
      {
        detail: `the supplier said something later, on ${asDay(last.statedDate)}; promises are recorded in their sequence`,
        pointer: `${said.pointer}/statedDate`,
      },
    ]);
  }
  return context.tx.promise.create({
    data: {
      shopId: context.shop.id,
      orderLineId,
      sequence: (last?.sequence ?? 0) + 1,
      statedDate: said.statedDate,
      promisedDate: said.promisedDate === null ? null : asDate(said.promisedDate),
      note: said.note,
    },
  });
}

/** @returns the new order's id */
export async function placeOrder(context: OperationContext, input: z.output<typeof OrderCreate>): Promise<string> {
  const supplier = await context.tx.supplier.findFirst({ where: { id: input.supplierId } });
  if (!supplier) throw new NotFound('supplier', input.supplierId);
  if (supplier.archivedAt) throw new Invalid([{ detail: 'that supplier was archived', pointer: '/supplierId' }]);
  await requireActiveParts(
    context,
    input.lines.map((line) => line.partId),
  );
  const order = await context.tx.order.create({
    data: {
      shopId: context.shop.id,
      supplierId: supplier.id,
      reference: input.reference ?? null,
      orderedDate: asDate(requirePastDate(context, input.orderedDate, '/orderedDate')),
      shippingCost: checkAmount(input.shippingCost, context.shop.currency, '/shippingCost').toString(),
      taxCost: checkAmount(input.taxCost, context.shop.currency, '/taxCost').toString(),
      spreadMethod: input.spreadMethod,
      notes: input.notes ?? null,
    },
  });
  for (const [index, line] of input.lines.entries()) await addLine(context, order, line, index + 1, `/lines/${index}`);
  await spreadAnew(context, order.id);
  return order.id;
}

/** Adds a line while nothing of the order has come. @returns the order's id */
export async function extendOrder(context: OperationContext, input: z.output<typeof OrderLineCreate>): Promise<string> {
  const order = await lockOrder(context, input.id, true);
  await requireActiveParts(context, [input.partId]);
  const last = await context.tx.orderLine.aggregate({ where: { orderId: order.id }, _max: { position: true } });
  await addLine(context, order, input, (last._max.position ?? 0) + 1, '');
  const costs: { shippingCost?: string; taxCost?: string } = {};
  for (const key of ['shippingCost', 'taxCost'] as const) {
    const given = input[key];
    if (given) costs[key] = checkAmount(given, context.shop.currency, `/${key}`).toString();
  }
  await context.tx.order.update({ where: { id: order.id }, data: { ...costs, version: { increment: 1 } } });
  await spreadAnew(context, order.id);
  return order.id;
}

/**
 * Cancels so many of a line. What was not received yet is lost to it; needs that can no longer be met from it stand
 * unordered again. Where other parts have already come, the shares of what is cancelled stay on the order, on no part.
 */
export async function cancelSome(
  context: OperationContext,
  line: LineQuantities & Pick<Stored<'orderLine'>, 'id' | 'orderId' | 'shippingShare' | 'taxShare'>,
  quantity: Decimal,
): Promise<void> {
  const kept = keptOf(line);
  const left = (share: Stored<'orderLine'>['taxShare']): Decimal =>
    toDecimal(share).isZero()
      ? toDecimal(share)
      : at(allocate(toDecimal(share), [kept.minus(quantity), quantity], context.shop.currency), 0);
  await context.tx.orderLine.update({
    where: { id: line.id },
    data: {
      quantityCancelled: toDecimal(line.quantityCancelled).plus(quantity).toString(),
      cancelledDate: asDate(context.today),
      shippingShare: left(line.shippingShare).toString(),
      taxShare: left(line.taxShare).toString(),
      version: { increment: 1 },
    },
  });
  await spreadAnew(context, line.orderId);
}

/** @throws Conflict when nothing is to come any more */
export function requireOutstanding(line: LineQuantities): Decimal {
  const outstanding = outstandingOf(line);
  if (outstanding.lessThanOrEqualTo(0))
    throw new Conflict('nothing-outstanding', 'Nothing is to come on this line any more.');
  return outstanding;
}

/** Cores: old parts that a supplier pays back a charge for, and what that does to the cost of the new ones. */
import { Decimal } from 'decimal.js';
import { Conflict, Invalid, Refused } from '../platform/errors.js';
import { checkAmount, figure } from '../platform/money.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { asDate, asDay } from '../platform/operation/crud-operations.js';
import { chargeAnew } from './part-charges.js';
import { lockLine } from './orders.js';
import { landedUnitCost, paidBackOn } from './orders.queries.js';
import { lock, pastDay } from '../platform/operation/rows.js';

/** Records cores sent back; the parts of the line cost less from now on, those in the bins and those on jobs. @returns the row */
export async function recordCores(call: Call, input: Presentable): Promise<Presentable> {
  const line = await lockLine(call, input.orderLineId);
  if (figure(line.coreCharge).isZero())
    throw new Refused('no-core-charge', 'Nothing was charged for the old parts of this line.');
  const returnedOn = pastDay(call, input.returnedOn, '/returnedOn', asDay(line.order.orderedOn));
  const { coresReturned, paidBack } = (await paidBackOn(call, [line.id]))(line.id);
  const left = figure(line.quantityReceived).minus(coresReturned);
  if (left.lessThan(input.quantity))
    throw new Conflict(
      'too-many-cores',
      `Only ${Decimal.max(0, left)} more old parts of this line can be sent back: one for each that came.`,
    );
  const whole = figure(line.coreCharge).times(input.quantity);
  const refund = input.refund ? checkAmount(input.refund, call.shop.currency, '/refund') : whole;
  if (refund.greaterThan(whole))
    throw new Invalid([{ detail: `must not be more than the charge, ${whole}`, pointer: '/refund' }]);
  const row = await call.tx.coreReturn.create({
    data: {
      shopId: call.shop.id,
      orderLineId: line.id,
      returnedOn: asDate(returnedOn),
      quantity: input.quantity,
      refund: refund.toString(),
      note: input.note ?? null,
    },
  });
  await costLess(call, line, paidBack, refund, 'a core charge was paid back');
  await call.tx.orderLine.update({ where: { id: line.id }, data: { version: { increment: 1 } } });
  return row;
}

/** As bins keep it, so that one refund after the other takes off what all of them at once would. */
const unitCostAt = (line: Presentable, paidBack: Decimal): Decimal =>
  (landedUnitCost(line, paidBack) ?? new Decimal(0)).toDecimalPlaces(4, Decimal.ROUND_HALF_UP);

/**
 * Every bin that the line's parts went into costs less a piece by its part of what is paid back, and so do the jobs that had
 * some of it. What was unpacked out of a kit before keeps the cost that it was given then.
 * @param before what was paid back earlier
 */
export async function costLess(
  call: Call,
  line: Presentable,
  before: Decimal,
  refund: Decimal,
  reason: string,
): Promise<void> {
  const less = unitCostAt(line, before).minus(unitCostAt(line, before.plus(refund)));
  if (less.isZero()) return;
  const receipts = await call.tx.receipt.findMany({
    where: { orderLineId: line.id, stockId: { not: null } },
    select: { stockId: true },
  });
  const stockIds = [...new Set(receipts.map((receipt) => receipt.stockId!))];
  await lock(call, 'Stock', stockIds);
  for (const stockId of stockIds) {
    const { unitCost } = await call.tx.stock.findUniqueOrThrow({ where: { id: stockId } });
    const stock = await call.tx.stock.update({
      where: { id: stockId },
      data: { unitCost: Decimal.max(0, figure(unitCost).minus(less)).toString(), version: { increment: 1 } },
      include: { part: { select: { name: true } } },
    });
    await chargeAnew(call, stock, reason);
  }
}

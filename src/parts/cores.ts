/** Cores: old parts that a supplier pays back a charge for, and what that does to the cost of the new ones. */
import { Decimal } from 'decimal.js';
import { checkAmount, figure } from '../platform/money.js';
import { Conflict, Invalid, Refused } from '../platform/errors.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { asDate, asDay } from '../platform/operation/records.js';
import { chargeAnew } from './ledger.js';
import { lockLine } from './orders.js';
import { coresOf, landedUnitCost } from './orders.queries.js';
import { lock, pastDay } from './rows.js';

/** Records cores sent back; the parts of the line cost less from now on, those in the bins and those on jobs. @returns the row */
export async function recordCores(call: Call, input: Presentable): Promise<Presentable> {
  const line = await lockLine(call, input.orderLineId);
  if (figure(line.coreCharge).isZero()) throw new Refused('no-core-charge', 'Nothing was charged for the old parts of this line.');
  const returnedOn = pastDay(call, input.returnedOn, '/returnedOn', asDay(line.order.orderedOn));
  const { returned, refunded } = (await coresOf(call, [line.id])).get(line.id) ?? { returned: new Decimal(0), refunded: new Decimal(0) };
  const left = figure(line.quantityReceived).minus(returned);
  if (left.lessThan(input.quantity)) throw new Conflict('too-many-cores', `Only ${Decimal.max(0, left)} more old parts of this line can be sent back: one for each that came.`);
  const whole = figure(line.coreCharge).times(input.quantity);
  const refund = input.refund ? checkAmount(input.refund, call.shop.currency, '/refund') : whole;
  if (refund.greaterThan(whole)) throw new Invalid([{ detail: `must not be more than the charge, ${whole}`, pointer: '/refund' }]);
  const row = await call.tx.coreReturn.create({
    data: { shopId: call.shop.id, orderLineId: line.id, returnedOn: asDate(returnedOn), quantity: input.quantity, refund: refund.toString(), note: input.note ?? null },
  });
  await costLess(call, line, unitCostAt(line, refunded).minus(unitCostAt(line, refunded.plus(refund))));
  await call.tx.orderLine.update({ where: { id: line.id }, data: { version: { increment: 1 } } });
  return row;
}

/** As bins keep it, so that one refund after the other takes off what all of them at once would. */
const unitCostAt = (line: Presentable, refunded: Decimal): Decimal => (landedUnitCost(line, refunded) ?? new Decimal(0)).toDecimalPlaces(4, Decimal.ROUND_HALF_UP);

/**
 * Every bin that the line's parts went into costs so much less a piece, and so do the jobs that had some of it. What was
 * unpacked out of a kit before keeps the cost that it was given then.
 */
async function costLess(call: Call, line: Presentable, less: Decimal): Promise<void> {
  if (less.isZero()) return;
  const receipts = await call.tx.receipt.findMany({ where: { orderLineId: line.id, stockId: { not: null } }, select: { stockId: true } });
  const stockIds = [...new Set(receipts.map((receipt) => receipt.stockId!))];
  await lock(call, 'Stock', stockIds);
  for (const stockId of stockIds) {
    const { unitCost } = await call.tx.stock.findUniqueOrThrow({ where: { id: stockId } });
    const stock = await call.tx.stock.update({
      where: { id: stockId },
      data: { unitCost: Decimal.max(0, figure(unitCost).minus(less)).toString(), version: { increment: 1 } },
      include: { part: { select: { name: true } } },
    });
    await chargeAnew(call, stock, 'a core charge was paid back');
  }
}

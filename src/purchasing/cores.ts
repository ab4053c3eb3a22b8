/** Cores: old parts that a supplier pays back a charge for, and what that does to the cost of the new ones. */
import { Decimal } from 'decimal.js';
import type { z } from 'zod';
import { Conflict, Invalid, Refused } from '../platform/errors.js';
import { checkAmount, toDecimal } from '../platform/money.js';
import { asDate, asDay } from '../platform/operation/columns.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { lock, requirePastDate } from '../platform/operation/rows.js';
import type { Stored } from '../platform/operation/stored.js';
import { lockLine } from './orders.js';
import { landedUnitCost, supplierRefundsOn } from './orders.queries.js';
import type { CoreReturnGiven } from './orders.shapes.js';
import { chargeAnew } from './part-charges.js';

/** Records cores sent back; the parts of the line cost less from now on, those in the bins and those on jobs. @returns the row */
export async function recordCores(
  context: OperationContext,
  input: z.output<typeof CoreReturnGiven>,
): Promise<Stored<'coreReturn'>> {
  const line = await lockLine(context, input.id);
  if (toDecimal(line.coreCharge).isZero())
    throw new Refused('no-core-charge', 'Nothing was charged for the old parts of this line.');
  const returnedDate = requirePastDate(context, input.returnedDate, '/returnedDate', asDay(line.order.orderedDate));
  const { coresReturned, supplierRefundTotal } = (await supplierRefundsOn(context, [line.id]))(line.id);
  const left = toDecimal(line.quantityReceived).minus(coresReturned);
  if (left.lessThan(input.quantity))
    throw new Conflict(
      'too-many-cores',
      `Only ${Decimal.max(0, left)} more old parts of this line can be sent back: one for each that came.`,
    );
  const whole = toDecimal(line.coreCharge).times(input.quantity);
  const supplierRefund = input.supplierRefund
    ? checkAmount(input.supplierRefund, context.shop.currency, '/supplierRefund')
    : whole;
  if (supplierRefund.greaterThan(whole))
    throw new Invalid([{ detail: `must not be more than the charge, ${whole}`, pointer: '/supplierRefund' }]);
  const row = await context.tx.coreReturn.create({
    data: {
      shopId: context.shop.id,
      orderLineId: line.id,
      returnedDate: asDate(returnedDate),
      quantity: input.quantity,
      supplierRefund: supplierRefund.toString(),
      note: input.note ?? null,
    },
  });
  await costLess(context, line, supplierRefundTotal, supplierRefund, 'a core charge was paid back');
  await context.tx.orderLine.update({ where: { id: line.id }, data: { version: { increment: 1 } } });
  return row;
}

/** As bins keep it, so that one refund after the other takes off what all of them at once would. */
const unitCostAt = (line: Stored<'orderLine'>, supplierRefundTotal: Decimal): Decimal =>
  (landedUnitCost(line, supplierRefundTotal) ?? new Decimal(0)).toDecimalPlaces(4, Decimal.ROUND_HALF_UP);

/**
 * Every bin that the line's parts went into costs less a piece by its part of what is paid back, and so do the jobs that had
 * some of it. What was unpacked out of a kit before keeps the cost that it was given then.
 * @param before what was paid back earlier
 */
export async function costLess(
  context: OperationContext,
  line: Stored<'orderLine'>,
  before: Decimal,
  supplierRefund: Decimal,
  reason: string,
): Promise<void> {
  const less = unitCostAt(line, before).minus(unitCostAt(line, before.plus(supplierRefund)));
  if (less.isZero()) return;
  const receipts = await context.tx.receipt.findMany({
    where: { orderLineId: line.id, stockId: { not: null } },
    select: { stockId: true },
  });
  const stockIds = [...new Set(receipts.map((receipt) => receipt.stockId).filter((stockId) => stockId !== null))];
  await lock(context, 'Stock', stockIds);
  for (const stockId of stockIds) {
    const { unitCost } = await context.tx.stock.findUniqueOrThrow({ where: { id: stockId } });
    const stock = await context.tx.stock.update({
      where: { id: stockId },
      data: { unitCost: Decimal.max(0, toDecimal(unitCost).minus(less)).toString(), version: { increment: 1 } },
      include: { part: { select: { name: true } } },
    });
    await chargeAnew(context, stock, reason);
  }
}

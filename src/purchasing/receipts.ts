/** What comes in the post and what goes back, and what that does to bins, lines and the needs that wait. */
import { Decimal } from 'decimal.js';
import type { z } from 'zod';
import { Conflict, Invalid } from '../platform/errors.js';
import { checkAmount, toDecimal } from '../platform/money.js';
import { asDate, asDay } from '../platform/operation/columns.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { lock, requirePastDate } from '../platform/operation/rows.js';
import { findOne, type Stored } from '../platform/operation/stored.js';
import { needOrder } from '../stock/reservations.js';
import { addMovement, changeQuantity, putInBin } from '../stock/stock.operations.js';
import { costLess } from './cores.js';
import { completeNeeds } from './needs.queries.js';
import { cancelSome, lockLine, requireOutstanding } from './orders.js';
import { landedUnitCost, supplierRefundsOn } from './orders.queries.js';
import type { ReceiptGiven, ReturnGiven } from './orders.shapes.js';

/** @returns the receipt, and the bin's row when the parts were good */
export async function receive(
  context: OperationContext,
  input: z.output<typeof ReceiptGiven>,
): Promise<{ receipt: Stored<'receipt'>; stockId: string | null }> {
  const line = await lockLine(context, input.id);
  const receivedDate = requirePastDate(context, input.receivedDate, '/receivedDate', asDay(line.order.orderedDate));
  const outstanding = requireOutstanding(line);
  const { bin } = input;
  const good = input.condition === 'good';
  if (good && outstanding.lessThan(input.quantity)) {
    throw new Conflict(
      'too-many-received',
      `Only ${outstanding} of this line are outstanding. If the supplier sent more, record the rest as found stock.`,
    );
  }
  if (good && !bin) throw new Invalid([{ detail: 'good parts go into a bin; say which', pointer: '/bin' }]);
  const stockId = good && bin ? await shelve(context, line, { bin, quantity: input.quantity }, receivedDate) : null;
  const receipt = await context.tx.receipt.create({
    data: {
      shopId: context.shop.id,
      orderLineId: line.id,
      receivedDate: asDate(receivedDate),
      quantity: input.quantity,
      condition: input.condition,
      bin: bin ?? null,
      stockId,
      note: input.note ?? null,
    },
  });
  if (stockId) {
    await context.tx.orderLine.update({
      where: { id: line.id },
      data: {
        quantityReceived: toDecimal(line.quantityReceived).plus(input.quantity).toString(),
        version: { increment: 1 },
      },
    });
    await holdForNeeds(context, line.id, stockId);
  }
  return { receipt, stockId };
}

/** Good parts join what came before of the same line in the same bin, which cost the same, or start a row of their own. */
async function shelve(
  context: OperationContext,
  line: Stored<'orderLine'>,
  input: { bin: string; quantity: number },
  receivedDate: string,
): Promise<string> {
  const unitCost =
    landedUnitCost(line, (await supplierRefundsOn(context, [line.id]))(line.id).supplierRefundTotal) ?? new Decimal(0);
  const earlier = await context.tx.receipt.findMany({
    where: { orderLineId: line.id, stockId: { not: null } },
    select: { stock: true },
  });
  const stocks = earlier.flatMap(({ stock }) => (stock && !stock.archivedAt ? [stock] : []));
  const shelves = [...new Map(stocks.map((stock) => [stock.id, stock])).values()];
  await lock(
    context,
    'Stock',
    shelves.map((stock) => stock.id),
  );
  const needs = await completeNeeds(
    context,
    await context.tx.partNeed.findMany({
      where: { orderLineId: line.id, usedDate: null, archivedAt: null, stockId: { not: null } },
    }),
  );
  const started = needs.find((need) => need.status !== 'onHand');
  const whereStarted = started && shelves.find((stock) => stock.id === started.stockId);
  if (whereStarted && whereStarted.bin !== input.bin) {
    throw new Invalid([
      {
        detail: `the first of these lie in bin ${whereStarted.bin} for a task that waits for the rest; put these there too`,
        pointer: '/bin',
      },
    ]);
  }
  const same = shelves.find((stock) => stock.bin === input.bin);
  if (!same)
    return (
      await putInBin(
        context,
        { partId: line.partId, bin: input.bin, quantity: input.quantity, unitCost, source: 'bought' },
        { reason: 'received', movedDate: receivedDate },
      )
    ).id;
  const row = await findOne(context.tx.stock, 'stock', same.id);
  await context.tx.stock.update({
    where: { id: row.id },
    data: { quantity: toDecimal(row.quantity).plus(input.quantity).toString(), version: { increment: 1 } },
  });
  await addMovement(context, {
    stockId: row.id,
    change: new Decimal(input.quantity),
    reason: 'received',
    movedDate: receivedDate,
  });
  return row.id;
}

/**
 * What came is held at once for the needs that the line is for, oldest first, as far as it goes: a need whose first
 * parts have come holds the bin for the rest too.
 */
async function holdForNeeds(context: OperationContext, orderLineId: string, stockId: string): Promise<void> {
  const waiting = await context.tx.partNeed.findMany({
    where: { orderLineId, stockId: null, usedDate: null, archivedAt: null },
    orderBy: needOrder,
  });
  await lock(
    context,
    'PartNeed',
    waiting.map((need) => need.id),
  );
  const stock = await findOne(context.tx.stock, 'stock', stockId);
  const held = await context.tx.partNeed.findMany({
    where: { stockId, usedDate: null, archivedAt: null },
    select: { quantity: true },
  });
  let left = toDecimal(stock.quantity).minus(Decimal.sum(0, ...held.map((need) => toDecimal(need.quantity))));
  for (const need of waiting) {
    if (left.lessThanOrEqualTo(0)) break;
    await context.tx.partNeed.update({ where: { id: need.id }, data: { stockId, version: { increment: 1 } } });
    left = left.minus(toDecimal(need.quantity));
  }
}

/** @returns the return, and the line it belongs to */
export async function sendBack(
  context: OperationContext,
  input: z.output<typeof ReturnGiven>,
): Promise<{ partReturn: Stored<'partReturn'>; orderLineId: string }> {
  const { orderLineId } = await findOne(context.tx.receipt, 'receipt', input.id);
  const line = await lockLine(context, orderLineId);
  const receipt = await findOne(context.tx.receipt, 'receipt', input.id, { returns: true });
  const returnedDate = requirePastDate(context, input.returnedDate, '/returnedDate', asDay(receipt.receivedDate));
  const quantity = new Decimal(input.quantity);
  const left = toDecimal(receipt.quantity).minus(
    Decimal.sum(0, ...receipt.returns.map((one) => toDecimal(one.quantity))),
  );
  if (quantity.greaterThan(left))
    throw new Conflict('too-many-returned', `Only ${left} of what came then have not been sent back.`);
  if (receipt.stockId)
    await takeFromBin(
      context,
      receipt.stockId,
      quantity,
      returnedDate,
      input.reason,
      input.replacementExpected ? line.id : undefined,
    );
  const supplierRefund = checkAmount(input.supplierRefund, context.shop.currency, '/supplierRefund');
  if (input.replacementExpected)
    await costLess(
      context,
      line,
      (await supplierRefundsOn(context, [line.id]))(line.id).supplierRefundTotal,
      supplierRefund,
      'the supplier paid some of it back',
    );
  const partReturn = await context.tx.partReturn.create({
    data: {
      shopId: context.shop.id,
      receiptId: receipt.id,
      returnedDate: asDate(returnedDate),
      quantity: input.quantity,
      supplierRefund: supplierRefund.toString(),
      replacementExpected: input.replacementExpected,
      reason: input.reason ?? null,
    },
  });
  let status: Parameters<typeof cancelSome>[1] = line;
  if (receipt.stockId) {
    const quantityReceived = toDecimal(line.quantityReceived).minus(quantity).toString();
    await context.tx.orderLine.update({
      where: { id: line.id },
      data: { quantityReceived, version: { increment: 1 } },
    });
    status = { ...line, quantityReceived };
  }
  if (!input.replacementExpected) await cancelSome(context, status, Decimal.min(quantity, requireOutstanding(status)));
  return { partReturn, orderLineId };
}

async function takeFromBin(
  context: OperationContext,
  stockId: string,
  quantity: Decimal,
  movedDate: string,
  note: string | null | undefined,
  refilledBy: string | undefined,
): Promise<void> {
  await lock(context, 'Stock', [stockId]);
  const stock = await findOne(context.tx.stock, 'stock', stockId);
  await changeQuantity(
    context,
    stock,
    stock.version,
    quantity.negated(),
    { reason: 'returned', movedDate, note },
    refilledBy,
  );
}

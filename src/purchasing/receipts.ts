/** What comes in the post and what goes back, and what that does to bins, lines and the needs that wait. */
import { Decimal } from 'decimal.js';
import { Conflict, Invalid } from '../platform/errors.js';
import { checkAmount, figure } from '../platform/money.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { asDate, asDay, findOne } from '../platform/operation/crud-operations.js';
import { costLess } from './cores.js';
import { completeNeeds } from './needs.queries.js';
import { cancelSome, lockLine, needOutstanding } from './orders.js';
import { landedUnitCost, paidBackOn } from './orders.queries.js';
import { lock, pastDay } from '../platform/operation/rows.js';
import { addMovement, changeQuantity, putInBin } from '../stock/stock.operations.js';

/** @returns the receipt, and the bin's row when the parts were good */
export async function receive(
  call: Call,
  input: Presentable,
): Promise<{ receipt: Presentable; stockId: string | null }> {
  const line = await lockLine(call, input.orderLineId);
  const receivedOn = pastDay(call, input.receivedOn, '/receivedOn', asDay(line.order.orderedOn));
  const outstanding = needOutstanding(line);
  const good = input.condition === 'good';
  if (good && outstanding.lessThan(input.quantity)) {
    throw new Conflict(
      'too-many-received',
      `Only ${outstanding} of this line are outstanding. If the supplier sent more, record the rest as found stock.`,
    );
  }
  if (good && !input.bin) throw new Invalid([{ detail: 'good parts go into a bin; say which', pointer: '/bin' }]);
  const stockId = good ? await shelve(call, line, input, receivedOn) : null;
  const receipt = await call.tx.receipt.create({
    data: {
      shopId: call.shop.id,
      orderLineId: line.id,
      receivedOn: asDate(receivedOn),
      quantity: input.quantity,
      condition: input.condition,
      bin: input.bin ?? null,
      stockId,
      note: input.note ?? null,
    },
  });
  if (stockId) {
    await call.tx.orderLine.update({
      where: { id: line.id },
      data: {
        quantityReceived: figure(line.quantityReceived).plus(input.quantity).toString(),
        version: { increment: 1 },
      },
    });
    await holdForNeeds(call, line.id, stockId);
  }
  return { receipt, stockId };
}

/** Good parts join what came before of the same line in the same bin, which cost the same, or start a row of their own. */
async function shelve(call: Call, line: Presentable, input: Presentable, receivedOn: string): Promise<string> {
  const unitCost = landedUnitCost(line, (await paidBackOn(call, [line.id]))(line.id).paidBack) ?? new Decimal(0);
  const earlier = await call.tx.receipt.findMany({
    where: { orderLineId: line.id, stockId: { not: null } },
    select: { stock: true },
  });
  const shelves = [...new Map(earlier.map(({ stock }) => [stock!.id, stock!])).values()].filter(
    (stock) => !stock.retiredAt,
  );
  await lock(
    call,
    'Stock',
    shelves.map((stock) => stock.id),
  );
  const needs = await completeNeeds(
    call,
    await call.tx.partNeed.findMany({
      where: { orderLineId: line.id, usedOn: null, retiredAt: null, stockId: { not: null } },
    }),
  );
  const started = needs.find((need) => need.standing !== 'onHand');
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
        call,
        { partId: line.partId, bin: input.bin, quantity: input.quantity, unitCost, source: 'bought' },
        { reason: 'received', movedOn: receivedOn },
      )
    ).id;
  const row = await findOne(call.tx.stock, 'stock', same.id);
  await call.tx.stock.update({
    where: { id: row.id },
    data: { quantity: figure(row.quantity).plus(input.quantity).toString(), version: { increment: 1 } },
  });
  await addMovement(call, {
    stockId: row.id,
    change: new Decimal(input.quantity),
    reason: 'received',
    movedOn: receivedOn,
  });
  return row.id;
}

/**
 * What came is held at once for the needs that the line is for, oldest first, as far as it goes: a need whose first
 * parts have come holds the bin for the rest too.
 */
async function holdForNeeds(call: Call, orderLineId: string, stockId: string): Promise<void> {
  const waiting = await call.tx.partNeed.findMany({
    where: { orderLineId, stockId: null, usedOn: null, retiredAt: null },
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
  });
  await lock(
    call,
    'PartNeed',
    waiting.map((need) => need.id),
  );
  const stock = await findOne(call.tx.stock, 'stock', stockId);
  const held = await call.tx.partNeed.findMany({
    where: { stockId, usedOn: null, retiredAt: null },
    select: { quantity: true },
  });
  let left = figure(stock.quantity).minus(Decimal.sum(0, ...held.map((need) => figure(need.quantity))));
  for (const need of waiting) {
    if (left.lessThanOrEqualTo(0)) break;
    await call.tx.partNeed.update({ where: { id: need.id }, data: { stockId, version: { increment: 1 } } });
    left = left.minus(figure(need.quantity));
  }
}

/** @returns the return, and the line it belongs to */
export async function sendBack(
  call: Call,
  input: Presentable,
): Promise<{ partReturn: Presentable; orderLineId: string }> {
  const { orderLineId } = await findOne(call.tx.receipt, 'receipt', input.receiptId);
  const line = await lockLine(call, orderLineId);
  const receipt = await findOne(call.tx.receipt, 'receipt', input.receiptId, { returns: true });
  const returnedOn = pastDay(call, input.returnedOn, '/returnedOn', asDay(receipt.receivedOn));
  const quantity = new Decimal(input.quantity);
  const left = figure(receipt.quantity).minus(
    Decimal.sum(0, ...receipt.returns.map((one: Presentable) => figure(one.quantity))),
  );
  if (quantity.greaterThan(left))
    throw new Conflict('too-many-returned', `Only ${left} of what came then have not been sent back.`);
  if (receipt.stockId)
    await takeFromBin(
      call,
      receipt.stockId,
      quantity,
      returnedOn,
      input.reason,
      input.replacementExpected ? line.id : undefined,
    );
  const refund = checkAmount(input.refund, call.shop.currency, '/refund');
  if (input.replacementExpected)
    await costLess(
      call,
      line,
      (await paidBackOn(call, [line.id]))(line.id).paidBack,
      refund,
      'the supplier paid some of it back',
    );
  const partReturn = await call.tx.partReturn.create({
    data: {
      shopId: call.shop.id,
      receiptId: receipt.id,
      returnedOn: asDate(returnedOn),
      quantity: input.quantity,
      refund: refund.toString(),
      replacementExpected: input.replacementExpected,
      reason: input.reason ?? null,
    },
  });
  let standing = line;
  if (receipt.stockId) {
    const quantityReceived = figure(line.quantityReceived).minus(quantity).toString();
    await call.tx.orderLine.update({ where: { id: line.id }, data: { quantityReceived, version: { increment: 1 } } });
    standing = { ...line, quantityReceived };
  }
  if (!input.replacementExpected) await cancelSome(call, standing, Decimal.min(quantity, needOutstanding(standing)));
  return { partReturn, orderLineId };
}

async function takeFromBin(
  call: Call,
  stockId: string,
  quantity: Decimal,
  movedOn: string,
  note: string | null | undefined,
  refilledBy: string | undefined,
): Promise<void> {
  await lock(call, 'Stock', [stockId]);
  const stock = await findOne(call.tx.stock, 'stock', stockId);
  await changeQuantity(
    call,
    stock,
    stock.version,
    quantity.negated(),
    { reason: 'returned', movedOn, note },
    refilledBy,
  );
}

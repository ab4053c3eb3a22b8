/** Money paid back to a buyer, with or without the machine coming back: the tax is reckoned anew on what the buyer finally paid. */
import type { Decimal } from 'decimal.js';
import type { z } from 'zod';
import { taxSchemeOf } from '../cost/cost.queries.js';
import { reverseEntry, writeEntry } from '../ledger/ledger.operations.js';
import { purchaseOf } from '../cost/purchase.queries.js';
import { taxOnSale } from '../engine/money/index.js';
import { lock, pastDay } from '../platform/operation/rows.js';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { checkAmount, figure } from '../platform/money.js';
import { type Call, command, type Presentable, priceReaders } from '../platform/operation/operation.js';
import { asDate, asDay, findOne, records } from '../platform/operation/crud-operations.js';
import { id } from '../platform/shapes.js';
import { lockJob } from '../work/jobs.js';
import { Repayment, RepaymentCreate, Undoing } from './after-sale.shapes.js';

/** The sale, read once its job is held, so that of two repayments at once the second sees the first. */
async function lockSale(call: Call, saleId: string): Promise<{ sale: Presentable; job: Presentable }> {
  const found = await call.tx.sale.findFirst({ where: { id: saleId }, select: { jobId: true } });
  if (!found) throw new NotFound('sale', saleId);
  const job = await lockJob(call, found.jobId);
  return { sale: await findOne(call.tx.sale, 'sale', saleId), job };
}

/** The tax on what a buyer has paid and not got back, in the scheme of the sale, against what the machine was bought for as it is now known. */
async function taxOnKept(call: Call, sale: Presentable, repaid: Decimal): Promise<Decimal> {
  const { purchasePrice } = (await purchaseOf(call, [sale.jobId])).get(sale.jobId)!;
  return taxOnSale(
    taxSchemeOf(sale as Parameters<typeof taxSchemeOf>[0]),
    figure(sale.price).minus(repaid),
    purchasePrice,
    call.shop.currency,
  ).tax;
}

/** Writes how much of the price has been paid back in all, and the tax on the rest. */
async function settle(call: Call, sale: Presentable, repaid: Decimal, reason: string): Promise<void> {
  // A machine that comes back for nothing leaves the tax as it was booked.
  if (repaid.equals(figure(sale.repaid))) return;
  const tax = await taxOnKept(call, sale, repaid);
  if (sale.taxScheme === 'marginScheme' && !tax.equals(figure(sale.taxCollected))) {
    const booked = await call.tx.ledgerEntry.findFirst({
      where: { sourceId: sale.id, kind: 'tax', reversesId: null, reversedBy: null },
    });
    if (booked) await reverseEntry(call, booked.id, reason);
    if (tax.greaterThan(0))
      await writeEntry(call, {
        jobId: sale.jobId,
        kind: 'tax',
        amount: tax.toString(),
        occurredOn: call.today,
        description: 'Tax on the margin that is left',
        sourceId: sale.id,
      });
  }
  await call.tx.sale.update({
    where: { id: sale.id },
    data: { repaid: repaid.toString(), taxCollected: tax.toString() },
  });
}

async function takeBack(call: Call, sale: Presentable, job: Presentable, day: string): Promise<void> {
  if (sale.returnedOn)
    throw new Conflict('already-returned', `The machine came back on ${asDay(sale.returnedOn)} already.`);
  await lock(call, 'Machine', [job.machineId]);
  const open = await call.tx.job.findFirst({ where: { machineId: job.machineId, closedOn: null, retiredAt: null } });
  if (open)
    throw new Conflict(
      'job-open',
      `The machine is on job ${open.number}; close that one first, as it was for its buyer.`,
    );
  const last = await call.tx.job.findFirst({
    where: { machineId: job.machineId, retiredAt: null, closedOn: { gt: asDate(day) } },
    orderBy: { closedOn: 'desc' },
  });
  if (last)
    throw new Invalid([
      {
        detail: `lies before the machine was handed back with job ${last.number} on ${asDay(last.closedOn!)}`,
        pointer: '/repaidOn',
      },
    ]);
  await call.tx.job.update({ where: { id: job.id }, data: { outcome: 'returned', version: { increment: 1 } } });
  await call.tx.sale.update({ where: { id: sale.id }, data: { returnedOn: asDate(day) } });
}

async function giveAgain(call: Call, sale: Presentable, job: Presentable): Promise<void> {
  await lock(call, 'Machine', [job.machineId]);
  const machine = await findOne(call.tx.machine, 'machine', job.machineId);
  const later = await call.tx.job.findFirst({
    where: { machineId: job.machineId, retiredAt: null, purpose: 'refurbish', number: { gt: job.number } },
    orderBy: { number: 'asc' },
  });
  if (later)
    throw new Conflict(
      'worked-on-since',
      `Job ${later.number} was opened on the machine since it came back; it cannot have stayed with its buyer.`,
    );
  if (machine.disposition !== 'sell')
    throw new Conflict(
      'not-for-sale',
      `The machine's disposition is "${machine.disposition}" by now; change it to "sell" first.`,
    );
  await call.tx.job.update({ where: { id: job.id }, data: { outcome: 'sold', version: { increment: 1 } } });
  await call.tx.sale.update({ where: { id: sale.id }, data: { returnedOn: null } });
}

async function repay(call: Call, input: z.output<typeof RepaymentCreate>): Promise<Presentable> {
  const { sale, job } = await lockSale(call, input.saleId);
  if (sale.reversedOn) throw new Conflict('already-reversed', 'This sale was reversed: there is nothing to pay back.');
  const amount = checkAmount(input.amount, call.shop.currency, '/amount');
  if (!amount.greaterThan(0) && !input.machineReturned)
    throw new Invalid([{ detail: 'must be above zero', pointer: '/amount' }]);
  const kept = figure(sale.price).minus(figure(sale.repaid));
  if (amount.greaterThan(kept))
    throw new Invalid([
      { detail: `is more than the ${kept.toFixed()} that the buyer has paid and not got back`, pointer: '/amount' },
    ]);
  const repaidOn = pastDay(call, input.repaidOn, '/repaidOn', asDay(sale.soldOn));
  if (input.machineReturned) await takeBack(call, sale, job, repaidOn);
  const repaid = figure(sale.repaid).plus(amount);
  await settle(call, sale, repaid, input.reason);
  const repayment = await call.tx.repayment.create({
    data: {
      shopId: call.shop.id,
      saleId: sale.id,
      repaidOn: asDate(repaidOn),
      amount: amount.toString(),
      taxBack: (await taxOnKept(call, sale, figure(sale.repaid))).minus(await taxOnKept(call, sale, repaid)).toString(),
      machineReturned: input.machineReturned,
      reason: input.reason,
    },
  });
  if (amount.greaterThan(0)) {
    await writeEntry(call, {
      jobId: job.id,
      kind: 'repayment',
      amount: amount.toString(),
      occurredOn: repaidOn,
      description: `Paid back to the buyer: ${input.reason}`,
      sourceId: repayment.id,
    });
  }
  return repayment;
}

async function reverseRepayment(
  call: Call,
  { id: repaymentId, reason }: z.output<typeof Undoing>,
): Promise<Presentable> {
  const { saleId } = await findOne(call.tx.repayment, 'repayment', repaymentId);
  const { sale, job } = await lockSale(call, saleId);
  const repayment = await findOne(call.tx.repayment, 'repayment', repaymentId);
  if (repayment.reversedOn) throw new Conflict('already-reversed', 'This repayment has already been reversed.');
  if (repayment.machineReturned) await giveAgain(call, sale, job);
  const booked = await call.tx.ledgerEntry.findFirst({ where: { sourceId: repayment.id, reversesId: null } });
  if (booked) await reverseEntry(call, booked.id, reason);
  await settle(call, sale, figure(sale.repaid).minus(figure(repayment.amount)), reason);
  return call.tx.repayment.update({ where: { id: repayment.id }, data: { reversedOn: asDate(call.today) } });
}

export const repaymentOperations = [
  ...records({
    name: 'repayment',
    plural: 'repayments',
    rows: (tx) => tx.repayment,
    shape: Repayment,
    create: RepaymentCreate,
    readers: priceReaders,
    retires: false,
    filters: { saleId: id.nullish() },
    sorts: ['repaidOn', 'createdAt'],
    standardSort: '-repaidOn',
    onCreate: repay,
  }),
  command({
    name: 'reverseRepayment',
    summary: "Undo a repayment that was recorded by mistake; a machine that it brought back is its buyer's again",
    rest: { method: 'POST', path: '/repayments/:id/reversal', status: 200 },
    creates: false,
    input: Undoing,
    output: Repayment,
    run: reverseRepayment,
  }),
];

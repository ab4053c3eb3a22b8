/**
 * Money paid back to a buyer, with or without the machine coming back: the tax is computed anew on what the buyer
 * finally paid.
 */
import type { Decimal } from 'decimal.js';
import type { z } from 'zod';
import { reverseEntry, writeEntry } from '../ledger/ledger.operations.js';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { checkAmount, toDecimal } from '../platform/money.js';
import { asDate, asDay } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { command, type OperationContext, priceReaders } from '../platform/operation/operation.js';
import { lock, requirePastDate } from '../platform/operation/rows.js';
import { findOne, type Stored } from '../platform/operation/stored.js';
import { id } from '../platform/shapes.js';
import { lockJob } from '../work/jobs.js';
import { CustomerRefund, CustomerRefundCreate, Undoing } from './after-sale.shapes.js';
import { rebookTax, taxOnKept } from './sale-tax.js';

/** The sale, read once its job is held, so that of two refunds at once the second sees the first. */
async function lockSale(
  context: OperationContext,
  saleId: string,
): Promise<{ sale: Stored<'sale'>; job: Stored<'job'> }> {
  const found = await context.tx.sale.findFirst({ where: { id: saleId }, select: { jobId: true } });
  if (!found) throw new NotFound('sale', saleId);
  const job = await lockJob(context, found.jobId);
  return { sale: await findOne(context.tx.sale, 'sale', saleId), job };
}

/** Writes how much of the price has been paid back in all, and the tax on the rest. */
async function settle(
  context: OperationContext,
  sale: Stored<'sale'>,
  customerRefundTotal: Decimal,
  reason: string,
): Promise<void> {
  // A machine that comes back for nothing leaves the tax as it was booked.
  if (customerRefundTotal.equals(toDecimal(sale.customerRefundTotal))) return;
  await rebookTax(context, sale, customerRefundTotal, reason);
}

async function takeBack(
  context: OperationContext,
  sale: Stored<'sale'>,
  job: Stored<'job'>,
  day: string,
): Promise<void> {
  if (sale.returnedDate)
    throw new Conflict('already-returned', `The machine came back on ${asDay(sale.returnedDate)} already.`);
  await lock(context, 'Machine', [job.machineId]);
  const open = await context.tx.job.findFirst({
    where: { machineId: job.machineId, closedDate: null, archivedAt: null },
  });
  if (open)
    throw new Conflict(
      'job-open',
      `The machine is on job ${open.number}; close that one first, as it was for its buyer.`,
    );
  const last = await context.tx.job.findFirst({
    where: { machineId: job.machineId, archivedAt: null, closedDate: { gt: asDate(day) } },
    orderBy: { closedDate: 'desc' },
  });
  if (last?.closedDate)
    throw new Invalid([
      {
        detail: `lies before the machine was handed back with job ${last.number} on ${asDay(last.closedDate)}`,
        pointer: '/refundedDate',
      },
    ]);
  await context.tx.job.update({ where: { id: job.id }, data: { outcome: 'returned', version: { increment: 1 } } });
  await context.tx.sale.update({ where: { id: sale.id }, data: { returnedDate: asDate(day) } });
}

async function giveAgain(context: OperationContext, sale: Stored<'sale'>, job: Stored<'job'>): Promise<void> {
  await lock(context, 'Machine', [job.machineId]);
  const machine = await findOne(context.tx.machine, 'machine', job.machineId);
  const later = await context.tx.job.findFirst({
    where: { machineId: job.machineId, archivedAt: null, purpose: 'refurbish', number: { gt: job.number } },
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
  await context.tx.job.update({ where: { id: job.id }, data: { outcome: 'sold', version: { increment: 1 } } });
  await context.tx.sale.update({ where: { id: sale.id }, data: { returnedDate: null } });
}

async function repay(
  context: OperationContext,
  input: z.output<typeof CustomerRefundCreate>,
): Promise<Stored<'customerRefund'>> {
  const { sale, job } = await lockSale(context, input.saleId);
  if (sale.reversedDate)
    throw new Conflict('already-reversed', 'This sale was reversed: there is nothing to pay back.');
  const amount = checkAmount(input.amount, context.shop.currency, '/amount');
  if (!amount.greaterThan(0) && !input.machineReturned)
    throw new Invalid([{ detail: 'must be above zero', pointer: '/amount' }]);
  const kept = toDecimal(sale.price).minus(toDecimal(sale.customerRefundTotal));
  if (amount.greaterThan(kept))
    throw new Invalid([
      { detail: `is more than the ${kept.toFixed()} that the buyer has paid and not got back`, pointer: '/amount' },
    ]);
  const refundedDate = requirePastDate(context, input.refundedDate, '/refundedDate', asDay(sale.soldDate));
  if (input.machineReturned) await takeBack(context, sale, job, refundedDate);
  const customerRefundTotal = toDecimal(sale.customerRefundTotal).plus(amount);
  await settle(context, sale, customerRefundTotal, input.reason);
  const customerRefund = await context.tx.customerRefund.create({
    data: {
      shopId: context.shop.id,
      saleId: sale.id,
      refundedDate: asDate(refundedDate),
      amount: amount.toString(),
      taxRefund: (await taxOnKept(context, sale, toDecimal(sale.customerRefundTotal)))
        .minus(await taxOnKept(context, sale, customerRefundTotal))
        .toString(),
      machineReturned: input.machineReturned,
      reason: input.reason,
    },
  });
  if (amount.greaterThan(0)) {
    await writeEntry(context, {
      jobId: job.id,
      kind: 'customerRefund',
      amount: amount.toString(),
      occurredDate: refundedDate,
      description: `Paid back to the buyer: ${input.reason}`,
      cause: { customerRefundId: customerRefund.id },
    });
  }
  return customerRefund;
}

async function reverseCustomerRefund(
  context: OperationContext,
  { id: customerRefundId, reason }: z.output<typeof Undoing>,
): Promise<Stored<'customerRefund'>> {
  const { saleId } = await findOne(context.tx.customerRefund, 'customerRefund', customerRefundId);
  const { sale, job } = await lockSale(context, saleId);
  const customerRefund = await findOne(context.tx.customerRefund, 'customerRefund', customerRefundId);
  if (customerRefund.reversedDate) throw new Conflict('already-reversed', 'This refund has already been reversed.');
  if (customerRefund.machineReturned) await giveAgain(context, sale, job);
  const booked = await context.tx.ledgerEntry.findFirst({
    where: { customerRefundId: customerRefund.id, reversesId: null },
  });
  if (booked) await reverseEntry(context, booked.id, reason);
  await settle(context, sale, toDecimal(sale.customerRefundTotal).minus(toDecimal(customerRefund.amount)), reason);
  return context.tx.customerRefund.update({
    where: { id: customerRefund.id },
    data: { reversedDate: asDate(context.today) },
  });
}

export const customerRefundOperations = [
  ...crudOperations({
    name: 'customerRefund',
    plural: 'customerRefunds',
    table: 'customerRefund',
    shape: CustomerRefund,
    create: CustomerRefundCreate,
    readers: priceReaders,
    archives: false,
    filters: { saleId: id.nullish() },
    sorts: ['refundedDate', 'createdAt'],
    standardSort: '-refundedDate',
    onCreate: repay,
  }),
  command({
    name: 'reverseCustomerRefund',
    summary: "Undo a refund that was recorded by mistake; a machine that it brought back is its buyer's again",
    rest: { method: 'POST', path: '/customer-refunds/:id/reverse', status: 200 },
    creates: false,
    input: Undoing,
    output: CustomerRefund,
    run: reverseCustomerRefund,
  }),
];

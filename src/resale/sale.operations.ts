/** Offering and selling: safety checks first, money through the ledger, the job closed with the sale. */
import type { Decimal } from 'decimal.js';
import { z } from 'zod';
import { taxSchemeOf } from '../cost/cost.queries.js';
import { purchaseOf } from '../cost/purchase.queries.js';
import { missingSafetyChecks } from '../diagnosis/diagnosis.queries.js';
import { taxOnSale } from '../engine/money/index.js';
import { reverseEntry, writeEntry } from '../ledger/ledger.operations.js';
import { Conflict, Invalid, NotFound, Refused } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import { asDate, asDay, changeRow, findOne, records } from '../platform/operation/crud-operations.js';
import { command, type OperationContext, type Presentable, priceReaders } from '../platform/operation/operation.js';
import { lock } from '../platform/operation/rows.js';
import { day, id, int, text } from '../platform/shapes.js';
import { readShop } from '../shop/shop.queries.js';
import { closeJobRow, lockJob, lockOpenJob, reopenJobRow } from '../work/jobs.js';
import { Offer, OfferChange, OfferCreate, Sale, SaleCreate } from './resale.shapes.js';

/** @throws Refused when its safety checks are not all passed: nobody is handed a machine that was not tried */
async function refuseUnsafe(context: OperationContext, jobId: string): Promise<void> {
  const missing = await missingSafetyChecks(context, jobId);
  if (missing.length === 0) return;
  throw new Refused(
    'safety-checks-missing',
    `Before this machine is offered or sold, record as passed: ${missing.map((check) => check.title).join('; ')}.`,
    { missing: missing.map((check) => check.code) },
  );
}

async function jobToSell(context: OperationContext, jobId: string): Promise<Presentable> {
  const job = await lockOpenJob(context, jobId);
  if (job.purpose === 'warranty')
    throw new Refused(
      'not-for-sale',
      "This is a warranty job: the machine is its buyer's. If it was brought back, record a refund of the sale with the machine returned.",
    );
  // Held, so that it stays for sale until the offer or the sale stands.
  await lock(context, 'Machine', [job.machineId]);
  const machine = await context.tx.machine.findFirst({ where: { id: job.machineId } });
  if (machine?.disposition !== 'sell')
    throw new Refused(
      'not-for-sale',
      `This machine's disposition is "${machine?.disposition}"; change it to "sell" first.`,
    );
  return job;
}

async function createOffer(context: OperationContext, input: z.output<typeof OfferCreate>): Promise<Presentable> {
  const job = await jobToSell(context, input.jobId);
  await refuseUnsafe(context, job.id);
  const offeredDate = input.offeredDate ?? context.today;
  if (offeredDate > context.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/offeredDate' }]);
  if (offeredDate < asDay(job.openedDate))
    throw new Invalid([{ detail: 'lies before the job was opened', pointer: '/offeredDate' }]);
  // Days on offer tell how many buyers come: none of them may count twice.
  const earlier = await context.tx.offer.findFirst({
    where: { jobId: job.id, withdrawnDate: { gt: asDate(offeredDate) } },
    orderBy: { withdrawnDate: 'desc' },
  });
  if (earlier)
    throw new Invalid([
      {
        detail: `lies before the last offer was withdrawn on ${asDay(earlier.withdrawnDate!)}`,
        pointer: '/offeredDate',
      },
    ]);
  checkPrices(context, input);
  return context.tx.offer.create({
    data: {
      shopId: context.shop.id,
      jobId: job.id,
      askPrice: input.askPrice,
      floorPrice: input.floorPrice ?? null,
      offeredDate: asDate(offeredDate),
      channel: input.channel ?? null,
      note: input.note ?? null,
    },
  });
}

function checkPrices(
  context: OperationContext,
  prices: { askPrice: string; floorPrice?: string | null | undefined },
): void {
  const ask = checkAmount(prices.askPrice, context.shop.currency, '/askPrice');
  if (!ask.greaterThan(0)) throw new Invalid([{ detail: 'must be above zero', pointer: '/askPrice' }]);
  if (prices.floorPrice && checkAmount(prices.floorPrice, context.shop.currency, '/floorPrice').greaterThan(ask)) {
    throw new Invalid([{ detail: 'must not be above what is asked', pointer: '/floorPrice' }]);
  }
}

/** Books a sale: proceeds, tax and selling cost in the ledger, the offer withdrawn, the job closed as sold. */
async function createSale(context: OperationContext, input: z.output<typeof SaleCreate>): Promise<Presentable> {
  const job = await jobToSell(context, input.jobId);
  await refuseUnsafe(context, job.id);
  const soldDate = input.soldDate ?? context.today;
  if (soldDate > context.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/soldDate' }]);
  if (soldDate < asDay(job.openedDate))
    throw new Invalid([{ detail: `lies before the job was opened on ${asDay(job.openedDate)}`, pointer: '/soldDate' }]);
  const offer = await context.tx.offer.findFirst({ where: { jobId: job.id, withdrawnDate: null } });
  if (offer && soldDate < asDay(offer.offeredDate))
    throw new Invalid([{ detail: `lies before it was offered on ${asDay(offer.offeredDate)}`, pointer: '/soldDate' }]);
  const price = checkAmount(input.price, context.shop.currency, '/price');
  const sellingCost = checkAmount(input.sellingCost, context.shop.currency, '/sellingCost');
  const shop = await readShop(context);
  const { purchasePrice } = (await purchaseOf(context, [job.id])).get(job.id)!;
  const { tax } = taxOnSale(taxSchemeOf(shop), price, purchasePrice, context.shop.currency);
  const sale = await context.tx.sale.create({
    data: {
      shopId: context.shop.id,
      jobId: job.id,
      soldDate: asDate(soldDate),
      price: price.toString(),
      taxScheme: shop.taxScheme,
      taxRatePercent: shop.taxRatePercent,
      taxCollected: tax.toString(),
      sellingCost: sellingCost.toString(),
      buyer: input.buyer ?? null,
      channel: input.channel ?? null,
      note: input.note ?? null,
    },
  });
  const book = async (kind: 'saleProceeds' | 'tax' | 'selling', value: Decimal, description: string) => {
    if (value.greaterThan(0))
      await writeEntry(context, {
        jobId: job.id,
        kind,
        amount: value.toString(),
        occurredDate: soldDate,
        description,
        cause: { saleId: sale.id },
      });
  };
  await book('saleProceeds', price, input.buyer ? `Sold to ${input.buyer}` : 'Sold');
  // Tax on top of the price passes through the shop; only the tax inside the price is a cost of the job.
  if (shop.taxScheme === 'marginScheme') await book('tax', tax, 'Tax on the margin');
  await book('selling', sellingCost, 'Cost of selling');
  if (offer) await changeRow(context.tx.offer, 'offer', offer.id, offer.version, { withdrawnDate: asDate(soldDate) });
  await closeJobRow(context, job.id, 'sold', soldDate);
  return sale;
}

async function reverseSale(context: OperationContext, saleId: string, reason: string): Promise<Presentable> {
  const found = await context.tx.sale.findFirst({ where: { id: saleId }, select: { jobId: true } });
  if (!found) throw new NotFound('sale', saleId);
  // Read once the job is held: of two who reverse it at once, the second must see that it has been done.
  await lockJob(context, found.jobId);
  const sale = await findOne(context.tx.sale, 'sale', saleId);
  if (sale.reversedDate) throw new Conflict('already-reversed', 'This sale has already been reversed.');
  const customerRefundTotal = await context.tx.customerRefund.count({ where: { saleId: sale.id, reversedDate: null } });
  if (customerRefundTotal > 0)
    throw new Conflict(
      'refunds-stand',
      'Money of this sale was paid back. A sale that really was is not undone; if it never came about, reverse its refunds first.',
    );
  await reopenJobRow(context, sale.jobId);
  const booked = await context.tx.ledgerEntry.findMany({
    where: { saleId: sale.id, reversesId: null, reversedBy: null },
  });
  for (const entry of booked) await reverseEntry(context, entry.id, reason);
  return context.tx.sale.update({ where: { id: sale.id }, data: { reversedDate: asDate(context.today) } });
}

export const saleOperations = [
  ...records({
    name: 'offer',
    plural: 'offers',
    rows: (tx) => tx.offer,
    shape: Offer,
    create: OfferCreate,
    change: OfferChange,
    archives: false,
    filters: {
      jobId: id.nullish(),
      status: z.boolean().nullish().meta({ description: 'True for those that stand, false for those withdrawn.' }),
    },
    where: ({ jobId, status }) => ({
      ...(jobId ? { jobId } : {}),
      ...(typeof status === 'boolean' ? { withdrawnDate: status ? null : { not: null } } : {}),
    }),
    sorts: ['offeredDate', 'createdAt'],
    standardSort: '-offeredDate',
    onCreate: createOffer,
    async onChange(context, before, columns) {
      if (before.withdrawnDate) throw new Conflict('withdrawn', 'This offer was withdrawn; make a new one.');
      const kept = (price: { toString(): string } | null) => price?.toString() ?? null;
      checkPrices(context, { askPrice: kept(before.askPrice)!, floorPrice: kept(before.floorPrice), ...columns });
      return columns;
    },
  }),
  command({
    name: 'withdrawOffer',
    summary: 'Withdraw an offer',
    rest: { method: 'POST', path: '/offers/:id/withdraw', status: 200 },
    creates: false,
    input: z.strictObject({ id, version: int(1, 2_000_000_000) }),
    output: Offer,
    async run(context, input) {
      const offer = await findOne(context.tx.offer, 'offer', input.id);
      if (offer.withdrawnDate) throw new Conflict('withdrawn', 'This offer was withdrawn already.');
      await changeRow(context.tx.offer, 'offer', input.id, input.version, { withdrawnDate: asDate(context.today) });
      return findOne(context.tx.offer, 'offer', input.id);
    },
  }),
  ...records({
    name: 'sale',
    plural: 'sales',
    rows: (tx) => tx.sale,
    shape: Sale,
    create: SaleCreate,
    readers: priceReaders,
    archives: false,
    filters: { jobId: id.nullish(), soldFrom: day.nullish(), soldTo: day.nullish() },
    where: (filters) => ({
      ...(filters.jobId ? { jobId: filters.jobId } : {}),
      soldDate: {
        ...(filters.soldFrom ? { gte: asDate(filters.soldFrom as string) } : {}),
        ...(filters.soldTo ? { lte: asDate(filters.soldTo as string) } : {}),
      },
    }),
    sorts: ['soldDate', 'createdAt'],
    standardSort: '-soldDate',
    onCreate: createSale,
  }),
  command({
    name: 'reverseSale',
    summary: 'Undo a sale that never came about: all its amounts are reversed in the ledger and the job is open again',
    rest: { method: 'POST', path: '/sales/:id/reverse', status: 200 },
    creates: false,
    input: z.strictObject({ id, reason: text(200) }),
    output: Sale,
    run: (context, input) => reverseSale(context, input.id, input.reason),
  }),
];

/** Offering and selling: safety checks first, money through the ledger, the job closed with the sale. */
import type { Decimal } from 'decimal.js';
import { z } from 'zod';
import { taxSchemeOf } from '../cost/cost.queries.js';
import { reverseEntry, writeEntry } from '../ledger/ledger.operations.js';
import { purchaseOf } from '../cost/purchase.queries.js';
import { missingSafetyChecks } from '../diagnosis/diagnosis.queries.js';
import { taxOnSale } from '../engine/money/index.js';
import { lock } from '../platform/operation/rows.js';
import { Conflict, Invalid, NotFound, Refused } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import { type Call, command, type Presentable, priceReaders } from '../platform/operation/operation.js';
import { asDate, asDay, changeRow, findOne, records } from '../platform/operation/crud-operations.js';
import { day, id, int, text } from '../platform/shapes.js';
import { readShop } from '../shop/shop.queries.js';
import { closeJobRow, lockJob, lockOpenJob, reopenJobRow } from '../work/jobs.js';
import { Offer, OfferChange, OfferCreate, Sale, SaleCreate } from './resale.shapes.js';

/** @throws Refused when its safety checks are not all passed: nobody is handed a machine that was not tried */
async function refuseUnsafe(call: Call, jobId: string): Promise<void> {
  const missing = await missingSafetyChecks(call, jobId);
  if (missing.length === 0) return;
  throw new Refused(
    'safety-checks-missing',
    `Before this machine is offered or sold, record as passed: ${missing.map((check) => check.title).join('; ')}.`,
    { missing: missing.map((check) => check.code) },
  );
}

async function jobToSell(call: Call, jobId: string): Promise<Presentable> {
  const job = await lockOpenJob(call, jobId);
  if (job.purpose === 'warranty')
    throw new Refused(
      'not-for-sale',
      "This is a warranty job: the machine is its buyer's. If it was brought back, record a repayment of the sale with the machine returned.",
    );
  // Held, so that it stays for sale until the offer or the sale stands.
  await lock(call, 'Machine', [job.machineId]);
  const machine = await call.tx.machine.findFirst({ where: { id: job.machineId } });
  if (machine?.disposition !== 'sell')
    throw new Refused(
      'not-for-sale',
      `This machine's disposition is "${machine?.disposition}"; change it to "sell" first.`,
    );
  return job;
}

async function createOffer(call: Call, input: z.output<typeof OfferCreate>): Promise<Presentable> {
  const job = await jobToSell(call, input.jobId);
  await refuseUnsafe(call, job.id);
  const offeredOn = input.offeredOn ?? call.today;
  if (offeredOn > call.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/offeredOn' }]);
  if (offeredOn < asDay(job.openedOn))
    throw new Invalid([{ detail: 'lies before the job was opened', pointer: '/offeredOn' }]);
  // Days on offer tell how many buyers come: none of them may count twice.
  const earlier = await call.tx.offer.findFirst({
    where: { jobId: job.id, withdrawnOn: { gt: asDate(offeredOn) } },
    orderBy: { withdrawnOn: 'desc' },
  });
  if (earlier)
    throw new Invalid([
      { detail: `lies before the last offer was withdrawn on ${asDay(earlier.withdrawnOn!)}`, pointer: '/offeredOn' },
    ]);
  checkPrices(call, input);
  return call.tx.offer.create({
    data: {
      shopId: call.shop.id,
      jobId: job.id,
      askPrice: input.askPrice,
      floorPrice: input.floorPrice ?? null,
      offeredOn: asDate(offeredOn),
      channel: input.channel ?? null,
      note: input.note ?? null,
    },
  });
}

function checkPrices(call: Call, prices: { askPrice: string; floorPrice?: string | null | undefined }): void {
  const ask = checkAmount(prices.askPrice, call.shop.currency, '/askPrice');
  if (!ask.greaterThan(0)) throw new Invalid([{ detail: 'must be above zero', pointer: '/askPrice' }]);
  if (prices.floorPrice && checkAmount(prices.floorPrice, call.shop.currency, '/floorPrice').greaterThan(ask)) {
    throw new Invalid([{ detail: 'must not be above what is asked', pointer: '/floorPrice' }]);
  }
}

/** Books a sale: proceeds, tax and selling cost in the ledger, the offer withdrawn, the job closed as sold. */
async function createSale(call: Call, input: z.output<typeof SaleCreate>): Promise<Presentable> {
  const job = await jobToSell(call, input.jobId);
  await refuseUnsafe(call, job.id);
  const soldOn = input.soldOn ?? call.today;
  if (soldOn > call.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/soldOn' }]);
  if (soldOn < asDay(job.openedOn))
    throw new Invalid([{ detail: `lies before the job was opened on ${asDay(job.openedOn)}`, pointer: '/soldOn' }]);
  const offer = await call.tx.offer.findFirst({ where: { jobId: job.id, withdrawnOn: null } });
  if (offer && soldOn < asDay(offer.offeredOn))
    throw new Invalid([{ detail: `lies before it was offered on ${asDay(offer.offeredOn)}`, pointer: '/soldOn' }]);
  const price = checkAmount(input.price, call.shop.currency, '/price');
  const sellingCost = checkAmount(input.sellingCost, call.shop.currency, '/sellingCost');
  const shop = await readShop(call);
  const { purchasePrice } = (await purchaseOf(call, [job.id])).get(job.id)!;
  const { tax } = taxOnSale(taxSchemeOf(shop), price, purchasePrice, call.shop.currency);
  const sale = await call.tx.sale.create({
    data: {
      shopId: call.shop.id,
      jobId: job.id,
      soldOn: asDate(soldOn),
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
      await writeEntry(call, {
        jobId: job.id,
        kind,
        amount: value.toString(),
        occurredOn: soldOn,
        description,
        sourceId: sale.id,
      });
  };
  await book('saleProceeds', price, input.buyer ? `Sold to ${input.buyer}` : 'Sold');
  // Tax on top of the price passes through the shop; only the tax inside the price is a cost of the job.
  if (shop.taxScheme === 'marginScheme') await book('tax', tax, 'Tax on the margin');
  await book('selling', sellingCost, 'Cost of selling');
  if (offer) await changeRow(call.tx.offer, 'offer', offer.id, offer.version, { withdrawnOn: asDate(soldOn) });
  await closeJobRow(call, job.id, 'sold', soldOn);
  return sale;
}

async function reverseSale(call: Call, saleId: string, reason: string): Promise<Presentable> {
  const found = await call.tx.sale.findFirst({ where: { id: saleId }, select: { jobId: true } });
  if (!found) throw new NotFound('sale', saleId);
  // Read once the job is held: of two who reverse it at once, the second must see that it has been done.
  await lockJob(call, found.jobId);
  const sale = await findOne(call.tx.sale, 'sale', saleId);
  if (sale.reversedOn) throw new Conflict('already-reversed', 'This sale has already been reversed.');
  const repaid = await call.tx.repayment.count({ where: { saleId: sale.id, reversedOn: null } });
  if (repaid > 0)
    throw new Conflict(
      'repaid',
      'Money of this sale was paid back. A sale that really was is not undone; if it never came about, reverse its repayments first.',
    );
  await reopenJobRow(call, sale.jobId);
  const booked = await call.tx.ledgerEntry.findMany({
    where: { sourceId: sale.id, reversesId: null, reversedBy: null },
  });
  for (const entry of booked) await reverseEntry(call, entry.id, reason);
  return call.tx.sale.update({ where: { id: sale.id }, data: { reversedOn: asDate(call.today) } });
}

export const saleOperations = [
  ...records({
    name: 'offer',
    plural: 'offers',
    rows: (tx) => tx.offer,
    shape: Offer,
    create: OfferCreate,
    change: OfferChange,
    retires: false,
    filters: {
      jobId: id.nullish(),
      standing: z.boolean().nullish().meta({ description: 'True for those that stand, false for those withdrawn.' }),
    },
    where: ({ jobId, standing }) => ({
      ...(jobId ? { jobId } : {}),
      ...(typeof standing === 'boolean' ? { withdrawnOn: standing ? null : { not: null } } : {}),
    }),
    sorts: ['offeredOn', 'createdAt'],
    standardSort: '-offeredOn',
    onCreate: createOffer,
    async onChange(call, before, columns) {
      if (before.withdrawnOn) throw new Conflict('withdrawn', 'This offer was withdrawn; make a new one.');
      const kept = (price: { toString(): string } | null) => price?.toString() ?? null;
      checkPrices(call, { askPrice: kept(before.askPrice)!, floorPrice: kept(before.floorPrice), ...columns });
      return columns;
    },
  }),
  command({
    name: 'withdrawOffer',
    summary: 'Withdraw an offer',
    rest: { method: 'DELETE', path: '/offers/:id' },
    input: z.strictObject({ id, version: int(1, 2_000_000_000) }),
    output: Offer,
    async run(call, input) {
      const offer = await findOne(call.tx.offer, 'offer', input.id);
      if (offer.withdrawnOn) throw new Conflict('withdrawn', 'This offer was withdrawn already.');
      await changeRow(call.tx.offer, 'offer', input.id, input.version, { withdrawnOn: asDate(call.today) });
      return findOne(call.tx.offer, 'offer', input.id);
    },
  }),
  ...records({
    name: 'sale',
    plural: 'sales',
    rows: (tx) => tx.sale,
    shape: Sale,
    create: SaleCreate,
    readers: priceReaders,
    retires: false,
    filters: { jobId: id.nullish(), soldFrom: day.nullish(), soldTo: day.nullish() },
    where: (filters) => ({
      ...(filters.jobId ? { jobId: filters.jobId } : {}),
      soldOn: {
        ...(filters.soldFrom ? { gte: asDate(filters.soldFrom as string) } : {}),
        ...(filters.soldTo ? { lte: asDate(filters.soldTo as string) } : {}),
      },
    }),
    sorts: ['soldOn', 'createdAt'],
    standardSort: '-soldOn',
    onCreate: createSale,
  }),
  command({
    name: 'reverseSale',
    summary: 'Undo a sale that never came about: all its amounts are reversed in the ledger and the job is open again',
    rest: { method: 'POST', path: '/sales/:id/reversal', status: 200 },
    creates: false,
    input: z.strictObject({ id, reason: text(200) }),
    output: Sale,
    run: (call, input) => reverseSale(call, input.id, input.reason),
  }),
];

/** Selling: money through the ledger, the job closed with the sale. */
import type { Decimal } from 'decimal.js';
import { z } from 'zod';
import { purchaseOf } from '../cost/purchase.queries.js';
import { taxSchemeOf } from '../cost/tax-scheme.js';
import { at, lookUp } from '../engine/look-up.js';
import { taxOnSale } from '../engine/money/index.js';
import { reverseEntry, writeEntry } from '../ledger/ledger.operations.js';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { checkAmount, toDecimal } from '../platform/money.js';
import { asDate, asDay } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { command, type OperationContext, priceReaders } from '../platform/operation/operation.js';
import { changeRow, findOne, type Stored } from '../platform/operation/stored.js';
import { day, id, text } from '../platform/shapes.js';
import { readShop } from '../shop/shop.queries.js';
import { closeJobRow, lockJob, reopenJobRow } from '../work/jobs.js';
import { jobToSell, refuseUnsafe } from './for-sale.js';
import { leavingCondition } from './market.js';
import { Sale, SaleCreate } from './resale.shapes.js';
import { taxablePrice } from './sale-tax.js';
import { recordTradeIn, undoTradeIn } from './trade-in.js';

/** The accepted offer whose buyer takes the machine. @throws Conflict when somebody else's deposit is held */
async function acceptedOffer(
  context: OperationContext,
  jobId: string,
  buyerOfferId: string | null | undefined,
  price: Decimal,
): Promise<Stored<'buyerOffer'> | null> {
  const held = await context.tx.buyerOffer.findFirst({ where: { jobId, status: 'accepted' } });
  if (held && held.id !== buyerOfferId && held.depositStatus === 'held')
    throw new Conflict(
      'deposit-held',
      'A deposit is held for an accepted offer on this machine. Sell to that buyer ' +
        '(buyerOfferId), or record what became of the deposit first.',
    );
  if (!buyerOfferId) return null;
  const offer = await findOne(context.tx.buyerOffer, 'buyer offer', buyerOfferId);
  if (offer.jobId !== jobId) throw new NotFound('buyer offer of this job', buyerOfferId);
  if (offer.status === 'refused' || offer.status === 'withdrawn')
    throw new Conflict('offer-decided', `This offer is ${offer.status}.`);
  if (toDecimal(offer.deposit).greaterThan(price))
    throw new Invalid([{ detail: 'is less than the deposit that is held', pointer: '/price' }]);
  return offer;
}

/**
 * Books a sale: proceeds, tax and selling cost in the ledger, the offer withdrawn, the job closed as sold.
 * @param options.afterwards of a machine that went to its buyer before it was entered: its checks cannot be asked for any more
 */
export async function createSale(
  context: OperationContext,
  input: z.output<typeof SaleCreate>,
  options: { afterwards: boolean } = { afterwards: false },
): Promise<Stored<'sale'>> {
  const job = await jobToSell(context, input.jobId);
  if (!options.afterwards) await refuseUnsafe(context, job.id);
  const soldDate = input.soldDate ?? context.today;
  if (soldDate > context.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/soldDate' }]);
  if (options.afterwards && soldDate >= context.today)
    throw new Invalid([{ detail: 'is today: record its safety checks, then the sale', pointer: '/soldDate' }]);
  if (soldDate < asDay(job.openedDate))
    throw new Invalid([{ detail: `lies before the job was opened on ${asDay(job.openedDate)}`, pointer: '/soldDate' }]);
  const offer = await context.tx.offer.findFirst({ where: { jobId: job.id, withdrawnDate: null } });
  if (offer && soldDate < asDay(offer.offeredDate))
    throw new Invalid([{ detail: `lies before it was offered on ${asDay(offer.offeredDate)}`, pointer: '/soldDate' }]);
  const price = checkAmount(input.price, context.shop.currency, '/price');
  const sellingCost = checkAmount(input.sellingCost, context.shop.currency, '/sellingCost');
  const buyerOffer = await acceptedOffer(context, job.id, input.buyerOfferId, price);
  const machine = await findOne(context.tx.machine, 'machine', job.machineId);
  const shop = await readShop(context);
  const { purchasePrice } = lookUp(await purchaseOf(context, [job.id]), job.id);
  const allowance = checkAmount(input.tradeIn?.allowance ?? '0', context.shop.currency, '/tradeIn/allowance');
  if (allowance.plus(buyerOffer ? toDecimal(buyerOffer.deposit) : 0).greaterThan(price))
    throw new Invalid([
      { detail: 'is more than the price leaves to be paid, a deposit taken off', pointer: '/tradeIn/allowance' },
    ]);
  const trade = {
    taxScheme: shop.taxScheme,
    tradeInAllowance: allowance.toString(),
    tradeInLowersTax: shop.tradeInLowersTax,
  };
  const { tax } = taxOnSale(taxSchemeOf(shop), taxablePrice(price, trade), purchasePrice, context.shop.currency);
  const tradeInAcquisitionId = input.tradeIn
    ? await recordTradeIn(context, { soldDate, allowance }, input.tradeIn)
    : null;
  const sale = await context.tx.sale.create({
    data: {
      shopId: context.shop.id,
      jobId: job.id,
      soldDate: asDate(soldDate),
      price: price.toString(),
      ...trade,
      tradeInAcquisitionId,
      taxRatePercent: shop.taxRatePercent,
      taxCollected: tax.toString(),
      sellingCost: sellingCost.toString(),
      buyer: input.buyer ?? buyerOffer?.buyer ?? null,
      channel: input.channel ?? null,
      note: input.note ?? null,
      // What it leaves as is what its price says something about: finished unless it is sold as it was found.
      condition:
        input.condition ?? (job.finishedDate ? leavingCondition(job.scope, machine.condition) : machine.condition),
      equipment: machine.equipment ?? [],
      buyerOfferId: buyerOffer?.id ?? null,
    },
  });
  const book = async (
    kind: 'saleProceeds' | 'tax' | 'selling' | 'depositApplied',
    value: Decimal,
    description: string,
  ) => {
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
  await book('saleProceeds', price, 'Sold');
  // Tax on top of the price passes through the shop; only the tax inside the price is a cost of the job.
  if (shop.taxScheme === 'marginScheme') await book('tax', tax, 'Tax on the margin');
  await book('selling', sellingCost, 'Cost of selling');
  if (buyerOffer) {
    const deposit = toDecimal(buyerOffer.deposit);
    await book('depositApplied', deposit, 'Deposit set against the price');
    await changeRow(context.tx.buyerOffer, 'buyer offer', buyerOffer.id, buyerOffer.version, {
      status: 'accepted',
      decidedDate: buyerOffer.decidedDate ?? asDate(soldDate),
      depositStatus: deposit.greaterThan(0) ? 'applied' : null,
    });
  }
  if (offer) await changeRow(context.tx.offer, 'offer', offer.id, offer.version, { withdrawnDate: asDate(soldDate) });
  await closeJobRow(context, job.id, 'sold', soldDate);
  return sale;
}

async function reverseSale(context: OperationContext, saleId: string, reason: string): Promise<Stored<'sale'>> {
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
  if (sale.tradeInAcquisitionId) await undoTradeIn(context, sale.tradeInAcquisitionId);
  await reopenJobRow(context, sale.jobId);
  const booked = await context.tx.ledgerEntry.findMany({
    where: { saleId: sale.id, reversesId: null, reversedBy: null },
  });
  if (sale.buyerOfferId)
    await context.tx.buyerOffer.updateMany({
      where: { id: sale.buyerOfferId, depositStatus: 'applied' },
      data: { depositStatus: 'held', version: { increment: 1 } },
    });
  for (const entry of booked) await reverseEntry(context, entry.id, reason);
  return context.tx.sale.update({ where: { id: sale.id }, data: { reversedDate: asDate(context.today) } });
}

/** Adds what was left to be handed over on the day of the sale. One statement. */
async function withAmountDue(context: OperationContext, sales: readonly Stored<'sale'>[]) {
  const deposits = new Map(
    (
      await context.tx.buyerOffer.findMany({
        where: { id: { in: sales.flatMap(({ buyerOfferId }) => buyerOfferId ?? []) } },
        select: { id: true, deposit: true },
      })
    ).map(({ id: offerId, deposit }) => [offerId, toDecimal(deposit)]),
  );
  return sales.map((sale) => ({
    ...sale,
    amountDue: toDecimal(sale.price)
      .plus(sale.taxScheme === 'salesTax' ? toDecimal(sale.taxCollected) : 0)
      .minus(toDecimal(sale.tradeInAllowance))
      .minus((sale.buyerOfferId && deposits.get(sale.buyerOfferId)) || 0),
  }));
}

export const saleOperations = [
  ...crudOperations({
    name: 'sale',
    plural: 'sales',
    table: 'sale',
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
    onCreate: (context, input) => createSale(context, input),
    complete: withAmountDue,
  }),
  command({
    name: 'reverseSale',
    summary: 'Undo a sale that never came about: all its amounts are reversed in the ledger and the job is open again',
    rest: { method: 'POST', path: '/sales/:id/reverse', status: 200 },
    creates: false,
    input: z.strictObject({ id, reason: text(200) }),
    output: Sale,
    run: async (context, input) =>
      at(await withAmountDue(context, [await reverseSale(context, input.id, input.reason)]), 0),
  }),
];

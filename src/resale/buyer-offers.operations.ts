/** What buyers offer: kept as records, decided on, with deposits in the ledger. */
import { z } from 'zod';
import { taxSchemeOf } from '../cost/tax-scheme.js';
import { roundAmount } from '../engine/money/index.js';
import { writeEntry } from '../ledger/ledger.operations.js';
import type { Prisma } from '../platform/database/client/client.js';
import { Conflict, Invalid } from '../platform/errors.js';
import { checkAmount, toDecimal } from '../platform/money.js';
import { asDate, asDay } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { command, type OperationContext, priceReaders } from '../platform/operation/operation.js';
import { changeRow, findOne, type Stored } from '../platform/operation/stored.js';
import { amount, day, id, int } from '../platform/shapes.js';
import { readShop } from '../shop/shop.queries.js';
import { lockOpenJob } from '../work/jobs.js';
import {
  BuyerOffer,
  BuyerOfferChange,
  BuyerOfferCreate,
  BuyerOfferStatus,
  DepositOutcome,
} from './buyer-offers.shapes.js';
import { jobToSell } from './for-sale.js';

const version = int(1, 2_000_000_000);

async function createBuyerOffer(
  context: OperationContext,
  input: z.output<typeof BuyerOfferCreate>,
): Promise<Stored<'buyerOffer'>> {
  const job = await jobToSell(context, input.jobId);
  const offeredDate = input.offeredDate ?? context.today;
  if (offeredDate > context.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/offeredDate' }]);
  if (offeredDate < asDay(job.openedDate))
    throw new Invalid([{ detail: 'lies before the job was opened', pointer: '/offeredDate' }]);
  const value = checkAmount(input.amount, context.shop.currency, '/amount');
  if (!value.greaterThan(0)) throw new Invalid([{ detail: 'must be above zero', pointer: '/amount' }]);
  return context.tx.buyerOffer.create({
    data: {
      shopId: context.shop.id,
      jobId: job.id,
      offeredDate: asDate(offeredDate),
      amount: value.toString(),
      buyer: input.buyer ?? null,
      note: input.note ?? null,
      holdUntilDate: input.holdUntilDate ? asDate(input.holdUntilDate) : null,
    },
  });
}

/** The offer, read once its job is held. @throws Conflict unless it has one of the statuses */
async function lockOffer(
  context: OperationContext,
  offerId: string,
  ...statuses: string[]
): Promise<Stored<'buyerOffer'>> {
  const found = await findOne(context.tx.buyerOffer, 'buyer offer', offerId);
  await lockOpenJob(context, found.jobId);
  const offer = await findOne(context.tx.buyerOffer, 'buyer offer', offerId);
  if (!statuses.includes(offer.status))
    throw new Conflict('offer-decided', `This offer is ${offer.status}; record a new one if the buyer offers again.`);
  return offer;
}

async function decide(
  context: OperationContext,
  offer: Stored<'buyerOffer'>,
  at: number,
  columns: Prisma.BuyerOfferUncheckedUpdateManyInput,
): Promise<Stored<'buyerOffer'>> {
  await changeRow(context.tx.buyerOffer, 'buyer offer', offer.id, at, {
    decidedDate: asDate(context.today),
    ...columns,
  });
  return findOne(context.tx.buyerOffer, 'buyer offer', offer.id);
}

const book = (
  context: OperationContext,
  offer: Stored<'buyerOffer'>,
  kind: 'deposit' | 'depositReturned' | 'depositForfeited' | 'other',
  value: string,
  description: string,
) =>
  writeEntry(context, {
    jobId: offer.jobId,
    kind,
    amount: value,
    occurredDate: context.today,
    description,
    cause: { buyerOfferId: offer.id },
  });

async function accept(
  context: OperationContext,
  input: {
    id: string;
    version: number;
    deposit?: string | null | undefined;
    holdUntilDate?: string | null | undefined;
  },
): Promise<Stored<'buyerOffer'>> {
  const offer = await lockOffer(context, input.id, 'open');
  const other = await context.tx.buyerOffer.count({ where: { jobId: offer.jobId, status: 'accepted' } });
  if (other > 0)
    throw new Conflict('offer-accepted', 'Another offer for this machine is accepted; record its withdrawal first.');
  const deposit = checkAmount(input.deposit ?? '0', context.shop.currency, '/deposit');
  if (deposit.isNegative() || deposit.greaterThan(toDecimal(offer.amount)))
    throw new Invalid([{ detail: 'must lie between nothing and what was offered', pointer: '/deposit' }]);
  if (deposit.greaterThan(0)) await book(context, offer, 'deposit', deposit.toString(), 'Deposit of a buyer, held');
  return decide(context, offer, input.version, {
    status: 'accepted',
    deposit: deposit.toString(),
    depositStatus: deposit.greaterThan(0) ? 'held' : null,
    ...(input.holdUntilDate ? { holdUntilDate: asDate(input.holdUntilDate) } : {}),
  });
}

/** The buyer does not come: what was held goes back or stays with the shop. */
async function withdraw(
  context: OperationContext,
  input: {
    id: string;
    version: number;
    deposit?: 'returned' | 'forfeited' | null | undefined;
    taxed?: boolean | undefined;
  },
): Promise<Stored<'buyerOffer'>> {
  const offer = await lockOffer(context, input.id, 'open', 'accepted');
  if (offer.depositStatus === 'held') {
    if (!input.deposit)
      throw new Invalid([{ detail: 'say what becomes of the deposit that is held', pointer: '/deposit' }]);
    const deposit = toDecimal(offer.deposit);
    if (input.deposit === 'returned')
      await book(context, offer, 'depositReturned', deposit.toString(), 'Deposit given back');
    else {
      await book(context, offer, 'depositForfeited', deposit.toString(), 'Deposit kept: the buyer did not come');
      const scheme = taxSchemeOf(await readShop(context));
      if (input.taxed && scheme.kind !== 'none') {
        const rate = toDecimal(scheme.ratePercent);
        const tax = roundAmount(deposit.times(rate).div(rate.plus(100)), context.shop.currency);
        if (tax.greaterThan(0)) await book(context, offer, 'other', tax.toString(), 'Tax within a forfeited deposit');
      }
    }
  } else if (input.deposit) {
    throw new Invalid([{ detail: 'no deposit is held for this offer', pointer: '/deposit' }]);
  }
  return decide(context, offer, input.version, {
    status: 'withdrawn',
    ...(input.deposit ? { depositStatus: input.deposit } : {}),
  });
}

export const buyerOfferOperations = [
  ...crudOperations({
    name: 'buyerOffer',
    plural: 'buyerOffers',
    what: 'buyer offer',
    table: 'buyerOffer',
    shape: BuyerOffer,
    create: BuyerOfferCreate,
    change: BuyerOfferChange,
    readers: priceReaders,
    archives: false,
    filters: { jobId: id.nullish(), status: BuyerOfferStatus.nullish() },
    sorts: ['offeredDate', 'createdAt'],
    standardSort: '-offeredDate',
    onCreate: createBuyerOffer,
  }),
  command({
    name: 'acceptBuyerOffer',
    summary: "Accept a buyer's offer; a deposit is booked as held until the sale, its return or its forfeit",
    rest: { method: 'POST', path: '/buyer-offers/:id/accept', status: 200 },
    creates: false,
    input: z.strictObject({ id, version, deposit: amount.nullish(), holdUntilDate: day.nullish() }),
    output: BuyerOffer,
    run: accept,
  }),
  command({
    name: 'refuseBuyerOffer',
    summary: "Refuse a buyer's offer, or counter it with a price",
    rest: { method: 'POST', path: '/buyer-offers/:id/refuse', status: 200 },
    creates: false,
    input: z.strictObject({ id, version, counterPrice: amount.nullish() }),
    output: BuyerOffer,
    async run(context, input) {
      const offer = await lockOffer(context, input.id, 'open');
      const counter = input.counterPrice
        ? checkAmount(input.counterPrice, context.shop.currency, '/counterPrice')
        : null;
      if (counter && !counter.greaterThan(toDecimal(offer.amount)))
        throw new Invalid([{ detail: 'must be above what was offered', pointer: '/counterPrice' }]);
      return decide(context, offer, input.version, { status: 'refused', counterPrice: counter?.toString() ?? null });
    },
  }),
  command({
    name: 'withdrawBuyerOffer',
    summary: 'The buyer does not come after all: a deposit is given back or kept',
    rest: { method: 'POST', path: '/buyer-offers/:id/withdraw', status: 200 },
    creates: false,
    input: z.strictObject({
      id,
      version,
      deposit: DepositOutcome.nullish().meta({ description: 'What becomes of a deposit that is held.' }),
      taxed: z
        .boolean()
        .default(false)
        .meta({
          description:
            "Whether tax is due on a forfeited deposit at the shop's rate, as within the " +
            'amount. It depends on the place: ask the authority or an accountant.',
        }),
    }),
    output: BuyerOffer,
    run: withdraw,
  }),
];

/** Offering a machine: its ask, with the day each one stood from. */
import { z } from 'zod';
import { Conflict, Invalid } from '../platform/errors.js';
import { checkAmount, toDecimal } from '../platform/money.js';
import { asDate, asDay } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { command, type OperationContext } from '../platform/operation/operation.js';
import { changeRow, findOne, type Stored } from '../platform/operation/stored.js';
import { id, int } from '../platform/shapes.js';
import { jobToSell, refuseUnsafe } from './for-sale.js';
import { Offer, OfferChange, OfferCreate } from './resale.shapes.js';

/** @param options.afterwards of a machine that went to its buyer before it was entered: its checks cannot be asked for any more */
export async function createOffer(
  context: OperationContext,
  input: z.output<typeof OfferCreate>,
  options: { afterwards: boolean } = { afterwards: false },
): Promise<Stored<'offer'>> {
  const job = await jobToSell(context, input.jobId);
  if (!options.afterwards) await refuseUnsafe(context, job.id);
  const offeredDate = input.offeredDate ?? context.today;
  if (offeredDate > context.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/offeredDate' }]);
  if (offeredDate < asDay(job.openedDate))
    throw new Invalid([{ detail: 'lies before the job was opened', pointer: '/offeredDate' }]);
  // Days on offer tell how many buyers come: none of them may count twice.
  const earlier = await context.tx.offer.findFirst({
    where: { jobId: job.id, withdrawnDate: { gt: asDate(offeredDate) } },
    orderBy: { withdrawnDate: 'desc' },
  });
  if (earlier?.withdrawnDate)
    throw new Invalid([
      {
        detail: `lies before the last offer was withdrawn on ${asDay(earlier.withdrawnDate)}`,
        pointer: '/offeredDate',
      },
    ]);
  checkPrices(context, input);
  const offer = await context.tx.offer.create({
    data: {
      shopId: context.shop.id,
      jobId: job.id,
      askPrice: input.askPrice,
      reservationPrice: input.reservationPrice ?? null,
      offeredDate: asDate(offeredDate),
      channel: input.channel ?? null,
      note: input.note ?? null,
    },
  });
  await writeAsk(context, offer.id, input.askPrice, offeredDate);
  return offer;
}

/** An ask as it stands from a day on is written once: how many buyers come is learnt from the asks as they stood. */
async function writeAsk(context: OperationContext, offerId: string, askPrice: string, fromDate: string): Promise<void> {
  await context.tx.askChange.create({
    data: { shopId: context.shop.id, offerId, askPrice, fromDate: asDate(fromDate) },
  });
}

async function changeAsk(
  context: OperationContext,
  before: Stored<'offer'>,
  askPrice: string,
  from: string | null | undefined,
): Promise<void> {
  const fromDate = from ?? context.today;
  if (fromDate > context.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/askFromDate' }]);
  const last = await context.tx.askChange.findFirst({
    where: { offerId: before.id },
    orderBy: [{ fromDate: 'desc' }, { id: 'desc' }],
  });
  if (last && fromDate < asDay(last.fromDate))
    throw new Invalid([
      { detail: `lies before the last change of the ask on ${asDay(last.fromDate)}`, pointer: '/askFromDate' },
    ]);
  await writeAsk(context, before.id, askPrice, fromDate);
}

function checkPrices(
  context: OperationContext,
  prices: { askPrice: string; reservationPrice?: string | null | undefined },
): void {
  const ask = checkAmount(prices.askPrice, context.shop.currency, '/askPrice');
  if (!ask.greaterThan(0)) throw new Invalid([{ detail: 'must be above zero', pointer: '/askPrice' }]);
  if (
    prices.reservationPrice &&
    checkAmount(prices.reservationPrice, context.shop.currency, '/reservationPrice').greaterThan(ask)
  ) {
    throw new Invalid([{ detail: 'must not be above what is asked', pointer: '/reservationPrice' }]);
  }
}

export const offerOperations = [
  ...crudOperations({
    name: 'offer',
    plural: 'offers',
    table: 'offer',
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
    onCreate: (context, input) => createOffer(context, input),
    async onChange(context, before, { askFromDate, ...columns }) {
      if (before.withdrawnDate) throw new Conflict('withdrawn', 'This offer was withdrawn; make a new one.');
      checkPrices(context, {
        askPrice: columns.askPrice ?? before.askPrice.toString(),
        reservationPrice:
          columns.reservationPrice === undefined ? before.reservationPrice?.toString() : columns.reservationPrice,
      });
      if (columns.askPrice !== undefined && !toDecimal(before.askPrice).equals(columns.askPrice))
        await changeAsk(context, before, columns.askPrice, askFromDate ? asDay(askFromDate) : null);
      else if (askFromDate) throw new Invalid([{ detail: 'needs a new askPrice beside it', pointer: '/askFromDate' }]);
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
];

/** Prices seen elsewhere, prices made here, offers and the season, read for the price engine. */
import type { Decimal } from 'decimal.js';
import { taxSchemeOf } from '../cost/tax-scheme.js';
import type { ListingRecord, MachineTraits, SeenPrice } from '../engine/price/index.js';
import { snowKinds } from '../machines/machines.shapes.js';
import { addDays } from '../platform/days.js';
import { toDecimal } from '../platform/money.js';
import { asDate, asDay } from '../platform/operation/columns.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { snowOutlook } from '../season/first-snow.queries.js';
import { readShop } from '../shop/shop.queries.js';
import { equipmentBalance, leavingCondition, type Market, type OwnListing } from './market.js';

/** Comparables older than this tell little of today's prices. */
const YEARS_BACK = 5;

/** Six statements and the station's, whatever is asked. */
export async function readMarket(context: OperationContext): Promise<Market> {
  const since = asDate(addDays(context.today, -365 * YEARS_BACK));
  const seen = await context.tx.comparable.findMany({ where: { archivedAt: null, seenDate: { gte: since } } });
  const sold = await context.tx.sale.findMany({
    where: { reversedDate: null, returnedDate: null, soldDate: { gte: since } },
    include: { job: { select: { machine: true } } },
  });
  // A price is what the buyer finally paid; what was given away says nothing of prices.
  const sales = sold
    .map((sale) => ({ ...sale, price: toDecimal(sale.price).minus(toDecimal(sale.customerRefundTotal)) }))
    .filter((sale) => sale.price.greaterThan(0));
  const shop = await readShop(context);
  const { medianDate, pastDates } = await snowOutlook(context);
  return {
    today: context.today,
    currency: context.shop.currency,
    tax: taxSchemeOf(shop),
    comparables: [
      ...seen.map((one): SeenPrice => ({
        ...traitsOf(one),
        id: one.id,
        priceKind: one.priceKind,
        price: toDecimal(one.price),
        seenDate: asDay(one.seenDate),
      })),
      ...sales.map(({ id, price, taxScheme, taxCollected, soldDate, condition, equipment, job }): SeenPrice => ({
        // As it left: what it had fitted is kept with the sale.
        ...traitsOf({ ...job.machine, condition, equipment }),
        id,
        priceKind: 'sold',
        // Comparables are of what buyers hand over: sales tax came on top of the shop's own prices, margin-scheme tax lay inside them.
        price: taxScheme === 'salesTax' ? price.plus(toDecimal(taxCollected)) : price,
        seenDate: asDay(soldDate),
      })),
    ],
    listings: await readListings(context, since),
    enquiryElasticity: toDecimal(shop.enquiryElasticity).toNumber(),
    snowKinds,
    firstSnows: [...pastDates.filter((date) => date !== medianDate), ...(medianDate === null ? [] : [medianDate])],
    seasonEndMonthDay: shop.seasonEndMonthDay,
  };
}

type MachineRow = Pick<
  MachineTraits,
  'kind' | 'maker' | 'model' | 'condition' | 'yearEstimate' | 'clearingWidthMillimetres'
> & { equipment: unknown };

/** What of a record bears on a price. */
export const traitsOf = (row: MachineRow): MachineTraits => ({
  kind: row.kind,
  maker: row.maker,
  model: row.model,
  condition: row.condition,
  yearEstimate: row.yearEstimate,
  clearingWidthMillimetres: row.clearingWidthMillimetres,
  equipmentBalance: equipmentBalance(row.equipment),
});

/** The shop's own machines on offer, past and standing: the asks as they stood, the offers that came, how each ended. */
async function readListings(context: OperationContext, since: Date): Promise<OwnListing[]> {
  const offers = await context.tx.offer.findMany({
    where: { offeredDate: { gte: since } },
    include: {
      askChanges: { orderBy: [{ fromDate: 'asc' }, { id: 'asc' }] },
      job: {
        select: {
          scope: true,
          machine: true,
          sales: { where: { reversedDate: null }, select: { soldDate: true, price: true } },
          buyerOffers: { select: { offeredDate: true, amount: true } },
        },
      },
    },
  });
  const first = await context.tx.buyerOffer.findFirst({
    orderBy: { offeredDate: 'asc' },
    select: { offeredDate: true },
  });
  return offers.map(({ askChanges, offeredDate, withdrawnDate, askPrice, job }): OwnListing => {
    const from = asDay(offeredDate);
    const to = withdrawnDate ? asDay(withdrawnDate) : context.today;
    const sale = withdrawnDate && job.sales.find(({ soldDate }) => asDay(soldDate) === to);
    return {
      machine: { ...traitsOf(job.machine), condition: leavingCondition(job.scope, job.machine.condition) },
      record: {
        asks:
          askChanges.length > 0
            ? askChanges.map((change) => ({ from: asDay(change.fromDate), ask: Number(change.askPrice) }))
            : [{ from, ask: Number(askPrice) }],
        to,
        offers: job.buyerOffers
          .map((offer) => ({ on: asDay(offer.offeredDate), amount: Number(offer.amount) }))
          .filter(({ on }) => on >= from && on <= to),
        // A shop that has begun to record offers is taken to record them all from then on.
        offersRecorded: first !== null && from >= asDay(first.offeredDate),
        sale: sale && Number(sale.price) > 0 ? { on: to, price: Number(sale.price) } : null,
      },
    };
  });
}

/** How the standing offer of each job has gone so far, by job id. */
export async function readOpenListings(
  context: OperationContext,
  jobIds: readonly string[],
): Promise<Map<string, ListingRecord & { ask: Decimal }>> {
  const offers = await context.tx.offer.findMany({
    where: { jobId: { in: [...jobIds] }, withdrawnDate: null },
    include: {
      askChanges: { orderBy: [{ fromDate: 'asc' }, { id: 'asc' }] },
      job: { select: { buyerOffers: { select: { offeredDate: true, amount: true } } } },
    },
  });
  const first = await context.tx.buyerOffer.findFirst({
    orderBy: { offeredDate: 'asc' },
    select: { offeredDate: true },
  });
  return new Map(
    offers.map(({ jobId, askChanges, offeredDate, askPrice, job }) => [
      jobId,
      {
        ask: toDecimal(askPrice),
        asks: askChanges.map((change) => ({ from: asDay(change.fromDate), ask: Number(change.askPrice) })),
        to: context.today,
        offers: job.buyerOffers
          .map((offer) => ({ on: asDay(offer.offeredDate), amount: Number(offer.amount) }))
          .filter(({ on }) => on >= asDay(offeredDate)),
        offersRecorded: first !== null && asDay(offeredDate) >= asDay(first.offeredDate),
        sale: null,
      },
    ]),
  );
}

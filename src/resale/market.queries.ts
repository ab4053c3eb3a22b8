/** Prices seen elsewhere, prices made here, offers and the season, read for the price engine. */
import { snowKinds } from '../machines/machines.shapes.js';
import { addDays } from '../platform/days.js';
import { toDecimal } from '../platform/money.js';
import { asDate, asDay } from '../platform/operation/crud-operations.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { snowOutlook } from '../season/first-snow.queries.js';
import { readShop } from '../shop/shop.queries.js';
import { FINISHED_CONDITION, type Market } from './market.js';

/** Comparables older than this tell little of today's prices. */
const YEARS_BACK = 5;

/** Five statements and the station's, whatever is asked. */
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
  const offers = await context.tx.offer.findMany({
    where: { offeredDate: { gte: since } },
    include: {
      job: {
        select: {
          machine: { select: { kind: true } },
          sales: { where: { reversedDate: null }, select: { soldDate: true } },
        },
      },
    },
  });
  const { medianDate } = await snowOutlook(context);
  const { seasonEndMonthDay } = await readShop(context);
  return {
    comparables: [
      ...seen.map((one) => ({
        id: one.id,
        kind: one.kind,
        maker: one.maker,
        model: one.model,
        condition: one.condition,
        yearEstimate: one.yearEstimate,
        clearingWidthMillimetres: one.clearingWidthMillimetres,
        priceKind: one.priceKind,
        price: toDecimal(one.price),
        seenDate: asDay(one.seenDate),
        distanceKilometres: one.distanceKilometres?.toString() ?? null,
      })),
      ...sales.map(({ id: saleId, price, taxScheme, taxCollected, soldDate, job: { machine } }) => ({
        id: saleId,
        kind: machine.kind,
        maker: machine.maker,
        model: machine.model,
        condition: FINISHED_CONDITION,
        yearEstimate: machine.yearEstimate,
        clearingWidthMillimetres: machine.clearingWidthMillimetres,
        priceKind: 'sold' as const,
        // Comparables are of what buyers hand over: sales tax came on top of the shop's own prices, margin-scheme tax lay inside them.
        price: taxScheme === 'salesTax' ? price.plus(toDecimal(taxCollected)) : price,
        seenDate: asDay(soldDate),
        distanceKilometres: 0,
      })),
    ],
    offers: offers.map((offer) => ({
      kind: offer.job.machine.kind,
      from: asDay(offer.offeredDate),
      to: offer.withdrawnDate ? asDay(offer.withdrawnDate) : context.today,
      sold:
        offer.withdrawnDate !== null &&
        offer.job.sales.some((sale) => asDay(sale.soldDate) === asDay(offer.withdrawnDate!)),
    })),
    snowKinds,
    snowPeakMonthDay: medianDate === null ? null : medianDate.slice(5),
    seasonEndMonthDay,
  };
}

/** Prices seen elsewhere, prices made here, offers and the season, read for the price engine. */
import { snowKinds } from '../machines/machines.shapes.js';
import { addDays } from '../platform/days.js';
import { figure } from '../platform/money.js';
import type { Call } from '../platform/operation/operation.js';
import { asDate, asDay } from '../platform/operation/crud-operations.js';
import { snowOutlook } from '../season/first-snow.queries.js';
import { readShop } from '../shop/shop.queries.js';
import { FINISHED_CONDITION, type Market } from './market.js';

/** Comparables older than this tell little of today's prices. */
const YEARS_BACK = 5;

/** Five statements and the station's, whatever is asked. */
export async function readMarket(call: Call): Promise<Market> {
  const since = asDate(addDays(call.today, -365 * YEARS_BACK));
  const seen = await call.tx.comparable.findMany({ where: { retiredAt: null, seenOn: { gte: since } } });
  const sold = await call.tx.sale.findMany({
    where: { reversedOn: null, returnedOn: null, soldOn: { gte: since } },
    include: { job: { select: { machine: true } } },
  });
  // A price is what the buyer finally paid; what was given away says nothing of prices.
  const sales = sold
    .map((sale) => ({ ...sale, price: figure(sale.price).minus(figure(sale.repaid)) }))
    .filter((sale) => sale.price.greaterThan(0));
  const offers = await call.tx.offer.findMany({
    where: { offeredOn: { gte: since } },
    include: {
      job: {
        select: {
          machine: { select: { kind: true } },
          sales: { where: { reversedOn: null }, select: { soldOn: true } },
        },
      },
    },
  });
  const { medianDay } = await snowOutlook(call);
  const { seasonEndsOn } = await readShop(call);
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
        price: figure(one.price),
        seenOn: asDay(one.seenOn),
        distanceKilometres: one.distanceKilometres?.toString() ?? null,
      })),
      ...sales.map(({ id: saleId, price, taxScheme, taxCollected, soldOn, job: { machine } }) => ({
        id: saleId,
        kind: machine.kind,
        maker: machine.maker,
        model: machine.model,
        condition: FINISHED_CONDITION,
        yearEstimate: machine.yearEstimate,
        clearingWidthMillimetres: machine.clearingWidthMillimetres,
        priceKind: 'sold' as const,
        // Comparables are of what buyers hand over: sales tax came on top of the shop's own prices, margin-scheme tax lay inside them.
        price: taxScheme === 'salesTax' ? price.plus(figure(taxCollected)) : price,
        seenOn: asDay(soldOn),
        distanceKilometres: 0,
      })),
    ],
    offers: offers.map((offer) => ({
      kind: offer.job.machine.kind,
      from: asDay(offer.offeredOn),
      to: offer.withdrawnOn ? asDay(offer.withdrawnOn) : call.today,
      sold:
        offer.withdrawnOn !== null && offer.job.sales.some((sale) => asDay(sale.soldOn) === asDay(offer.withdrawnOn!)),
    })),
    snowKinds,
    snowPeakOn: medianDay === null ? null : medianDay.slice(5),
    seasonEndsOn,
  };
}

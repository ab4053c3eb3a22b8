/** What hours and space cost, from which day on. */
import { RateHistory } from '../engine/money/index.js';
import { toDecimal } from '../platform/money.js';
import { asDay } from '../platform/operation/columns.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { readShop } from '../shop/shop.queries.js';

/** Before anything was changed, what they cost now. */
export async function ratesOf(context: OperationContext): Promise<RateHistory> {
  const rows = await context.tx.shopRate.findMany({ orderBy: { fromDate: 'asc' } });
  const shop = await readShop(context);
  return new RateHistory(
    rows.length > 0
      ? rows.map(({ fromDate, hourlyValue, spaceCostPerDay }) => ({
          from: asDay(fromDate),
          hourlyValue: toDecimal(hourlyValue),
          spaceCostPerDay: toDecimal(spaceCostPerDay),
        }))
      : [
          {
            from: '0001-01-01',
            hourlyValue: toDecimal(shop.hourlyValue),
            spaceCostPerDay: toDecimal(shop.spaceCostPerDay),
          },
        ],
  );
}

/** What a tax period comes to, by scheme: item by item, and by global accounting with what was carried forward. */
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { purchaseOfMachines } from '../cost/purchase.queries.js';
import { TAX_CAUTION } from '../cost/tax-scheme.js';
import { at, lookUp } from '../engine/look-up.js';
import { marginSchemeGlobal } from '../engine/money/index.js';
import { addDays } from '../platform/days.js';
import { toDecimal } from '../platform/money.js';
import { asDay } from '../platform/operation/columns.js';
import { type OperationContext, priceReaders, query } from '../platform/operation/operation.js';
import { int } from '../platform/shapes.js';
import { readShop } from '../shop/shop.queries.js';
import { TaxYear } from './business.shapes.js';

const ZERO = new Decimal(0);
const sumOf = (amounts: readonly Decimal[]): Decimal => Decimal.sum(ZERO, ...amounts);

interface Taxed {
  scheme: 'none' | 'salesTax' | 'marginScheme';
  date: string;
  amount: Decimal;
  tax: Decimal;
}
export interface TaxRecords {
  sales: Taxed[];
  purchases: { date: string; amount: Decimal }[];
}

/** Every sale of a machine or of parts that stands, and every purchase that stays in the trading stock. Five statements. */
export async function taxedSales(context: OperationContext): Promise<TaxRecords> {
  const machineSales = await context.tx.sale.findMany({ where: { reversedDate: null } });
  const partSales = await context.tx.partSale.findMany({ where: { reversedDate: null } });
  const acquired = await context.tx.acquisition.findMany({
    where: { archivedAt: null },
    select: { price: true, acquiredDate: true, machines: { select: { id: true, disposition: true } } },
  });
  const kept = acquired.flatMap(({ machines }) =>
    machines.filter(({ disposition }) => disposition === 'keep').map(({ id }) => id),
  );
  const prices = await purchaseOfMachines(context, kept);
  return {
    sales: [
      ...machineSales.map((sale) => ({
        scheme: sale.taxScheme,
        date: asDay(sale.soldDate),
        amount: toDecimal(sale.price).minus(toDecimal(sale.customerRefundTotal)),
        tax: toDecimal(sale.taxCollected),
      })),
      ...partSales.map((sale) => ({
        scheme: sale.taxScheme,
        date: asDay(sale.soldDate),
        amount: toDecimal(sale.price),
        tax: toDecimal(sale.taxCollected),
      })),
    ],
    // What the owner keeps has left the trading stock at cost.
    purchases: acquired.map(({ price, acquiredDate, machines }) => ({
      date: asDay(acquiredDate),
      amount: machines
        .filter(({ disposition }) => disposition === 'keep')
        .reduce((rest, { id }) => rest.minus(lookUp(prices, id).price), toDecimal(price)),
    })),
  };
}

/** By the scheme each sale was made under; a scheme without a sale is left out. */
export function taxTotals({ sales, purchases }: TaxRecords, from: string, to: string) {
  const within = ({ date }: { date: string }): boolean => date >= from && date <= to;
  const purchasesAmount = sumOf(purchases.filter(within).map(({ amount }) => amount));
  return (['none', 'salesTax', 'marginScheme'] as const).flatMap((scheme) => {
    const its = sales.filter((sale) => sale.scheme === scheme && within(sale));
    if (its.length === 0) return [];
    return [
      {
        scheme,
        sales: its.length,
        salesAmount: sumOf(its.map(({ amount }) => amount)),
        taxAmount: sumOf(its.map(({ tax }) => tax)),
        purchasesAmount,
      },
    ];
  });
}

/** First and last days of periods of so many months from a year's January to the end of another year. */
function periodsOf(firstYear: number, lastYear: number, months: number): { from: string; to: string }[] {
  const start = (index: number): string => {
    const year = firstYear + Math.floor(index / 12);
    return `${year}-${String((index % 12) + 1).padStart(2, '0')}-01`;
  };
  const count = ((lastYear - firstYear + 1) * 12) / months;
  return Array.from({ length: count }, (_, k) => ({
    from: start(k * months),
    to: addDays(start((k + 1) * months), -1),
  }));
}

export const taxPeriodQueries = [
  query({
    name: 'taxPeriods',
    summary: 'The tax periods of a year by scheme: what was sold, bought and is due',
    roles: priceReaders,
    rest: { method: 'GET', path: '/tax-periods' },
    input: z.strictObject({
      year: int(1970, 2200).nullish().meta({ scalar: 'Int', description: 'This year unless given.' }),
    }),
    output: TaxYear,
    async run(context, input) {
      const year = input.year ?? Number(context.today.slice(0, 4));
      const shop = await readShop(context);
      const { currency } = context.shop;
      const records = await taxedSales(context);
      const first = [...records.sales, ...records.purchases].map(({ date }) => Number(date.slice(0, 4)));
      const periods = periodsOf(Math.min(year, ...first), year, shop.taxPeriodMonths);
      const margin = { ...records, sales: records.sales.filter(({ scheme }) => scheme === 'marginScheme') };
      const isWithin = (period: { from: string; to: string }) => (one: { date: string }) =>
        one.date >= period.from && one.date <= period.to;
      const settled = marginSchemeGlobal(
        periods.map((period) => ({
          sales: sumOf(margin.sales.filter(isWithin(period)).map(({ amount }) => amount)),
          purchases: sumOf(records.purchases.filter(isWithin(period)).map(({ amount }) => amount)),
        })),
        toDecimal(shop.taxRatePercent),
        currency,
      );
      return {
        year,
        periods: periods.flatMap((period, index) => {
          if (period.from.slice(0, 4) !== String(year).padStart(4, '0')) return [];
          const global = at(settled, index);
          const totals = taxTotals(records, period.from, period.to);
          const taxOf = (scheme: string): Decimal => totals.find((one) => one.scheme === scheme)?.taxAmount ?? ZERO;
          const itemMarginTax = taxOf('marginScheme');
          const isGlobal = shop.taxScheme === 'marginScheme' && shop.marginAccounting === 'global';
          return [
            {
              ...period,
              isOver: period.to < context.today,
              totals,
              openingExcess: index === 0 ? ZERO : at(settled, index - 1).carriedForward,
              globalMargin: global.margin,
              globalMarginTax: global.tax,
              carriedForward: global.carriedForward,
              itemMarginTax,
              taxDue: taxOf('salesTax').plus(isGlobal ? global.tax : itemMarginTax),
              reasons: [
                isGlobal
                  ? 'Global accounting: all sales under the margin scheme less all purchases, an excess carried forward; ' +
                    'the tax booked with each sale is its own margin only'
                  : 'Tax on the margin item by item: a loss is not set against another machine',
                TAX_CAUTION,
              ],
            },
          ];
        }),
      };
    },
  }),
];

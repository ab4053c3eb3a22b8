/** Several parts sold to one buyer on one invoice: sales tax on each line or on the sum, as the shop's setting says. */
import { randomUUID } from 'node:crypto';
import { Decimal } from 'decimal.js';
import type { z } from 'zod';
import { TAX_CAUTION, taxSchemeOf } from '../cost/tax-scheme.js';
import { at } from '../engine/look-up.js';
import { allocate, salesTax } from '../engine/money/index.js';
import { Invalid } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import { command, type OperationContext } from '../platform/operation/operation.js';
import { readShop } from '../shop/shop.queries.js';
import { PartInvoice, PartInvoiceCreate } from './after-sale.shapes.js';
import { sellParts, withMargin } from './part-sales.operations.js';

/** What each line bears of the sales tax, adding up to the invoice's. */
function taxOfLines(prices: readonly Decimal[], rate: Decimal.Value, basis: 'item' | 'invoice', currency: string) {
  const { perItem, tax } = salesTax(prices, rate, basis, currency);
  if (basis === 'item') return perItem;
  return tax.isZero() ? prices.map(() => new Decimal(0)) : allocate(tax, prices, currency, 'lines');
}

async function sellOnInvoice(context: OperationContext, input: z.output<typeof PartInvoiceCreate>) {
  const { currency } = context.shop;
  const shop = await readShop(context);
  const scheme = taxSchemeOf(shop);
  const prices = input.lines.map(({ price }, index) => checkAmount(price, currency, `/lines/${index}/price`));
  const twice = input.lines.findIndex(({ stockId }, index) =>
    input.lines.some((other, before) => before < index && other.stockId === stockId),
  );
  if (twice >= 0)
    throw new Invalid([
      { detail: 'is on the invoice already: put them on one line', pointer: `/lines/${twice}/stockId` },
    ]);
  const taxes =
    scheme.kind === 'salesTax' ? taxOfLines(prices, scheme.ratePercent, shop.salesTaxBasis, currency) : null;
  const invoiceId = randomUUID();
  const rows = [];
  // Bins are held in the order of their ids, so that two invoices do not wait for each other.
  for (const { line, index } of input.lines
    .map((line, index) => ({ line, index }))
    .sort((a, b) => (a.line.stockId < b.line.stockId ? -1 : 1))) {
    const { lines: _, ...shared } = input;
    const row = await sellParts(
      context,
      { ...shared, ...line, sellingCost: '0' },
      { invoiceId, tax: taxes && at(taxes, index), pointer: `/lines/${index}` },
    );
    rows[index] = row;
  }
  const lines = await withMargin(context, rows);
  const total = Decimal.sum(...prices);
  const tax = Decimal.sum(...lines.map((line) => line.taxCollected.toString()));
  return {
    invoiceId,
    lines,
    total,
    tax,
    amountDue: scheme.kind === 'salesTax' ? total.plus(tax) : total,
    reasons: [
      scheme.kind === 'salesTax'
        ? shop.salesTaxBasis === 'item'
          ? 'sales tax is rounded on each line'
          : 'sales tax is rounded once on the sum of the lines'
        : scheme.kind === 'marginScheme'
          ? 'tax on the margin lies inside each price and must not be shown on the invoice'
          : 'no tax on sales',
      TAX_CAUTION,
    ],
  };
}

export const partInvoiceOperations = [
  command({
    name: 'createPartInvoice',
    summary: 'Sell parts out of several bins to one buyer on one invoice, all or none',
    rest: { method: 'POST', path: '/part-invoices', status: 201 },
    input: PartInvoiceCreate,
    output: PartInvoice,
    run: sellOnInvoice,
  }),
];

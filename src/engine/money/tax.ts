import { Decimal } from 'decimal.js';
import { EngineError } from '../error.js';
import { type Amount, plain, readAmount, readDecimal, roundAmount, total, Wide } from './amount.js';

/** How a sale is taxed. Rates are percents: 6.25 means 6.25 %. */
export type TaxScheme =
  | { kind: 'none' }
  /** Added to the price and passed on to the state. */
  | { kind: 'salesTax'; ratePercent: Decimal.Value; basis?: 'item' | 'invoice' }
  /** Second-hand goods: contained in the price and owed on the difference to the purchase price. */
  | { kind: 'marginScheme'; ratePercent: Decimal.Value };

/**
 * Sales tax on prices, rounded as the statutes say: carried to the third decimal of the main unit and rounded up when
 * that digit exceeds four, which is half up on the exact product; per item or once on the invoice's sum (R.I. Gen.
 * Laws §44-18.1-25; N.D.C.C. 57-39.4-25; K.S.A. 79-3676; M.G.L. c.64I §5). A refund mirrors its sale.
 * @returns tax of each item on the item basis (empty on the invoice basis) and in all
 */
export function salesTax(
  prices: readonly Amount[],
  ratePercent: Decimal.Value,
  basis: 'item' | 'invoice',
  currency: string,
): { perItem: Decimal[]; tax: Decimal } {
  const rate = readRate(ratePercent);
  const amounts = prices.map((price, index) => readAmount(price, currency, `prices/${index}`, 'any'));
  const taxOn = (amount: Decimal): Decimal => roundAmount(rate.times(amount).div(100), currency, 'halfUp');
  if (basis === 'invoice') return { perItem: [], tax: taxOn(total(amounts)) };
  const perItem = amounts.map(taxOn);
  return { perItem, tax: total(perItem) };
}

export interface MarginSchemeItem {
  margin: Decimal;
  /** Contained in the selling price; zero when the item made no margin. */
  tax: Decimal;
  /** The margin less the tax in it: the taxable amount (Directive 2006/112/EC art. 315). */
  taxableAmount: Decimal;
}

/**
 * Second-hand margin scheme, item by item: the tax is the VAT fraction r/(100 + r) of selling price less purchase
 * price, both with tax in them (Directive 2006/112/EC art. 312, 313, 315). A loss owes nothing and is not set against
 * another item. What refurbishing cost is no part of the purchase price; tax on parts is reclaimed in the ordinary way.
 */
export function marginSchemeItem(
  purchasePrice: Amount,
  sellingPrice: Amount,
  ratePercent: Decimal.Value,
  currency: string,
): MarginSchemeItem {
  const bought = readAmount(purchasePrice, currency, 'purchasePrice');
  const sold = readAmount(sellingPrice, currency, 'sellingPrice');
  const margin = plain(sold.minus(bought));
  const tax = taxInMargin(margin, readRate(ratePercent), currency);
  return { margin, tax, taxableAmount: margin.isNegative() ? new Decimal(0) : plain(margin.minus(tax)) };
}

export interface MarginSchemePeriod {
  purchases: Amount;
  sales: Amount;
}

export interface MarginSchemeSettled {
  margin: Decimal;
  tax: Decimal;
  /** Excess purchases taken into the next period's purchases. */
  carriedForward: Decimal;
}

/**
 * Second-hand margin scheme, global accounting: per period all sales less all purchases and less what the period
 * before carried forward; an excess of purchases owes nothing and is carried forward (SI 1995/1268 art. 13(3)–(6),
 * quoted in HMRC VATMARG03050). Which goods may use it, and the limit per item, is for the shop to know.
 * @param opening excess purchases carried into the first period
 */
export function marginSchemeGlobal(
  periods: readonly MarginSchemePeriod[],
  ratePercent: Decimal.Value,
  currency: string,
  opening: Amount = '0',
): MarginSchemeSettled[] {
  const rate = readRate(ratePercent);
  let carried = readAmount(opening, currency, 'opening');
  return periods.map((period, index) => {
    const sales = readAmount(period.sales, currency, `periods/${index}/sales`);
    const purchases = readAmount(period.purchases, currency, `periods/${index}/purchases`);
    const margin = plain(sales.minus(purchases).minus(carried));
    carried = margin.isNegative() ? plain(margin.negated()) : new Decimal(0);
    return { margin, tax: taxInMargin(margin, rate, currency), carriedForward: carried };
  });
}

/** What one sale brings under a scheme. */
export interface TaxedSale {
  /** What the buyer hands over. */
  buyerPays: Decimal;
  tax: Decimal;
  /** What is left for the shop, before its own costs. */
  netProceeds: Decimal;
  /** Whether the invoice states the tax; under the margin scheme it must not. */
  showsTax: boolean;
  reasons: string;
}

/**
 * One machine sold at an agreed price: what the buyer pays, what is owed, what remains.
 * @param price the price agreed: without tax under `salesTax`, with it under `marginScheme`
 * @param purchasePrice what was paid for the machine itself; what refurbishing cost does not count
 * @throws EngineError `unknown-scheme`, `bad-rate`, and as `parseAmount`
 */
export function taxOnSale(scheme: TaxScheme, price: Amount, purchasePrice: Amount, currency: string): TaxedSale {
  const agreed = readAmount(price, currency, 'price');
  switch (scheme.kind) {
    case 'none':
      return {
        buyerPays: agreed,
        tax: new Decimal(0),
        netProceeds: agreed,
        showsTax: false,
        reasons: 'no tax on sales',
      };
    case 'salesTax': {
      const { tax } = salesTax([agreed], scheme.ratePercent, scheme.basis ?? 'invoice', currency);
      return {
        buyerPays: plain(agreed.plus(tax)),
        tax,
        netProceeds: agreed,
        showsTax: true,
        reasons: `sales tax of ${readRate(scheme.ratePercent).toFixed()} % comes on top of the price and is passed on`,
      };
    }
    case 'marginScheme': {
      const { margin, tax } = marginSchemeItem(purchasePrice, agreed, scheme.ratePercent, currency);
      return {
        buyerPays: agreed,
        tax,
        netProceeds: plain(agreed.minus(tax)),
        showsTax: false,
        reasons: tax.isZero()
          ? 'margin scheme: no margin over the purchase price, so nothing is owed, and a loss is not set against another machine'
          : `margin scheme: ${tax.toFixed()} ${currency} is contained in the margin of ${margin.toFixed()} over the purchase price`,
      };
    }
    default:
      throw new EngineError(
        'unknown-scheme',
        `${JSON.stringify((scheme as TaxScheme).kind)} is not a tax scheme`,
        'scheme',
      );
  }
}

/** @throws EngineError `bad-rate` outside 0 to 100 percent */
export function readRate(ratePercent: Decimal.Value): Decimal {
  const rate = readDecimal(ratePercent, 'a tax rate in percent', 'ratePercent');
  if (rate.greaterThan(100))
    throw new EngineError('bad-rate', `a tax rate of ${rate.toFixed()} % is out of range`, 'ratePercent');
  return rate;
}

function taxInMargin(margin: Decimal, rate: Decimal, currency: string): Decimal {
  if (margin.isNegative()) return new Decimal(0);
  return roundAmount(new Wide(margin).times(rate).div(rate.plus(100)), currency, 'halfUp');
}

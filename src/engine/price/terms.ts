import { Decimal } from 'decimal.js';
import { EngineError } from '../error.js';
import { type Amount, minorUnits, parseAmount, roundAmount, taxOnSale, type TaxScheme } from '../money/index.js';

/** What a sale costs the shop: tax, fees, the run to the buyer. */
export interface SellingTerms {
  tax: TaxScheme;
  /** Paid for the machine itself, haul apart: what a margin scheme computes from. */
  purchasePrice: Amount;
  /** Cost of selling whatever the price. */
  fixedCost?: Amount;
  /** Cost of selling in percent of the price, such as a marketplace's fee. */
  percentCost?: Decimal.Value;
}

/** What a sale at an agreed price leaves after tax and the costs of selling. May be negative. */
export function netOfSale(price: Amount, terms: SellingTerms, currency: string): Decimal {
  const percent = readPercent(terms.percentCost);
  const { netProceeds } = taxOnSale(terms.tax, price, terms.purchasePrice, currency);
  const agreed = typeof price === 'string' ? parseAmount(price, currency) : price;
  const fixed = terms.fixedCost === undefined ? new Decimal(0) : new Decimal(terms.fixedCost);
  return netProceeds.minus(fixed).minus(roundAmount(agreed.times(percent).div(100), currency));
}

/**
 * `netOfSale` as a function of numbers, for the many prices an expectation runs over: the same but for the rounding of
 * each single sale to the minor unit.
 * @param terms.purchasePrice what a margin scheme starts from; the second argument of the function takes its place
 */
export function netFunction(terms: SellingTerms, currency: string): (price: number, purchasePrice?: number) => number {
  const purchase = Number(terms.purchasePrice);
  const fixed = Number(terms.fixedCost ?? 0);
  const percent = Number(terms.percentCost ?? 0) / 100;
  // Checks the terms once, as each sale would.
  netOfSale(new Decimal(1), terms, currency);
  const { tax } = terms;
  const inMargin = tax.kind === 'marginScheme' ? Number(tax.ratePercent) / (100 + Number(tax.ratePercent)) : 0;
  return (price, purchasePrice = purchase) =>
    price - inMargin * Math.max(0, price - purchasePrice) - fixed - percent * price;
}

/**
 * The lowest price that leaves at least `target` after tax and costs of selling; exact, by bisection on minor units.
 * @throws EngineError `out-of-reach` when no price within the limit of amounts does
 */
export function priceForNet(target: Decimal.Value, terms: SellingTerms, currency: string): Decimal {
  const unit = new Decimal(10).pow(-minorUnits(currency));
  const enough = (units: Decimal): boolean =>
    netOfSale(units.times(unit), terms, currency).greaterThanOrEqualTo(target);
  let low = new Decimal(0);
  if (enough(low)) return new Decimal(0);
  let high = new Decimal(1);
  while (!enough(high)) {
    high = high.times(2);
    if (high.times(unit).greaterThan('1e11'))
      throw new EngineError('out-of-reach', `no price leaves ${new Decimal(target).toFixed()} ${currency}`);
  }
  while (high.minus(low).greaterThan(1)) {
    const middle = low.plus(high).div(2).floor();
    if (enough(middle)) high = middle;
    else low = middle;
  }
  return high.times(unit);
}

/** What the buyer hands over for each unit of the agreed price: more than one when sales tax comes on top. */
export function outlayFactor(tax: TaxScheme): Decimal {
  return tax.kind === 'salesTax' ? new Decimal(tax.ratePercent).div(100).plus(1) : new Decimal(1);
}

/** The price that is agreed on when the buyer hands over so much in all: an estimate tells what buyers pay, tax and all. */
export function agreedPrice(outlay: Decimal.Value, tax: TaxScheme, currency: string): Decimal {
  return roundAmount(new Decimal(outlay).div(outlayFactor(tax)), currency);
}

function readPercent(percentCost: Decimal.Value | undefined): Decimal {
  const percent = new Decimal(percentCost ?? 0);
  if (!percent.isFinite() || percent.isNegative() || percent.greaterThanOrEqualTo(100)) {
    throw new EngineError(
      'bad-number',
      `a selling cost of ${percent.toString()} % of the price is out of range`,
      'percentCost',
    );
  }
  return percent;
}

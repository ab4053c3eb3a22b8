import { Decimal } from 'decimal.js';
import { netOfSale, type SellingTerms } from './terms.js';

/**
 * `netOfSale` as a function of numbers, for the many prices an expectation runs over: the same but for the rounding of
 * each single sale to the minor unit.
 * @param terms.purchasePrice what a margin scheme starts from
 */
export function netFunction(terms: SellingTerms, currency: string): (price: number) => number {
  const purchase = Number(terms.purchasePrice);
  const fixed = Number(terms.fixedCost ?? 0);
  const percent = Number(terms.percentCost ?? 0) / 100;
  // Checks the terms once, as each sale would.
  netOfSale(new Decimal(1), terms, currency);
  const { tax } = terms;
  const inMargin = tax.kind === 'marginScheme' ? Number(tax.ratePercent) / (100 + Number(tax.ratePercent)) : 0;
  return (price) => price - inMargin * Math.max(0, price - purchase) - fixed - percent * price;
}

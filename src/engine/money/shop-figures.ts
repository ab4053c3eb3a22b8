import { Decimal } from 'decimal.js';
import { EngineError } from '../error.js';
import { type Amount, plain, readAmount, readDecimal, roundAmount, Wide } from './amount.js';

/**
 * A rate by which a yearly cost is charged to jobs, such as rent by days in the shop: estimated cost ÷ estimated base
 * (days, hours, amount of labour). Six decimals: a rate, not an amount.
 * @throws EngineError `bad-number` for a base of zero
 */
export function overheadRate(estimatedCost: Amount, estimatedBase: Decimal.Value, currency: string): Decimal {
  const base = readDecimal(estimatedBase, 'the base of a rate', 'estimatedBase');
  if (base.isZero()) throw new EngineError('bad-number', 'the base of a rate must be above zero', 'estimatedBase');
  return plain(new Wide(readAmount(estimatedCost, currency, 'estimatedCost')).div(base).toDecimalPlaces(6));
}

/** Actual cost less what the rate charged to jobs: positive when the jobs bore too little. */
export function underApplied(
  actualCost: Amount,
  rate: Decimal.Value,
  actualBase: Decimal.Value,
  currency: string,
): Decimal {
  const applied = roundAmount(
    readDecimal(rate, 'a rate', 'rate').times(readDecimal(actualBase, 'the base of a rate', 'actualBase')),
    currency,
  );
  return plain(readAmount(actualCost, currency, 'actualCost').minus(applied));
}

export interface BreakEven {
  /** Price less variable cost of one machine. */
  contribution: Decimal;
  /** Contribution ÷ price. */
  contributionRatio: Decimal;
  /** Machines to sell so that contributions cover the fixed costs and the profit wanted, not rounded. */
  units: Decimal;
  /** The same in whole machines, rounded up. */
  wholeUnits: number;
  sales: Decimal;
}

/**
 * How many machines at one price cover the fixed costs of a season, and a profit wanted on top of them.
 * @param variableCost what one more machine costs
 * @param profit wanted before income tax; default none
 * @throws EngineError `no-contribution` when a machine brings no more than it costs
 */
export function breakEven(
  price: Amount,
  variableCost: Amount,
  fixedCosts: Amount,
  currency: string,
  profit: Amount = '0',
): BreakEven {
  const each = readAmount(price, currency, 'price');
  const contribution = plain(each.minus(readAmount(variableCost, currency, 'variableCost')));
  if (!contribution.greaterThan(0))
    throw new EngineError(
      'no-contribution',
      'a machine sold at this price brings no more than it costs, so no number of them covers anything',
      'price',
    );
  const wanted = readAmount(fixedCosts, currency, 'fixedCosts').plus(readAmount(profit, currency, 'profit'));
  const units = new Wide(wanted).div(contribution);
  return {
    contribution,
    contributionRatio: plain(new Wide(contribution).div(each).toDecimalPlaces(6)),
    units: plain(units.toDecimalPlaces(6)),
    wholeUnits: units.ceil().toNumber(),
    sales: roundAmount(units.times(each), currency),
  };
}

/**
 * Return on the money tied up: income ÷ mean of opening and closing assets, as margin × turnover, plain ratios.
 * @throws EngineError `bad-number` without sales or assets
 */
export function returnOnInvestment(
  income: Amount,
  sales: Amount,
  assets: { opening: Amount; closing: Amount },
  currency: string,
): { margin: Decimal; turnover: Decimal; return: Decimal } {
  const earned = readAmount(income, currency, 'income', 'any');
  const sold = readAmount(sales, currency, 'sales');
  const tied = readAmount(assets.opening, currency, 'assets/opening')
    .plus(readAmount(assets.closing, currency, 'assets/closing'))
    .div(2);
  if (sold.isZero() || tied.isZero())
    throw new EngineError(
      'bad-number',
      'a return needs sales and assets above zero',
      sold.isZero() ? 'sales' : 'assets',
    );
  const ratio = (part: Decimal, whole: Decimal): Decimal => plain(new Wide(part).div(whole).toDecimalPlaces(6));
  return { margin: ratio(earned, sold), turnover: ratio(sold, tied), return: ratio(earned, tied) };
}

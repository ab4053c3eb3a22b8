import { Decimal } from 'decimal.js';
import { EngineError } from '../error.js';
import { allocate, allocateEqually } from './allocate.js';
import { type Amount, plain, readAmount, readDecimal, roundAmount, total } from './amount.js';

/** By relative value, or the same for each. */
export type SpreadMethod = 'byValue' | 'equal';

/**
 * What several machines cost that were bought together: price and haul over the machines, by relative value as found
 * or equally. By value is the rule for a lump sum (Treas. Reg. §1.61-6(a) Example (2)). A machine whose value nobody
 * stated counts as the mean of the others; when no value is known, or all are zero, the split is equal.
 * @param values value as found of each machine, `null` when not stated
 * @returns one share per machine, adding up to the total exactly
 * @throws EngineError as `allocate`
 */
export function splitAcquisition(
  cost: Amount,
  method: SpreadMethod,
  values: readonly (Amount | null)[],
  currency: string,
): Decimal[] {
  const known = values
    .filter((value) => value !== null)
    .map((value) => readDecimal(value, 'a value as found', 'values'));
  const sum = total(known);
  if (method === 'equal' || sum.isZero()) return allocateEqually(cost, values.length, currency, 'values');
  // Times the count of the known instead of dividing the sum by it, so that the mean needs no rounding.
  const weights = values.map((value) => (value === null ? sum : new Decimal(value).times(known.length)));
  return allocate(cost, weights, currency, 'values');
}

/** A line of an order before its share of shipping and tax. */
export interface GoodsLine {
  quantity: Decimal.Value;
  unitPrice: Amount;
}

/** A line of an order with everything it cost to have it here. */
export interface LandedLine {
  goods: Decimal;
  shippingShare: Decimal;
  taxShare: Decimal;
  landed: Decimal;
  /** Landed cost of one, six decimals: a rate for costing issues, not an amount to add up. Zero for an empty line. */
  landedUnitCost: Decimal;
}

/**
 * Landed cost of order lines: shipping and tax spread over the lines to the minor unit, by the value of the goods or
 * equally; equally as well when all goods were free.
 * @returns the lines in order; their `landed` add up to goods + shipping + tax exactly
 * @throws EngineError `no-shares` for no lines with something to spread, `bad-number`, `bad-amount`, `negative-amount`
 */
export function landLines(
  lines: readonly GoodsLine[],
  extras: { shipping: Amount; tax: Amount; spread: SpreadMethod },
  currency: string,
): LandedLine[] {
  const shipping = readAmount(extras.shipping, currency, 'shipping');
  const tax = readAmount(extras.tax, currency, 'tax');
  if (lines.length === 0) {
    if (shipping.plus(tax).isZero()) return [];
    throw new EngineError('no-shares', 'shipping and tax have no line to rest on', 'lines');
  }
  const quantities = lines.map((line, index) => readDecimal(line.quantity, 'a quantity', `lines/${index}/quantity`));
  const goods = lines.map((line, index) =>
    roundAmount(
      quantities[index]!.times(readDecimal(line.unitPrice, 'a unit price', `lines/${index}/unitPrice`)),
      currency,
    ),
  );
  const byValue = extras.spread === 'byValue' && goods.some((amount) => !amount.isZero());
  const weights = byValue ? goods : goods.map(() => 1);
  const shippingShares = allocate(shipping, weights, currency, 'shipping');
  const taxShares = allocate(tax, weights, currency, 'tax');
  return goods.map((amount, index) => {
    const landed = total([amount, shippingShares[index]!, taxShares[index]!]);
    const quantity = quantities[index]!;
    return {
      goods: amount,
      shippingShare: shippingShares[index]!,
      taxShare: taxShares[index]!,
      landed,
      landedUnitCost: quantity.isZero() ? new Decimal(0) : plain(new Decimal(landed).div(quantity).toDecimalPlaces(6)),
    };
  });
}

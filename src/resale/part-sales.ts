/** What a sale of parts takes from the shop and leaves it. Pure. */
import { Decimal } from 'decimal.js';
import { roundAmount } from '../engine/money/index.js';
import { toDecimal } from '../platform/money.js';
import type { Stored } from '../platform/operation/stored.js';

type Figure = Parameters<typeof toDecimal>[0];

/** What so many of a bin stand for. */
export const basisOf = (unitCost: Figure, quantity: Figure, currency: string): Decimal =>
  roundAmount(toDecimal(unitCost).times(toDecimal(quantity)), currency);

/** What a sale of parts left after tax and its own costs. */
export const netOf = (
  sale: Pick<Stored<'partSale'>, 'price' | 'taxScheme' | 'taxCollected' | 'sellingCost'>,
): Decimal =>
  toDecimal(sale.price)
    .minus(sale.taxScheme === 'marginScheme' ? toDecimal(sale.taxCollected) : 0)
    .minus(toDecimal(sale.sellingCost));

/** What a sale of parts takes from the shop and leaves it. Pure. */
import { Decimal } from 'decimal.js';
import { roundAmount } from '../engine/money/index.js';
import { figure } from '../platform/money.js';
import type { Presentable } from '../platform/operation/operation.js';

type Figure = Parameters<typeof figure>[0];

/** What so many of a bin stand for. */
export const basisOf = (unitCost: Figure, quantity: Figure, currency: string): Decimal =>
  roundAmount(figure(unitCost).times(figure(quantity)), currency);

/** What a sale of parts left after tax and its own costs. */
export const netOf = (sale: Presentable): Decimal =>
  figure(sale.price)
    .minus(sale.taxScheme === 'marginScheme' ? figure(sale.taxCollected) : 0)
    .minus(figure(sale.sellingCost));

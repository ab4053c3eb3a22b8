/** How a shop or one of its sales is taxed, as the engine takes it. Pure. */
import type { TaxScheme } from '../engine/money/index.js';
import { toDecimal } from '../platform/money.js';

export function taxSchemeOf(of: {
  taxScheme: 'none' | 'salesTax' | 'marginScheme';
  taxRatePercent: { toString(): string };
}): TaxScheme {
  return of.taxScheme === 'none' ? { kind: 'none' } : { kind: of.taxScheme, ratePercent: toDecimal(of.taxRatePercent) };
}

/** Said beside every figure of tax. */
export const TAX_CAUTION =
  'Tax figures help to fill in a return and are no advice: ask the authority or an accountant which rules hold for the shop';

/** Amounts as they come in, with the engine's checks and their place in the input; and as they come out of the database. */
import { Decimal } from 'decimal.js';
import { EngineError } from '../engine/error.js';
import { parseAmount } from '../engine/money/index.js';
import { Invalid } from './errors.js';

/** A stored figure of whatever decimal class, for arithmetic; nothing counts as zero. */
export const toDecimal = (value: { toString(): string } | null | undefined): Decimal =>
  new Decimal(value?.toString() ?? 0);

/**
 * Zeros at the end are no finer an amount: "10.00" is ten yen.
 * @param text a decimal string
 * @param pointer its place in the input, as a JSON Pointer
 * @throws Invalid when it has more decimals than the currency has
 */
export function checkAmount(text: string, currency: string, pointer: string): Decimal {
  try {
    return parseAmount(text.replace(/\.0+$|(\.\d*[1-9])0+$/, '$1'), currency);
  } catch (error) {
    if (error instanceof EngineError) throw new Invalid([{ detail: error.message, pointer }], error.code);
    throw error;
  }
}

/** Amounts as they come in: the engine's checks, with their place in the input. */
import type { Decimal } from 'decimal.js';
import { EngineError } from '../engine/error.js';
import { parseAmount } from '../engine/money/index.js';
import { Invalid } from './errors.js';

/**
 * @param text a decimal string
 * @param pointer its place in the input, as a JSON Pointer
 * @throws Invalid when it has more decimals than the currency has
 */
export function checkAmount(text: string, currency: string, pointer: string): Decimal {
  try {
    return parseAmount(text, currency);
  } catch (error) {
    if (error instanceof EngineError) throw new Invalid([{ detail: error.message, pointer }], error.code);
    throw error;
  }
}

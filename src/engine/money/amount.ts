import { Decimal } from 'decimal.js';
import { EngineError } from '../error.js';
import { minorUnits } from './currency.js';

/** An amount of money on its way in: a Decimal or its text. Never a float. */
export type Amount = Decimal | string;

/** How the digits below the minor unit are dropped. */
export type RoundingMode = 'halfUp' | 'halfEven' | 'halfDown' | 'awayFromZero' | 'towardZero' | 'ceiling' | 'floor';

const DECIMAL_ROUNDING: Record<RoundingMode, Decimal.Rounding> = {
  halfUp: Decimal.ROUND_HALF_UP,
  halfEven: Decimal.ROUND_HALF_EVEN,
  halfDown: Decimal.ROUND_HALF_DOWN,
  awayFromZero: Decimal.ROUND_UP,
  towardZero: Decimal.ROUND_DOWN,
  ceiling: Decimal.ROUND_CEIL,
  floor: Decimal.ROUND_FLOOR,
};

/** Wide enough that a product of two amounts and a rate is exact before it is rounded once. */
export const Wide = Decimal.clone({ precision: 80, defaults: true });

/** Whole digits a written amount may have. No machine or part costs as much in any currency; a slip of the hand does. */
const MAX_WRITTEN_DIGITS = 9;
/** Whether an amount, as of older records, is larger than any that would be taken today. */
export const isBeyondWriting = (amount: Decimal): boolean =>
  amount.abs().greaterThanOrEqualTo(new Decimal(10).pow(MAX_WRITTEN_DIGITS));
/** Whole digits a sum may have, as many as a reply shows; the database keeps sixteen digits, four of them decimals. */
const MAX_WHOLE_DIGITS = 11;
const LIMIT = new Decimal(10).pow(MAX_WHOLE_DIGITS);

/**
 * Reads an amount as it is written at the edge: digits, an optional sign, an optional point.
 * @param text such as `"1250.00"`; no exponent, grouping, currency sign or white space
 * @throws EngineError `bad-amount` (not a plain number), `too-many-decimals` (finer than the minor unit,
 *   even when the extra digits are zeros, so that nobody's tenth of a cent is dropped silently), `amount-too-large`,
 *   `unknown-currency`
 */
export function parseAmount(text: string, currency: string, path = ''): Decimal {
  const units = minorUnits(currency);
  const match = typeof text === 'string' ? /^-?(\d+)(?:\.(\d+))?$/.exec(text) : null;
  if (!match)
    throw new EngineError(
      'bad-amount',
      `${shown(text)} is not an amount: write digits with at most one point, such as "12.50"`,
      path,
    );
  const decimals = match[2]?.length ?? 0;
  if (decimals > units) {
    throw new EngineError(
      'too-many-decimals',
      `${shown(text)} has ${decimals} decimals, but ${currency} has ${units}`,
      path,
    );
  }
  if (match[1]!.replace(/^0+/, '').length > MAX_WRITTEN_DIGITS) {
    throw new EngineError(
      'amount-too-large',
      `${shown(text)} is too large: an amount has at most ${MAX_WRITTEN_DIGITS} digits before the point`,
      path,
    );
  }
  const amount = new Decimal(text);
  return amount.isZero() ? new Decimal(0) : amount;
}

/**
 * Rounds once to the currency's minor unit.
 * @param mode default `halfUp`: half a unit goes away from zero, the rule of invoices
 */
export function roundAmount(amount: Decimal.Value, currency: string, mode: RoundingMode = 'halfUp'): Decimal {
  const rounded = new Wide(amount).toDecimalPlaces(minorUnits(currency), DECIMAL_ROUNDING[mode]);
  return plain(validated(rounded, ''));
}

/**
 * An amount handed to the engine, checked: finite, within the limit, not finer than the minor unit.
 * @throws EngineError as `parseAmount`, plus `negative-amount` unless `sign` is `any`
 */
export function readAmount(
  amount: Amount,
  currency: string,
  path: string,
  sign: 'any' | 'notNegative' = 'notNegative',
): Decimal {
  const value = typeof amount === 'string' ? parseAmount(amount, currency, path) : plain(validated(amount, path));
  if (value.decimalPlaces() > minorUnits(currency)) {
    throw new EngineError('too-many-decimals', `${value.toFixed()} is finer than the minor unit of ${currency}`, path);
  }
  if (sign === 'notNegative' && value.isNegative() && !value.isZero()) {
    throw new EngineError('negative-amount', `${value.toFixed()} must not be below zero`, path);
  }
  return value;
}

/**
 * A figure that is not an amount of money (a rate, a quantity, a weight), checked to be finite and not negative.
 * @throws EngineError `bad-number`
 */
export function readDecimal(toDecimal: Decimal.Value, what: string, path: string): Decimal {
  let value: Decimal;
  try {
    value = new Wide(toDecimal);
  } catch {
    throw new EngineError('bad-number', `${shown(toDecimal)} is not a number: ${what}`, path);
  }
  if (!value.isFinite() || (value.isNegative() && !value.isZero())) {
    throw new EngineError('bad-number', `${what} must be a number of zero or more, not ${value.toString()}`, path);
  }
  return value;
}

/** The same value as an ordinary Decimal, whatever class it was computed in. */
export function plain(value: Decimal): Decimal {
  return new Decimal(value.isZero() ? 0 : value);
}

/** The sum of amounts; zero for none. */
export function total(amounts: readonly Decimal[]): Decimal {
  return plain(amounts.reduce<Decimal>((sum, amount) => sum.plus(amount), new Wide(0)));
}

function validated(amount: Decimal, path: string): Decimal {
  if (!Decimal.isDecimal(amount) || !amount.isFinite())
    throw new EngineError('bad-amount', `${shown(amount)} is not an amount`, path);
  if (amount.abs().greaterThanOrEqualTo(LIMIT)) {
    throw new EngineError(
      'amount-too-large',
      `${amount.toString()} is too large: an amount has at most ${MAX_WHOLE_DIGITS} digits before the point`,
      path,
    );
  }
  return amount;
}

function shown(value: unknown): string {
  const text = String(value);
  return JSON.stringify(text.length > 40 ? `${text.slice(0, 40)}…` : text);
}

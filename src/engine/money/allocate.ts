import { Decimal } from 'decimal.js';
import { EngineError } from '../error.js';
import { type Amount, plain, readAmount, readDecimal } from './amount.js';
import { minorUnits } from './currency.js';

/**
 * Shares a total by weights, to the minor unit and adding up exactly: every share is first cut down to the minor
 * unit, and the units left over go one each to the shares that lost the largest fraction (largest remainder, the
 * method of Hamilton). Equal fractions: the earlier share first, so the same input always gives the same answer.
 * The arithmetic is on whole numbers, so no weight is rounded before it multiplies.
 *
 * @param total may be negative (a refund): its shares are those of the positive total with the sign turned
 * @param weights one per share, zero or more; a zero weight takes nothing
 * @returns one amount per weight, in the same order
 * @throws EngineError `no-shares` for an empty list, `no-weight` when every weight is zero and the total is not,
 *   `bad-number` for a negative or non-finite weight, and as `readAmount`
 */
export function allocate(total: Amount, weights: readonly Decimal.Value[], currency: string, path = ''): Decimal[] {
  const amount = readAmount(total, currency, path, 'any');
  if (weights.length === 0) throw new EngineError('no-shares', 'there is nothing to share the amount over', path);
  const shares = weights.map((weight, index) => readDecimal(weight, 'a weight', `${path}/${index}`));
  if (amount.isZero()) return shares.map(() => new Decimal(0));
  if (shares.every((share) => share.isZero()))
    throw new EngineError('no-weight', 'every weight is zero, so no rule says who bears the amount', path);

  const digits = minorUnits(currency);
  const units = whole(amount.abs(), digits);
  const scale = Math.max(...shares.map((share) => share.decimalPlaces()));
  const scaled = shares.map((share) => whole(share, scale));
  const sum = scaled.reduce((a, b) => a + b, 0n);

  const floors = scaled.map((weight) => (units * weight) / sum);
  const remainders = scaled.map((weight) => (units * weight) % sum);
  let left = Number(units - floors.reduce((a, b) => a + b, 0n));
  const order = remainders
    .map((_, index) => index)
    .sort((a, b) => (remainders[a]! === remainders[b]! ? a - b : remainders[a]! > remainders[b]! ? -1 : 1));
  for (const index of order) {
    if (left-- <= 0) break;
    floors[index]! += 1n;
  }
  const sign = amount.isNegative() ? -1 : 1;
  return floors.map((share) => plain(new Decimal(share.toString()).times(sign).div(new Decimal(10).pow(digits))));
}

/** Shares a total equally over `count` shares, the first ones bearing the odd units. */
export function allocateEqually(total: Amount, count: number, currency: string, path = ''): Decimal[] {
  return allocate(
    total,
    Array.from({ length: count }, () => 1),
    currency,
    path,
  );
}

function whole(value: Decimal, decimals: number): bigint {
  return BigInt(value.times(new Decimal(10).pow(decimals)).toFixed(0));
}

import { describe, expect, it } from '@jest/globals';
import { Decimal } from 'decimal.js';
import { EngineError } from '../error.js';
import { parseAmount, roundAmount } from './index.js';

function codeOf(work: () => unknown): string {
  try {
    work();
  } catch (error) {
    if (error instanceof EngineError) return error.code;
    throw error;
  }
  return 'no error';
}

describe('reading an amount', () => {
  it('takes plain decimal text up to the minor unit', () => {
    expect(parseAmount('1250.5', 'USD').toFixed(2)).toBe('1250.50');
    expect(parseAmount('-3.125', 'KWD').toString()).toBe('-3.125');
    expect(parseAmount('999999999.99', 'EUR').toFixed()).toBe('999999999.99');
    expect(Object.is(parseAmount('-0.00', 'USD').toNumber(), 0)).toBe(true);
  });

  it.each([
    ['1.005', 'USD', 'too-many-decimals'],
    ['1.000', 'USD', 'too-many-decimals'],
    ['1.5', 'JPY', 'too-many-decimals'],
    ['1e3', 'USD', 'bad-amount'],
    ['NaN', 'USD', 'bad-amount'],
    ['Infinity', 'USD', 'bad-amount'],
    ['0x10', 'USD', 'bad-amount'],
    ['1,000.00', 'USD', 'bad-amount'],
    ['$5', 'USD', 'bad-amount'],
    [' 5', 'USD', 'bad-amount'],
    ['5.', 'USD', 'bad-amount'],
    ['.5', 'USD', 'bad-amount'],
    ['+5', 'USD', 'bad-amount'],
    ['٣', 'USD', 'bad-amount'],
    ['', 'USD', 'bad-amount'],
    ['1000000000', 'USD', 'amount-too-large'],
    ['9'.repeat(400), 'USD', 'amount-too-large'],
    ['5', 'ZZZ', 'unknown-currency'],
    ['5', 'usd', 'unknown-currency'],
  ])('refuses %j in %s as %s', (text, currency, code) => {
    expect(codeOf(() => parseAmount(text, currency))).toBe(code);
  });

  it('refuses what is not text at all', () => {
    expect(codeOf(() => parseAmount(5 as unknown as string, 'USD'))).toBe('bad-amount');
    expect(codeOf(() => parseAmount(null as unknown as string, 'USD'))).toBe('bad-amount');
  });

  it('names the place of the fault', () => {
    try {
      parseAmount('x', 'USD', '/price');
      throw new Error('not refused');
    } catch (error) {
      expect((error as EngineError).path).toBe('/price');
    }
  });
});

describe('rounding', () => {
  // The rows follow from the definitions of the modes in IEEE 754-2008 section 4.3 and everyday usage (half-down, away).
  it.each([
    ['halfUp', '0.13', '-0.13', '0.13'],
    ['halfEven', '0.12', '-0.12', '0.13'],
    ['halfDown', '0.12', '-0.12', '0.13'],
    ['awayFromZero', '0.13', '-0.13', '0.13'],
    ['towardZero', '0.12', '-0.12', '0.12'],
    ['ceiling', '0.13', '-0.12', '0.13'],
    ['floor', '0.12', '-0.13', '0.12'],
  ] as const)('%s', (mode, half, negativeHalf, above) => {
    expect(roundAmount(new Decimal('0.125'), 'USD', mode).toFixed(2)).toBe(half);
    expect(roundAmount(new Decimal('-0.125'), 'USD', mode).toFixed(2)).toBe(negativeHalf);
    expect(roundAmount(new Decimal('0.126'), 'USD', mode).toFixed(2)).toBe(above);
  });

  it('goes by the currency', () => {
    expect(roundAmount(new Decimal('1234.5'), 'JPY').toFixed()).toBe('1235');
    expect(roundAmount(new Decimal('1.23455'), 'KWD').toFixed()).toBe('1.235');
  });
});

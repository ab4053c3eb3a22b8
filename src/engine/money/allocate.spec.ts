import { describe, expect, it } from '@jest/globals';
import { Decimal } from 'decimal.js';
import fc from 'fast-check';
import { allocate, allocateEqually } from './index.js';

const texts = (amounts: readonly Decimal[]): string[] => amounts.map((amount) => amount.toFixed(2));

describe('sharing a total by weights', () => {
  // Medlin v. Commissioner (U.S. Tax Court 2003) slip p. 54: 47 000 over values 12 500 / 14 955 / 11 228. The slip
  // itself rounds to whole percents first and so is off by up to 160; the exact shares are 15 187.5501, 18 170.3849
  // and 13 642.06499, whose half-up roundings add up to one cent too few.
  it('gives the Medlin shares to the cent', () => {
    const shares = allocate('47000.00', ['12500', '14955', '11228'], 'USD');
    expect(texts(shares)).toEqual(['15187.55', '18170.38', '13642.07']);
    expect(Decimal.sum(...shares).toFixed(2)).toBe('47000.00');
    for (const [index, rounded] of [15040, 18330, 13630].entries())
      expect(shares[index]!.minus(rounded).abs().lessThan(160.01)).toBe(true);
  });

  // Treas. Reg. §1.61-6(a) Example (2), text in Cal. Code Regs. 18 §24271(d).
  it('splits 25 000 over two parts worth 15 000 and 10 000', () => {
    expect(texts(allocate('25000', ['15000', '10000'], 'USD'))).toEqual(['15000.00', '10000.00']);
  });

  // wizedu.com 420733, a lump-sum purchase by appraisal.
  it('splits 60 000 by appraisals 30 000 / 18 000 / 27 000', () => {
    expect(texts(allocate('60000', ['30000', '18000', '27000'], 'USD'))).toEqual(['24000.00', '14400.00', '21600.00']);
  });

  // OpenStax, Principles of Accounting vol. 2 §10.5 (Strawberry Sweet, Calcion): inputs published, shares by the stated rule.
  it.each([
    ['40000', ['104500', '50500'], ['26967.74', '13032.26']],
    ['40000', ['42000', '4000'], ['36521.74', '3478.26']],
    ['36000', ['25', '75'], ['9000.00', '27000.00']],
    ['36000', ['3750', '9375'], ['10285.71', '25714.29']],
  ])('joint cost %s over %j', (total, weights, expected) => {
    expect(texts(allocate(total, weights, 'USD'))).toEqual(expected);
  });

  // Treas. Reg. §1.61-6(a) Example (1): a tract for 10 000 in twenty equal lots.
  it('splits equally', () => {
    expect(texts(allocateEqually('10000', 20, 'USD'))).toEqual(Array(20).fill('500.00'));
    expect(texts(allocateEqually('100', 3, 'USD'))).toEqual(['33.34', '33.33', '33.33']);
  });

  it('turns the sign for a refund and leaves zero weights out', () => {
    expect(texts(allocate('-100', ['1', '0', '1', '1'], 'USD'))).toEqual(['-33.34', '0.00', '-33.33', '-33.33']);
    expect(texts(allocate('0', ['0', '0'], 'USD'))).toEqual(['0.00', '0.00']);
  });

  it('refuses what no rule decides', () => {
    expect(() => allocate('1', [], 'USD')).toThrow(expect.objectContaining({ code: 'no-shares' }));
    expect(() => allocate('1', ['0', 0], 'USD')).toThrow(expect.objectContaining({ code: 'no-weight' }));
    expect(() => allocate('1', ['1', '-1'], 'USD')).toThrow(
      expect.objectContaining({ code: 'bad-number', path: '/1' }),
    );
    expect(() => allocate('1', [NaN], 'USD')).toThrow(expect.objectContaining({ code: 'bad-number' }));
    expect(() => allocate('1.001', ['1'], 'USD')).toThrow(expect.objectContaining({ code: 'too-many-decimals' }));
  });

  it('adds up, never strays a whole unit from the exact share, and is its own mirror for negatives', () => {
    const weight = fc.oneof(fc.nat(1_000_000), fc.double({ min: 0, max: 1e9, noNaN: true }), fc.constant(0));
    fc.assert(
      fc.property(
        fc.constantFrom('JPY', 'USD', 'KWD'),
        fc.bigInt({ min: 1n - 10n ** 11n, max: 10n ** 11n - 1n }),
        fc.array(weight, { minLength: 1, maxLength: 12 }).filter((weights) => weights.some((each) => each > 0)),
        (currency, units, weights) => {
          const Exact = Decimal.clone({ precision: 60 });
          const unit = { JPY: '1', USD: '0.01', KWD: '0.001' }[currency]!;
          const total = new Decimal(units.toString()).times(unit);
          const shares = allocate(total, weights, currency);
          expect(Decimal.sum(...shares).equals(total)).toBe(true);
          const sum = weights.reduce((all, each) => all.plus(each), new Exact(0));
          shares.forEach((share, index) => {
            expect(new Exact(total).times(weights[index]!).div(sum).minus(share).abs().lessThan(unit)).toBe(true);
            if (weights[index] === 0) expect(share.isZero()).toBe(true);
          });
          const mirrored = allocate(total.negated(), weights, currency);
          mirrored.forEach((share, index) => expect(share.negated().equals(shares[index]!)).toBe(true));
        },
      ),
    );
  });
});

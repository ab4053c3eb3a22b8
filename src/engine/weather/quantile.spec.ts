import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { quantile, rankedQuantile } from './quantile.js';

describe('quantile', () => {
  // Worked from the definitions in Hyndman & Fan (1996), with p(n + 1 − a − b) + a for n = 5 and p = 0.3.
  it.each([
    ['inverseEmpirical', 20],
    ['interpolatedEmpirical', 15],
    ['hazen', 20],
    ['weibull', 18],
    ['linear', 22],
    ['medianUnbiased', 10 + 10 * (0.3 * (5 + 1 / 3) + 1 / 3 - 1)],
    ['normalUnbiased', 10 + 10 * (0.3 * 5.25 + 3 / 8 - 1)],
  ] as const)('of type %s', (type, expected) => {
    expect(quantile([50, 10, 40, 20, 30], 0.3, type)).toBeCloseTo(expected, 12);
  });

  it('falls among the unknown when too few values are known', () => {
    const values = [1, 2, 3, Infinity];
    expect(quantile(values, 0.5, 'linear')).toBe(2.5);
    expect(quantile(values, 0.9, 'linear')).toBeUndefined();
    expect(quantile([], 0.5)).toBeUndefined();
    expect(quantile([Infinity], 0.5)).toBeUndefined();
    expect(quantile([7], 0.99)).toBe(7);
  });

  it('refuses what is no chance', () => {
    for (const p of [-0.1, 1.1, NaN])
      expect(() => quantile([1], p)).toThrow(expect.objectContaining({ code: 'out-of-range' }));
  });

  it('rises with its chance and stays within the values', () => {
    const type = fc.constantFrom(
      'inverseEmpirical',
      'hazen',
      'weibull',
      'linear',
      'medianUnbiased',
      'normalUnbiased' as const,
    );
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: -99, max: 99 }), { minLength: 1, maxLength: 20 }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        type,
        (values, a, b, kind) => {
          const [low, high] = [quantile(values, Math.min(a, b), kind)!, quantile(values, Math.max(a, b), kind)!];
          expect(low).toBeLessThanOrEqual(high + 1e-9);
          expect(low).toBeGreaterThanOrEqual(Math.min(...values));
          expect(high).toBeLessThanOrEqual(Math.max(...values));
        },
      ),
    );
  });

  it('takes ranks that are not whole', () => {
    expect(
      rankedQuantile(
        [
          { value: 10, rank: 1.5 },
          { value: 20, rank: 3 },
        ],
        3,
        0.75,
        'weibull',
      ),
    ).toBe(20);
    expect(
      rankedQuantile(
        [
          { value: 10, rank: 1.5 },
          { value: 20, rank: 3 },
        ],
        3,
        0.5625,
        'weibull',
      ),
    ).toBeCloseTo(15, 12);
  });
});

import { createRequire } from 'node:module';
import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { estimateAtCompletion, probabilityCostAtMost } from './index.js';

const jStat = createRequire(import.meta.url)('jstat') as {
  beta: { inv(p: number, a: number, b: number): number; cdf(x: number, a: number, b: number): number };
};

describe('cost at completion', () => {
  // One item must be its own beta-PERT: shapes 1 + 4·(30 − 10)/100 = 1.8 and 1 + 4·(110 − 30)/100 = 4.2, by jstat.
  it('is the beta-PERT itself for a single remaining cost', () => {
    const estimate = estimateAtCompletion(
      '200',
      [{ what: 'carburettor', low: '10', likely: '30', high: '110' }],
      'USD',
    );
    expect(estimate.expected.toFixed(2)).toBe('240.00');
    for (const [p, amount] of [
      [0.1, estimate.p10],
      [0.5, estimate.p50],
      [0.9, estimate.p90],
    ] as const) {
      expect(amount.toNumber()).toBeCloseTo(210 + 100 * jStat.beta.inv(p, 1.8, 4.2), 1);
    }
    expect(probabilityCostAtMost(estimate, '250')).toBeCloseTo(jStat.beta.cdf(0.4, 1.8, 4.2), 8);
    expect([probabilityCostAtMost(estimate, '209.99'), probabilityCostAtMost(estimate, '310')]).toEqual([0, 1]);
  });

  // Heizer & Render's three-point rule: mean (a + 4m + b)/6; the sum of means is exact whatever the correlation.
  it('adds means', () => {
    const estimate = estimateAtCompletion(
      '0',
      [
        { what: 'a', low: '1', likely: '2', high: '3' },
        { what: 'b', low: '2', likely: '4', high: '6' },
        { what: 'c', low: '1', likely: '4', high: '7' },
      ],
      'USD',
      0,
    );
    expect(estimate.expected.toFixed(2)).toBe('10.00');
    expect([estimate.least.toFixed(0), estimate.most.toFixed(0)]).toEqual(['4', '16']);
  });

  it('agrees with a simulation of independent items', () => {
    const items = [
      { what: 'belts', low: 15, likely: 22, high: 60 },
      { what: 'paint', low: 30, likely: 35, high: 50 },
      { what: 'engine', low: 0, likely: 20, high: 180 },
    ];
    const estimate = estimateAtCompletion(
      '0',
      items.map((item) => ({ what: item.what, low: `${item.low}`, likely: `${item.likely}`, high: `${item.high}` })),
      'USD',
      0,
    );
    const random = xoroshiro128plus(7);
    const uniform = (): number => ((random.next() >>> 0) + 0.5) / 2 ** 32;
    const draws = Array.from({ length: 4000 }, () =>
      items.reduce((sum, { low, likely, high }) => {
        const a = 1 + (4 * (likely - low)) / (high - low);
        return sum + low + (high - low) * jStat.beta.inv(uniform(), a, 6 - a);
      }, 0),
    ).sort((x, y) => x - y);
    for (const [p, amount] of [
      [0.1, estimate.p10],
      [0.5, estimate.p50],
      [0.9, estimate.p90],
    ] as const) {
      expect(Math.abs(amount.toNumber() - draws[Math.floor(p * draws.length)]!)).toBeLessThan(3);
    }
  });

  it('stays within what was stated, widens with correlation, and is certain when nothing is left', () => {
    const item = fc
      .tuple(fc.nat(5000), fc.nat(5000), fc.nat(5000))
      .map((three) => three.sort((a, b) => a - b).map(String));
    fc.assert(
      fc.property(fc.array(item, { minLength: 1, maxLength: 6 }), (list) => {
        const remaining = list.map(([low, likely, high]) => ({ what: 'x', low: low!, likely: likely!, high: high! }));
        const apart = estimateAtCompletion('100', remaining, 'USD', 0);
        const together = estimateAtCompletion('100', remaining, 'USD', 1);
        const order = [apart.least, apart.p10, apart.p50, apart.p90, apart.most].map((amount) => amount.toNumber());
        expect([...order].sort((a, b) => a - b)).toEqual(order);
        expect(together.p90.minus(together.p10).toNumber()).toBeGreaterThanOrEqual(
          apart.p90.minus(apart.p10).toNumber() - 0.02,
        );
      }),
    );
    const done = estimateAtCompletion('75.50', [], 'USD');
    expect([done.p10, done.expected, done.p90].map((amount) => amount.toFixed(2))).toEqual(['75.50', '75.50', '75.50']);
    expect(probabilityCostAtMost(done, '75.50')).toBe(1);
  });

  it('refuses three points out of order', () => {
    expect(() => estimateAtCompletion('0', [{ what: 'x', low: '5', likely: '4', high: '6' }], 'USD')).toThrow(
      expect.objectContaining({ code: 'bad-range', path: 'remaining/0' }),
    );
  });
});

import { createRequire } from 'node:module';
import { describe, expect, it } from '@jest/globals';
import { learnBuyers } from './index.js';

const jStat = createRequire(import.meta.url)('jstat') as {
  gamma: { inv(p: number, shape: number, scale: number): number };
};

describe('serious buyers a week', () => {
  // Conjugate gamma–Poisson: Gamma(3, 1) and 13 events in 5 units become Gamma(16, 6) (DeGroot §6.3 ex. 4). The belief
  // here is Gamma(3, 2); 8 weeks on offer at half of all buyers are 4 units: with 5 sales Gamma(8, 6). Quantiles by jstat.
  it('adds sales to the one parameter and weeks to the other', () => {
    const offers = Array.from({ length: 8 }, (_, i) => ({
      from: `2026-01-${String(1 + i).padStart(2, '0')}`,
      to: `2026-01-${String(8 + i).padStart(2, '0')}`,
      sold: i < 5,
    }));
    const buyers = learnBuyers(offers, null);
    expect(buyers.buyersPerWeek).toBeCloseTo(8 / 6, 12);
    expect(buyers.low).toBeCloseTo(jStat.gamma.inv(0.1, 8, 1 / 6), 6);
    expect(buyers.high).toBeCloseTo(jStat.gamma.inv(0.9, 8, 1 / 6), 6);
  });

  it('makes less of a slow week out of season', () => {
    const offer = { from: '2026-06-01', to: '2026-06-29', sold: false };
    expect(learnBuyers([offer], { peakOn: '12-05' }).buyersPerWeek).toBeGreaterThan(
      learnBuyers([offer], null).buyersPerWeek,
    );
    expect(learnBuyers([], null).buyersPerWeek).toBe(1.5);
    expect(() => learnBuyers([{ from: '2026-06-02', to: '2026-06-01', sold: true }], null)).toThrow(
      expect.objectContaining({ code: 'bad-number', path: 'offers/0/to' }),
    );
  });
});

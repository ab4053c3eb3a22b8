import { describe, expect, it } from '@jest/globals';
import { poissonQuantile, reorderPointFor } from './reorder.js';

describe('the reorder point', () => {
  it('is a Poisson quantile', () => {
    // Worked from the mass function: with mean 2 the sums are 0.1353, 0.4060, 0.6767, 0.8571, 0.9473, 0.9834.
    expect(poissonQuantile(2, 0.1353)).toBe(0);
    expect(poissonQuantile(2, 0.5)).toBe(2);
    expect(poissonQuantile(2, 0.9)).toBe(4);
    expect(poissonQuantile(2, 0.95)).toBe(5);
    expect(poissonQuantile(0, 0.99)).toBe(0);
  });

  it('never falls when more is used or the wait is longer', () => {
    for (let rate = 0; rate < 2; rate += 0.1) {
      for (let days = 1; days < 60; days += 7) {
        expect(reorderPointFor(rate + 0.1, days, 0.9)).toBeGreaterThanOrEqual(reorderPointFor(rate, days, 0.9));
        expect(reorderPointFor(rate, days + 7, 0.9)).toBeGreaterThanOrEqual(reorderPointFor(rate, days, 0.9));
      }
    }
  });
});

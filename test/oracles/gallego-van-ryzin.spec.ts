import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { bestFixedPrice, bestPrice, bestRevenue, fixedPriceRevenue } from './gallego-van-ryzin.js';

// Gallego and van Ryzin, Management Science 40(8), 1994, 999–1020, §2.3 eqs 9–10 and 17. The equations as read in a
// public transcription; the rows computed from them and confirmed by integrating the optimality equation. The last row
// is the paper's own Figure 1 "high demand" set.
const rows = [
  {
    units: 1,
    time: 1,
    rate: Math.E,
    sensitivity: 1,
    revenue: 0.693147,
    price: 1.693147,
    fixed: 1.416066,
    fixedRevenue: 0.683904,
  },
  {
    units: 1,
    time: 4,
    rate: 1,
    sensitivity: 0.01,
    revenue: 90.483244,
    price: 190.483244,
    fixed: 156.4343,
    fixedRevenue: 88.690401,
  },
  {
    units: 3,
    time: 10,
    rate: 0.6,
    sensitivity: 0.005,
    revenue: 401.257098,
    price: 255.162882,
    fixed: 246.4479,
    fixedRevenue: 395.364849,
  },
  {
    units: 5,
    time: 8,
    rate: 2,
    sensitivity: 0.002,
    revenue: 2559.26014,
    price: 717.219256,
    fixed: 701.9866,
    fixedRevenue: 2488.639555,
  },
  {
    units: 10,
    time: 30,
    rate: 0.5,
    sensitivity: 0.004,
    revenue: 1373.019897,
    price: 257.542225,
    fixed: 259.9081,
    fixedRevenue: 1369.742029,
  },
  {
    units: 25,
    time: 1,
    rate: 100,
    sensitivity: 1,
    revenue: 33.141527,
    price: 1.449549,
    fixed: 1.476247,
    fixedRevenue: 32.193164,
  },
];

describe('selling before a deadline under exponential demand', () => {
  it.each(rows)('n = $units, t = $time, a = $rate, α = $sensitivity', (row) => {
    const relative = (got: number, expected: number): number => Math.abs(got / expected - 1);
    expect(relative(bestRevenue(row), row.revenue)).toBeLessThan(1e-6);
    expect(relative(bestPrice(row), row.price)).toBeLessThan(1e-6);
    const fixed = bestFixedPrice(row);
    expect(relative(fixed.revenue, row.fixedRevenue)).toBeLessThan(1e-6);
    expect(relative(fixed.price, row.fixed)).toBeLessThan(1e-5);
    // Theorem 3, p. 1008: a fixed price keeps at least 1 − 1/(2√min(n, λ*t)) of the best.
    expect(fixed.revenue / bestRevenue(row)).toBeGreaterThan(
      1 - 1 / (2 * Math.sqrt(Math.min(row.units, (row.rate / Math.E) * row.time))),
    );
  });

  it('climbs the published ladder as units run out', () => {
    const at = (units: number): number => bestPrice({ units, time: 10, rate: 0.6, sensitivity: 0.005 });
    expect([at(1), at(2), at(3)].map((price) => price.toFixed(4))).toEqual(['433.0844', '313.0098', '255.1629']);
  });

  it('takes a salvage value and a rate that varies in time', () => {
    const base = { units: 3, time: 10, rate: 0.6, sensitivity: 0.005 };
    expect(bestRevenue({ ...base, salvage: 20 })).toBeCloseTo(428.727302, 5);
    expect(bestPrice({ ...base, salvage: 20 })).toBeCloseTo(267.172663, 5);
    // a(s) = 0.6(1 + 0.1 s) for s from 0 to 10 integrates to 9.
    expect(bestRevenue({ ...base, time: 1, rate: 9 })).toBeCloseTo(552.521853, 5);
  });

  it('satisfies the optimality equation ∂J/∂t = λ(p*)·(p* − ΔJ) = λ(p*)/α', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 30 }),
        fc.double({ min: 0.1, max: 30, noNaN: true }),
        fc.double({ min: 0.05, max: 20, noNaN: true }),
        (units, time, rate) => {
          const demand = { units, time, rate, sensitivity: 0.7 };
          const step = time * 1e-5;
          const slope =
            (bestRevenue({ ...demand, time: time + step }) - bestRevenue({ ...demand, time: time - step })) /
            (2 * step);
          expect(Math.abs(slope / ((rate * Math.exp(-0.7 * bestPrice(demand))) / 0.7) - 1)).toBeLessThan(1e-4);
        },
      ),
    );
  });

  it('keeps its head where a plain sum would overflow', () => {
    // Far more demand than stock or far more stock than demand: e^(λt) is the limit of the series.
    expect(bestRevenue({ units: 5000, time: 1000, rate: Math.E, sensitivity: 1 })).toBeCloseTo(1000, 6);
    expect(bestRevenue({ units: 1, time: 0, rate: 1, sensitivity: 1 })).toBe(0);
    expect(fixedPriceRevenue({ units: 2, time: 1, rate: 1, sensitivity: 1, salvage: 3 }, 1e9)).toBeCloseTo(6, 9);
    expect(() => bestPrice({ units: 0, time: 1, rate: 1, sensitivity: 1 })).toThrow(
      expect.objectContaining({ code: 'bad-number' }),
    );
  });
});

import { createRequire } from 'node:module';
import { describe, expect, it } from '@jest/globals';
import { Random } from '../statistics/random.js';
import {
  type Comparable,
  costPlusPrice,
  estimatePrice,
  type PricedMachine,
  priceQuantile,
  probabilityPriceAtLeast,
} from './index.js';

const jStat = createRequire(import.meta.url)('jstat') as { studentt: { inv(p: number, freedom: number): number } };

const machine: PricedMachine = {
  kind: 'twoStageThrower',
  maker: 'Norvane',
  model: 'N8',
  condition: 4,
  yearEstimate: 2010,
  clearingWidthMillimetres: 610,
};
const season = { peakOn: '12-05' };
const base = { machine, on: '2026-11-20', today: '2026-09-01', season, currency: 'USD' } as const;
const seen = (price: string, more: Partial<Comparable> = {}): Comparable => ({
  kind: 'twoStageThrower',
  maker: 'Norvane',
  model: 'N8',
  condition: 4,
  yearEstimate: 2010,
  clearingWidthMillimetres: 610,
  priceKind: 'sold',
  price,
  seenDate: '2026-08-20',
  ...more,
});
describe('price from comparables', () => {
  it('centres on prices of machines alike in everything, and narrows as they grow in number', () => {
    const few = estimatePrice({
      ...base,
      season: null,
      comparables: ['480', '500', '520'].map((price) => seen(price)),
    });
    expect(few.p50.toNumber()).toBeCloseTo(500, -1);
    const many = estimatePrice({
      ...base,
      season: null,
      comparables: Array.from({ length: 40 }, (_, i) => seen(`${480 + i}`)),
    });
    expect(many.p90.minus(many.p10).toNumber()).toBeLessThan(few.p90.minus(few.p10).toNumber());
    const one = estimatePrice({ ...base, season: null, comparables: [seen('500')] });
    expect(one.p90.div(one.p10).toNumber()).toBeGreaterThan(few.p90.div(few.p10).toNumber());
    expect(one.reasons.join(' ')).toMatch(/few comparables/);
  });

  // With comparables alike in all and seen today the model is the textbook normal sample with a scaled inverse chi-square
  // belief on its variance and a flat one on its mean: prediction t with ν₀ + n − 1 degrees about the mean, scale
  // √(s²(1 + 1/n)), s² = (ν₀σ₀² + Σ(y − ȳ)²)/(ν₀ + n − 1) (Gelman et al., Bayesian Data Analysis, chapter 3; from memory).
  // Data: Hoff 2009 §5.3, midge wing lengths, taken as log prices. The t quantile by jstat.
  it('is the textbook prediction for a plain sample', () => {
    const logs = [1.64, 1.7, 1.72, 1.74, 1.82, 1.82, 1.82, 1.9, 2.08].map((y) => y + 4);
    const estimate = estimatePrice({
      ...base,
      today: '2026-08-20',
      season: null,
      comparables: logs.map((y) => seen(Math.exp(y).toFixed(2))),
    });
    const mean = logs.reduce((sum, y) => sum + y, 0) / 9;
    expect(mean).toBeCloseTo(5.8044, 4);
    const freedom = 5 + 9 - 1;
    const squares = logs.reduce((sum, y) => sum + (y - mean) ** 2, 0);
    expect(squares / 8).toBeCloseTo(0.016878, 6); // Hoff's s²
    const scale = Math.sqrt(((5 * 0.25 ** 2 + squares) / freedom) * (1 + 1 / 9));
    expect(estimate.freedom).toBeCloseTo(freedom, 9);
    expect(estimate.p50.toNumber()).toBeCloseTo(Math.exp(mean), 1);
    expect(estimate.p90.toNumber()).toBeCloseTo(Math.exp(mean + scale * jStat.studentt.inv(0.9, freedom)), 1);
    expect(estimate.p10.toNumber()).toBeCloseTo(Math.exp(mean + scale * jStat.studentt.inv(0.1, freedom)), 1);
  });

  it('reads asking prices down, better condition up, other kinds not at all', () => {
    const sold = estimatePrice({ ...base, comparables: [seen('500'), seen('510'), seen('490')] });
    const asked = estimatePrice({
      ...base,
      comparables: [
        seen('500', { priceKind: 'asking' }),
        seen('510', { priceKind: 'asking' }),
        seen('490', { priceKind: 'asking' }),
      ],
    });
    expect(asked.p50.lessThan(sold.p50)).toBe(true);
    const worse = estimatePrice({
      ...base,
      comparables: [seen('500', { condition: 2 }), seen('510', { condition: 2 }), seen('490', { condition: 2 })],
    });
    expect(worse.p50.greaterThan(sold.p50)).toBe(true);
    const mixed = estimatePrice({
      ...base,
      comparables: [seen('500'), seen('510'), seen('490'), seen('9000', { kind: 'walkBehindMower' })],
    });
    expect(mixed.p50.equals(sold.p50)).toBe(true);
    expect(mixed.counts.otherKind).toBe(1);
  });

  it('does not follow one mistyped price', () => {
    const prices = ['470', '480', '490', '500', '510', '520', '530'];
    const clean = estimatePrice({ ...base, comparables: prices.map((price) => seen(price)) });
    const soiled = estimatePrice({ ...base, comparables: [...prices, '5000'].map((price) => seen(price)) });
    expect(Math.abs(soiled.p50.div(clean.p50).toNumber() - 1)).toBeLessThan(0.1);
    expect(soiled.reasons.join(' ')).toMatch(/far from the others/);
  });

  it('falls back on cost plus markup, and says so; refuses with nothing to go by', () => {
    // OpenStax, Principles of Accounting vol. 2 §9.4: cost 10 or 12 at a markup of 30 % is 13.00 or 15.60.
    expect(costPlusPrice('10', 30, 'USD').toFixed(2)).toBe('13.00');
    expect(costPlusPrice('12', 30, 'USD').toFixed(2)).toBe('15.60');
    const estimate = estimatePrice({
      ...base,
      comparables: [seen('9', { kind: 'other' })],
      costPlus: { fullCost: '300', markupPercent: 25 },
    });
    expect(estimate.method).toBe('costPlus');
    expect(estimate.p50.toFixed(2)).toBe('375.00');
    expect(estimate.reasons[0]).toMatch(/no comparable/);
    expect(() => estimatePrice({ ...base, comparables: [] })).toThrow(expect.objectContaining({ code: 'no-basis' }));
    expect(() => estimatePrice({ ...base, comparables: [seen('0')] })).toThrow(
      expect.objectContaining({ code: 'bad-amount', path: 'comparables/0/price' }),
    );
    expect(() => estimatePrice({ ...base, comparables: [seen('10', { condition: 7 })] })).toThrow(
      expect.objectContaining({ code: 'bad-condition' }),
    );
  });

  it('answers chance and quantile consistently', () => {
    const estimate = estimatePrice({ ...base, comparables: ['450', '500', '560'].map((price) => seen(price)) });
    for (const p of [0.1, 0.5, 0.9])
      expect(probabilityPriceAtLeast(estimate, priceQuantile(estimate, p))).toBeCloseTo(1 - p, 3);
    expect(priceQuantile(estimate, 0.5).equals(estimate.p50)).toBe(true);
  });

  // A simulated market with its own effects, other than the beliefs' means; the stated 80 % range must hold what it says.
  // With few comparables it leans to the wide side.
  it.each([
    [4, 0.75, 0.93],
    [12, 0.75, 0.93],
    [40, 0.75, 0.85],
  ])('holds the next price in its 80 %% range about 80 %% of the time, %d comparables', (count, least, most) => {
    const random = new Random(20261125, count);
    const normal = (): number => Math.sqrt(-2 * Math.log(1 - random.next())) * Math.cos(2 * Math.PI * random.next());
    let inside = 0;
    const trials = 300;
    for (let trial = 0; trial < trials; trial++) {
      const effect = {
        step: 0.25 + 0.12 * normal(),
        asking: 0.11 + 0.06 * normal(),
        age: -0.2 + 0.15 * normal(),
        width: 0.8 + 0.4 * normal(),
        other: 0.15 * normal(),
        otherModel: 0.1 * normal(),
        season: 0.1 + 0.08 * normal(),
      };
      const deviation = 0.18 + 0.14 * random.next();
      const draw = (sold: boolean): Comparable => {
        const condition = 1 + Math.floor(5 * random.next());
        const yearEstimate = 1995 + Math.floor(28 * random.next());
        const clearingWidthMillimetres = 500 + Math.floor(300 * random.next());
        const maker = random.next() < 0.5 ? 'Norvane' : 'Pikestone';
        const model = maker === 'Norvane' && random.next() < 0.4 ? 'N8' : 'P1';
        const asking = !sold && random.next() < 0.6;
        const month = 1 + Math.floor(12 * random.next());
        const seenDate = `2026-${String(month).padStart(2, '0')}-05`;
        const nearness = Math.exp(
          -0.5 * ((Math.min(Math.abs(12 - month), 12 - Math.abs(12 - month)) * 30.4) / 45) ** 2,
        );
        const log =
          Math.log(450) +
          effect.step * (condition - 4) +
          (effect.age * (2010 - yearEstimate)) / 10 +
          effect.width * Math.log(clearingWidthMillimetres / 610) +
          (asking ? effect.asking : 0) +
          (maker === 'Norvane' ? 0 : effect.other) +
          (model === 'N8' ? 0 : effect.otherModel) +
          effect.season * nearness +
          deviation * normal();
        return {
          kind: machine.kind,
          maker,
          model,
          condition,
          yearEstimate,
          clearingWidthMillimetres,
          priceKind: asking ? 'asking' : 'sold',
          price: Math.exp(log).toFixed(2),
          seenDate,
        };
      };
      const target = { ...draw(true), condition: 4 };
      const log =
        Math.log(450) +
        (effect.age * (2010 - target.yearEstimate!)) / 10 +
        effect.width * Math.log(target.clearingWidthMillimetres! / 610) +
        (target.maker === 'Norvane' ? 0 : effect.other) +
        (target.model === 'N8' ? 0 : effect.otherModel) +
        effect.season +
        deviation * normal();
      const estimate = estimatePrice({
        machine: { ...target },
        comparables: Array.from({ length: count }, () => draw(false)),
        on: '2026-12-05',
        today: '2026-12-05',
        season,
        currency: 'USD',
      });
      if (Math.exp(log) >= estimate.p10.toNumber() && Math.exp(log) <= estimate.p90.toNumber()) inside++;
    }
    const share = inside / trials;
    expect(share).toBeGreaterThan(least);
    expect(share).toBeLessThan(most);
  });
});

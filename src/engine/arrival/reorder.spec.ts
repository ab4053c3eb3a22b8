import { describe, expect, it } from '@jest/globals';
import { Decimal } from 'decimal.js';
import fc from 'fast-check';
import { gammaLower, gammaQuantile, gammaUpper } from '../statistics/index.js';
import { probabilityOfCount, reorderPoint, updateRate } from './reorder.js';
import { rankShortageOptions, type ShortageOption } from './shortage-options.js';

describe('gamma updates against published examples (check-values.md §5.4)', () => {
  it('Bayes Rules! club notes §5.12: Gamma(10,2), counts 6,2,2,1 → Gamma(21,6), mean 3.5, variance 0.58333', () => {
    const after = updateRate({ shape: 10, exposure: 2 }, 6 + 2 + 2 + 1, 4);
    expect(after).toEqual({ shape: 21, exposure: 6 });
    expect(after.shape / after.exposure).toBeCloseTo(3.5, 12);
    expect(after.shape / after.exposure ** 2).toBeCloseTo(0.58333, 5);
  });

  it('DeGroot §6.3 ex. 4: a 3, b 1, n 5, Σx 13 → Gamma(16,6), mean 2.6667', () => {
    expect(updateRate({ shape: 3, exposure: 1 }, 13, 5)).toEqual({ shape: 16, exposure: 6 });
  });

  it('UCSC notes, the bus: Gamma(100,1000), one wait of 12 min → Gamma(101,1012), mean 0.0998', () => {
    const after = updateRate({ shape: 100, exposure: 1000 }, 1, 12);
    expect(after).toEqual({ shape: 101, exposure: 1012 });
    expect(after.shape / after.exposure).toBeCloseTo(0.0998, 4);
    // Predictive waits, computed: P(T>10) 0.370417 and P(T>20) 0.138542; a wait longer than t is no event in t.
    expect(probabilityOfCount(after, 10, 0)).toBeCloseTo(0.370417, 6);
    expect(probabilityOfCount(after, 20, 0)).toBeCloseTo(0.138542, 6);
    expect(probabilityOfCount(after, 20, 0) / probabilityOfCount(after, 10, 0)).toBeCloseTo(0.374017, 6);
  });

  it('Gelman et al. §2.6, asthma (recalled): Gamma(3,5), 3 in 2 → Gamma(6,7), mean 0.857, P(θ>1) 0.3007', () => {
    const after = updateRate({ shape: 3, exposure: 5 }, 3, 2);
    expect(after).toEqual({ shape: 6, exposure: 7 });
    expect(after.shape / after.exposure).toBeCloseTo(0.857, 3);
    expect(gammaUpper(after.shape, after.exposure)).toBeCloseTo(0.3007, 4);
  });

  it('NIST/SEMATECH e-Handbook §8.4.6: a 2, b 1400, 2 failures in 1909 h → median MTBF 901, lower 80 % 600', () => {
    const after = updateRate({ shape: 2, exposure: 1400 }, 2, 1909);
    expect(after).toEqual({ shape: 4, exposure: 3309 });
    expect(1 / gammaQuantile(0.5, after.shape, 1 / after.exposure)).toBeCloseTo(901, 0);
    expect(Math.round(1 / gammaQuantile(0.8, after.shape, 1 / after.exposure))).toBe(600);
    expect(Math.round(after.exposure / after.shape)).toBe(827);
    expect(gammaLower(after.shape, after.exposure / 600)).toBeCloseTo(0.8, 2);
    // §8.3.1.5, test length: 600·G⁻¹(0.8; 4, 1) − 1400 = 1909.03.
    expect(600 * gammaQuantile(0.8, 4, 1) - 1400).toBeCloseTo(1909.03, 1);
  });

  it('NIST §8.2.5, consensus prior from MTBF 50 % 600 and 5 % 250 (recalled): a 2.863, b 1522.5', () => {
    // Half the belief lies under an MTBF of 600, and 5 % under 250.
    const over = (mtbf: number) => gammaUpper(2.863, 1522.5 / mtbf);
    expect(over(600)).toBeCloseTo(0.5, 3);
    expect(over(250)).toBeCloseTo(0.05, 3);
  });
});

describe('reorder point', () => {
  const certain = (days: number) => ({
    probabilityByOffset: Array.from({ length: days }, (_, k) => (k === days - 1 ? 1 : 0)),
  });

  it('is a Poisson quantile when rate and lead time are certain', () => {
    // Poisson of mean 2: 0.1353, 0.4060, 0.6767, 0.8571, 0.9473, 0.9834 (worked from the mass function).
    const use = { shape: 2e6, exposure: 10e6 };
    expect(reorderPoint(use, certain(10), 0.9).quantity).toBe(4);
    expect(reorderPoint(use, certain(10), 0.85).quantity).toBe(3);
    expect(reorderPoint(use, certain(10), 0.9).probability).toBeCloseTo(0.9473, 4);
  });

  it('asks for more when the rate or the lead time is uncertain, and never less for more use or service', () => {
    const sure = reorderPoint({ shape: 2e6, exposure: 10e6 }, certain(10), 0.95).quantity;
    expect(reorderPoint({ shape: 1, exposure: 5 }, certain(10), 0.95).quantity).toBeGreaterThan(sure);
    // Any day of 39 alike against the twentieth for certain: the same mean.
    const spread = { probabilityByOffset: Array.from({ length: 39 }, (_, k) => (k + 1) / 39) };
    expect(reorderPoint({ shape: 2e6, exposure: 10e6 }, spread, 0.95).quantity).toBeGreaterThan(
      reorderPoint({ shape: 2e6, exposure: 10e6 }, certain(20), 0.95).quantity,
    );
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 50 }), fc.integer({ min: 1, max: 60 }), (events, days) => {
        const at = (n: number, service: number) =>
          reorderPoint(updateRate({ shape: 1, exposure: 60 }, n, 365), certain(days), service).quantity;
        expect(at(events + 1, 0.9)).toBeGreaterThanOrEqual(at(events, 0.9));
        expect(at(events, 0.97)).toBeGreaterThanOrEqual(at(events, 0.9));
      }),
      { numRuns: 50 },
    );
  });

  it('says when no stock can promise so much', () => {
    expect(() => reorderPoint({ shape: 1, exposure: 5 }, { probabilityByOffset: [0.5, 0.7] }, 0.9)).toThrow(
      'come at all with a chance of 0.700',
    );
    expect(() => reorderPoint({ shape: 1, exposure: 5 }, certain(3), 1)).toThrow('service of 1');
    expect(() => updateRate({ shape: 1, exposure: 5 }, -1, 3)).toThrow('cannot be');
  });
});

describe('rescue ranking', () => {
  const option = (name: string, { cost = new Decimal('5'), ...more }: Partial<ShortageOption> = {}) => ({
    name,
    allowed: true,
    arrivalDate: '2025-10-01',
    cost,
    outlay: cost,
    completionDays: 0,
    lateDays: 0,
    jobsGained: 0,
    readiness: 0.5,
    ...more,
  });
  const waiting = { arrivalDate: '2025-10-20', readiness: 0.4 };

  it('puts readiness before completion before cost before arrival, and refused last', () => {
    const ranked = rankShortageOptions(
      [
        option('refused', { allowed: false, readiness: 1, lateDays: -50, cost: new Decimal(0) }),
        option('later', { arrivalDate: '2025-10-09' }),
        option('plain'),
        option('unknown cost', { cost: null }),
        option('cheap', { cost: new Decimal('4.99') }),
        option('sooner', { lateDays: -3, cost: new Decimal('90') }),
        option('likelier', { readiness: 0.62, lateDays: 4 }),
        option('hardly likelier', { readiness: 0.503, cost: new Decimal('80') }),
      ],
      waiting,
    );
    expect(ranked.map((r) => r.name)).toEqual([
      'likelier',
      'sooner',
      'cheap',
      'plain',
      'later',
      'hardly likelier',
      'unknown cost',
      'refused',
    ]);
  });

  it('ranks the same part in a bin before waiting for it, whatever it once cost', () => {
    const waits = { arrivalDate: '2025-11-20', cost: new Decimal(0) };
    const ranked = rankShortageOptions(
      [
        option('resequence', { ...waits, alreadyPlanned: true }),
        option('wait', waits),
        option('bin', { outlay: new Decimal(0) }),
        option('buy', { cost: new Decimal('0.50') }),
      ],
      waiting,
    );
    expect(ranked.map((r) => r.name)).toEqual(['bin', 'resequence', 'wait', 'buy']);
    expect(ranked[0]!.rankReasons).toContain('It cost 5 when it came in; nothing more is to be paid.');
    expect(ranked[1]!.rankReasons).toEqual([
      'The plan does so already while it waits: beside waiting it changes nothing.',
    ]);
    const [one] = rankShortageOptions(
      [option('x', { readiness: 0.41, completionDays: -1, lateDays: -1, arrivalDate: '2025-10-19' })],
      waiting,
    );
    expect(one!.rankReasons.slice(0, 3)).toEqual([
      'Ready before the snow 1 point likelier than by waiting, 41 %.',
      'Jobs finish 1 day sooner in all.',
      'The parts are at hand 1 day before what is waited for.',
    ]);
  });

  it('says why, beside waiting', () => {
    const [first] = rankShortageOptions(
      [option('bin', { readiness: 0.71, completionDays: -9, lateDays: -9, cost: new Decimal('4.20') })],
      waiting,
    );
    expect(first!.rankReasons).toEqual([
      'Ready before the snow 31 points likelier than by waiting, 71 %.',
      'Jobs finish 9 days sooner in all.',
      'The parts are at hand 19 days before what is waited for.',
      'It costs 4.2.',
    ]);
    const [unknown] = rankShortageOptions([option('x', { arrivalDate: null, cost: null, readiness: null })], waiting);
    expect(unknown!.rankReasons).toEqual([
      'No job finishes sooner by it.',
      'Nobody knows when the parts would be at hand.',
      'Its cost is not known.',
    ]);
  });

  it('is the same whatever order the options come in', () => {
    const any = fc
      .record({
        allowed: fc.boolean(),
        arrivalDate: fc.constantFrom(null, '2025-10-01', '2025-10-05'),
        cost: fc.constantFrom(null, '1', '2.5').map((c) => (c === null ? null : new Decimal(c))),
        lateDays: fc.integer({ min: -3, max: 3 }),
        readiness: fc.constantFrom(null, 0.1, 0.104, 0.9),
      })
      .map((one) => ({ ...one, completionDays: one.lateDays, jobsGained: 0, outlay: one.cost }));
    fc.assert(
      fc.property(fc.array(any, { maxLength: 8 }), (options) => {
        const key = (o: ShortageOption) => [
          o.allowed,
          Math.round((o.readiness ?? -0.01) * 100),
          o.lateDays,
          o.cost?.toFixed() ?? null,
          o.arrivalDate,
        ];
        expect(rankShortageOptions([...options].reverse(), waiting).map(key)).toEqual(
          rankShortageOptions(options, waiting).map(key),
        );
      }),
      { numRuns: 100 },
    );
  });
});

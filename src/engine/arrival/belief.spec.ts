import { createRequire } from 'node:module';
import { describe, expect, it } from '@jest/globals';
import { studentQuantile } from '../statistics/index.js';
import { type Belief, meanOf, observe, predict, predictiveQuantile, probabilityAbove } from './belief.js';

const { jStat } = createRequire(import.meta.url)('jstat');

describe('normal-inverse-gamma update', () => {
  // Hoff 2009, A First Course in Bayesian Statistical Methods, §5.3: midge wing lengths.
  const wings = [1.64, 1.7, 1.72, 1.74, 1.82, 1.82, 1.82, 1.9, 2.08];
  const prior: Belief = { meanLog: 1.9, weight: 1, variance: 0.01, freedom: 1 };

  it('gives the published posterior and intervals', () => {
    const after = observe(prior, wings);
    expect(after.weight).toBe(10);
    expect(after.freedom).toBe(10);
    expect(after.meanLog).toBeCloseTo(1.814, 3);
    expect(after.variance).toBeCloseTo(0.015324, 6);
    expect((after.freedom / 2) * after.variance).toBeCloseTo(0.07662, 5);
    const half = studentQuantile(0.975, after.freedom) * Math.sqrt(after.variance / after.weight);
    expect(after.meanLog - half).toBeCloseTo(1.7268, 4);
    expect(after.meanLog + half).toBeCloseTo(1.9012, 4);
    expect(predictiveQuantile(predict(after), 0.025)).toBeCloseTo(1.5247, 4);
    expect(predictiveQuantile(predict(after), 0.975)).toBeCloseTo(2.1033, 4);
  });

  it('is the same one at a time or all at once', () => {
    const all = observe(prior, wings);
    const each = wings.reduce((belief, y) => observe(belief, [y]), prior);
    for (const key of ['meanLog', 'weight', 'variance', 'freedom'] as const)
      expect(each[key]).toBeCloseTo(all[key], 12);
  });

  it('predicts with the tail that jstat gives', () => {
    const after = observe(prior, wings);
    const scale = Math.sqrt(after.variance * 1.1);
    expect(probabilityAbove(predict(after), 2)).toBeCloseTo(1 - jStat.studentt.cdf((2 - after.meanLog) / scale, 10), 5);
  });
});

describe('bounds: lines still outstanding', () => {
  const prior: Belief = { meanLog: 2, weight: 2, variance: 0.3, freedom: 5 };

  /** The exact posterior by brute force on a fine grid of (μ, log σ²). */
  function exact(bounds: number[], at: number) {
    let total = 0;
    let mean = 0;
    let above = 0;
    for (let i = -120; i <= 120; i++) {
      const sd = Math.sqrt(prior.variance * Math.exp(i / 20));
      const logPrior = (prior.freedom / 2) * (-i / 20 - Math.exp(-i / 20));
      for (let j = -100; j <= 100; j++) {
        const mu = prior.meanLog + (j / 14) * (sd / Math.sqrt(prior.weight));
        const tail = (y: number) => 1 - jStat.normal.cdf(y, mu, sd);
        const mass = Math.exp(logPrior - (j / 14) ** 2 / 2) * bounds.reduce((product, b) => product * tail(b), 1);
        total += mass;
        mean += mass * mu;
        above += mass * tail(at);
      }
    }
    return { mean: mean / total, above: above / total };
  }

  it.each([[[]], [[1.5]], [[2.5]], [[2.2, 2.8]], [[3.5]], [[2.5, 2.5, 2.5, 2.5]]])(
    'absorbs %p within half a point of the exact posterior',
    (bounds) => {
      const after = predict(prior, bounds);
      for (const at of [1.8, 2.6, 3.4])
        expect(Math.abs(probabilityAbove(after, at) - exact(bounds, at).above)).toBeLessThan(0.005);
      expect(Math.abs(meanOf(after).meanLog - exact(bounds, 0).mean)).toBeLessThan(0.02);
    },
  );

  it('moves later, never earlier, and a bound far below says nothing', () => {
    expect(meanOf(predict(prior, [2.5])).meanLog).toBeGreaterThan(prior.meanLog);
    const idle = meanOf(predict(prior, [-12]));
    expect(idle.meanLog).toBeCloseTo(prior.meanLog, 3);
    expect(idle.weight).toBeCloseTo(prior.weight, 2);
  });

  it('stays a belief however absurd the bound', () => {
    for (const bound of [8, 20, 200]) {
      const after = predict(prior, [bound, bound, bound]);
      expect(probabilityAbove(after, bound)).toBeGreaterThan(0);
      expect(probabilityAbove(after, bound)).toBeLessThanOrEqual(1);
      expect(probabilityAbove(after, -50)).toBeCloseTo(1, 6);
    }
  });
});

import { createRequire } from 'node:module';
import { describe, expect, it } from '@jest/globals';
import { digamma } from '../../../test/oracles/digamma.js';
import { fitGamma, fitLogNormal } from '../../../test/oracles/fit.js';
import {
  betaLower,
  gammaLower,
  gammaQuantile,
  gammaUpper,
  logGamma,
  normalCdf,
  normalHazard,
  normalQuantile,
  normalTail,
  studentCdf,
  studentLogDensity,
  studentQuantile,
  studentTail,
  trigamma,
} from './index.js';

// Second opinion: the statistics library jstat from the npm registry.
const { jStat } = createRequire(import.meta.url)('jstat');

describe('special functions agree with jstat', () => {
  it('log-gamma and incomplete gamma', () => {
    for (const a of [0.1, 0.5, 1, 2.5, 7, 33, 150]) {
      expect(logGamma(a)).toBeCloseTo(jStat.gammaln(a), 9);
      for (const x of [0.01, 0.4, 1, 3, 10, 40, 160]) {
        expect(gammaLower(a, x)).toBeCloseTo(jStat.lowRegGamma(a, x), 10);
        expect(gammaLower(a, x) + gammaUpper(a, x)).toBeCloseTo(1, 12);
      }
    }
  });

  it('normal cdf and quantile', () => {
    for (const z of [-5, -2, -0.3, 0, 0.7, 1.96, 4]) expect(normalCdf(z)).toBeCloseTo(jStat.normal.cdf(z, 0, 1), 12);
    for (const p of [1e-10, 0.001, 0.1, 0.5, 0.9, 0.9999]) {
      expect(normalCdf(normalQuantile(p))).toBeCloseTo(p, 13);
      expect(normalQuantile(p)).toBeCloseTo(jStat.normal.inv(p, 0, 1), 6);
    }
  });

  it('normal quantile gives the check values of its algorithm', () => {
    // Wichura 1988, Applied Statistics 37:477–484, the three values given for PPND16; from memory.
    expect(normalQuantile(0.25)).toBeCloseTo(-0.6744897501960817, 14);
    expect(normalQuantile(0.001)).toBeCloseTo(-3.090232306167814, 14);
    expect(normalQuantile(1e-20)).toBeCloseTo(-9.262340089798408, 14);
  });

  it('normal cdf agrees with the incomplete gamma function, in the far tail too', () => {
    for (let z = 0; z < 37; z += 0.37) {
      const exact = gammaUpper(0.5, (z * z) / 2) / 2;
      expect(Math.abs(normalTail(z) / exact - 1)).toBeLessThan(1e-8);
      expect(Math.abs(normalTail(z) - exact)).toBeLessThan(1e-14);
    }
  });

  it('Student t and incomplete beta', () => {
    for (const v of [1, 2.5, 4, 10, 80]) {
      for (const t of [-6, -1, -0.1, 0, 0.4, 2, 9]) {
        expect(studentCdf(t, v)).toBeCloseTo(jStat.studentt.cdf(t, v), 7);
        expect(Math.exp(studentLogDensity(t, v))).toBeCloseTo(jStat.studentt.pdf(t, v), 7);
      }
      for (const p of [0.02, 0.5, 0.8, 0.99]) expect(studentQuantile(p, v)).toBeCloseTo(jStat.studentt.inv(p, v), 6);
    }
    expect(betaLower(0.3, 2, 5)).toBeCloseTo(jStat.ibeta(0.3, 2, 5), 12);
    expect(studentTail(1e6, 3)).toBeGreaterThan(0);
  });

  it('digamma and trigamma are the slopes they claim to be', () => {
    for (const x of [0.3, 1, 4.2, 25]) {
      const h = 1e-4 * x;
      expect(digamma(x)).toBeCloseTo((logGamma(x + h) - logGamma(x - h)) / (2 * h), 5);
      expect(trigamma(x)).toBeCloseTo((digamma(x + h) - digamma(x - h)) / (2 * h), 5);
    }
    // ψ(1) = −γ, ψ′(1) = π²/6 (Abramowitz & Stegun 6.3.2, 6.4.2; from memory).
    expect(digamma(1)).toBeCloseTo(-0.5772156649015329, 12);
    expect(trigamma(1)).toBeCloseTo(Math.PI ** 2 / 6, 11);
  });

  it('the far normal tail and its hazard stay finite', () => {
    expect(normalTail(30)).toBeGreaterThan(0);
    expect(normalHazard(29.999)).toBeCloseTo(normalHazard(30.001), 1);
    expect(normalHazard(1e3)).toBeCloseTo(1000.001, 6);
  });
});

describe('fits against published values', () => {
  // Reliawiki, "Gamma Distribution Example" (Life Data Analysis reference): k = 50.4908, ln θ = 0.0772.
  const first = [61, 50, 67, 49, 53, 62, 53, 61, 43, 65, 53, 56, 62, 56, 58, 55, 58, 48, 66, 44, 48, 58, 43, 40];
  // Air-conditioner gaps, Cox & Snell 1981 (GAMS model MLGAMMA holds the data); fitted values computed with scipy.
  const gaps = [
    90, 10, 60, 186, 61, 49, 14, 24, 56, 20, 79, 84, 44, 59, 29, 118, 25, 156, 310, 76, 26, 44, 23, 62, 130, 208, 70,
    101, 208,
  ];
  // Reliawiki, log-normal complete-data example: mean 2.83, standard deviation 1.10 (maximum likelihood).
  const times = [2, 5, 11, 23, 29, 37, 43, 59];

  it('gamma, 24 units', () => {
    const fit = fitGamma(first);
    expect(fit.shape).toBeCloseTo(50.4908, 3);
    expect(Math.log(fit.scale)).toBeCloseTo(0.0772, 4);
    expect(fit.logLikelihood).toBeCloseTo(-82.80895, 4);
    // Derived survival and quantiles, computed with scipy from the same fit.
    const survival = (t: number) => gammaUpper(fit.shape, t / fit.scale);
    expect(survival(55)).toBeCloseTo(0.457615, 5);
    expect(survival(60)).toBeCloseTo(0.231097, 5);
    expect(survival(60) / survival(55)).toBeCloseTo(0.505003, 5);
    expect(gammaQuantile(0.5, fit.shape, fit.scale)).toBeCloseTo(54.182, 2);
    expect(gammaQuantile(0.9, fit.shape, fit.scale)).toBeCloseTo(64.581, 2);
  });

  it('gamma, 29 gaps', () => {
    const fit = fitGamma(gaps);
    expect(fit.shape).toBeCloseTo(1.670988, 5);
    expect(fit.scale).toBeCloseTo(49.98076, 3);
    expect(fit.logLikelihood).toBeCloseTo(-155.34679, 4);
    const survival = (t: number) => gammaUpper(fit.shape, t / fit.scale);
    expect(survival(60)).toBeCloseTo(0.555138, 5);
    expect(survival(120) / survival(60)).toBeCloseTo(0.40751, 5);
  });

  it('log-normal, 8 times, dividing by n', () => {
    const fit = fitLogNormal(times);
    expect(fit.meanLog).toBeCloseTo(2.83, 2);
    expect(fit.sdLog).toBeCloseTo(1.1, 2);
    expect(fit.meanLog).toBeCloseTo(2.831616, 6);
    expect(fit.sdLog).toBeCloseTo(1.098746, 6);
    // The misprint to avoid: n − 1 would give 1.1746.
    expect(Math.abs(fit.sdLog - 1.174608)).toBeGreaterThan(0.05);
    const survival = (t: number) => normalTail((Math.log(t) - fit.meanLog) / fit.sdLog);
    expect(survival(20)).toBeCloseTo(0.440632, 5);
    expect(survival(40) / survival(20)).toBeCloseTo(0.493906, 5);
    expect(Math.exp(fit.meanLog + fit.sdLog * normalQuantile(0.9))).toBeCloseTo(69.388, 2);
  });

  it('refuses what has no fit', () => {
    expect(() => fitGamma([3, 3, 3])).toThrow('all alike');
    expect(() => fitLogNormal([1])).toThrow('at least two');
    expect(() => fitLogNormal([1, 0])).toThrow('not above zero');
  });
});

import { describe, expect, it } from '@jest/globals';
import { leastSquares } from './least-squares.js';

/** Correct significant digits: −log10 of the relative error, as NIST's StRD defines LRE. */
const digits = (got: number, certified: number): number =>
  got === certified ? 16 : -Math.log10(Math.abs(got - certified) / Math.abs(certified));

describe('NIST Statistical Reference Datasets, linear regression', () => {
  // NIST StRD Norris (lower difficulty); certified values and data from the NIST file Norris.dat.
  it('Norris to nine digits', () => {
    const pairs = `0.2,0.1 337.4,338.8 118.2,118.1 884.6,888.0 10.1,9.2 226.5,228.1 666.3,668.5 996.3,998.5 448.6,449.1
      777.0,778.9 558.2,559.2 0.4,0.3 0.6,0.1 775.5,778.1 666.9,668.8 338.0,339.3 447.5,448.9 11.6,10.8 556.0,557.7
      228.1,228.3 995.8,998.0 887.6,888.8 120.2,119.6 0.3,0.3 0.3,0.6 556.8,557.6 339.1,339.3 887.2,888.0 999.0,998.5
      779.0,778.9 11.1,10.2 118.3,117.6 229.2,228.9 669.1,668.4 448.9,449.2 0.5,0.2`
      .trim()
      .split(/\s+/)
      .map((pair) => pair.split(',').map(Number) as [number, number]);
    expect(pairs).toHaveLength(36);
    const fit = leastSquares(
      pairs.map(([x]) => [1, x]),
      pairs.map(([, y]) => y),
    );
    for (const [got, certified] of [
      [fit.coefficients[0], -0.262323073774029],
      [fit.coefficients[1], 1.00211681802045],
      [fit.standardErrors[0], 0.232818234301152],
      [fit.standardErrors[1], 0.000429796848199937],
      [fit.residualDeviation, 0.884796396144373],
      [fit.rSquared, 0.999993745883712],
      [fit.regressionSumOfSquares, 4255954.13232369],
      [fit.residualSumOfSquares, 26.6173985294224],
      [fit.fStatistic, 5436385.54079785],
    ] as const)
      expect(digits(got!, certified)).toBeGreaterThan(9);
  });

  // NIST StRD Longley (higher difficulty); data from R's datasets::longley in NIST's units, certified values as quoted
  // by five independent public test suites.
  it('Longley to seven digits', () => {
    const column = (text: string): number[] => text.split(' ').map(Number);
    const y = column('60323 61122 60171 61187 63221 63639 64989 63761 66019 67857 68169 66513 68655 69564 69331 70551');
    const x = [
      column('83 88.5 88.2 89.5 96.2 98.1 99 100 101.2 104.6 108.4 110.8 112.6 114.2 115.7 116.9'),
      column(
        '234289 259426 258054 284599 328975 346999 365385 363112 397469 419180 442769 444546 482704 502601 518173 554894',
      ),
      column('2356 2325 3682 3351 2099 1932 1870 3578 2904 2822 2936 4681 3813 3931 4806 4007'),
      column('1590 1456 1616 1650 3099 3594 3547 3350 3048 2857 2798 2637 2552 2514 2572 2827'),
      column(
        '107608 108632 109773 110929 112075 113270 115094 116219 117388 118734 120445 121950 123366 125368 127852 130081',
      ),
      Array.from({ length: 16 }, (_, year) => 1947 + year),
    ];
    const fit = leastSquares(
      y.map((_, i) => [1, ...x.map((each) => each[i]!)]),
      y,
    );
    const coefficients = [
      -3482258.63459582, 15.0618722713733, -0.035819179292591, -2.02022980381683, -1.03322686717359,
      -0.0511041056535807, 1829.15146461355,
    ];
    const deviations = [
      890420.383607373, 84.9149257747669, 0.0334910077722432, 0.488399681651699, 0.214274163161675, 0.22607320006937,
      455.478499142212,
    ];
    const reached = [
      ...coefficients.map((certified, j) => digits(fit.coefficients[j]!, certified)),
      ...deviations.map((certified, j) => digits(fit.standardErrors[j]!, certified)),
      digits(fit.residualDeviation, 304.854073561965),
      digits(fit.rSquared, 0.995479004577296),
      digits(fit.fStatistic, 330.285339234588),
      digits(fit.residualSumOfSquares, 836424.055505915),
    ];
    expect(Math.min(...reached)).toBeGreaterThan(7);
  });

  it('refuses what has no answer', () => {
    expect(() => leastSquares([[1, 2]], [1])).toThrow(expect.objectContaining({ code: 'too-few' }));
    expect(() =>
      leastSquares(
        [
          [1, 2],
          [1, 2],
          [1, 2],
        ],
        [1, 2, 3],
      ),
    ).toThrow(expect.objectContaining({ code: 'collinear' }));
    expect(() =>
      leastSquares(
        [
          [1, NaN],
          [1, 2],
        ],
        [1, 2],
      ),
    ).toThrow(expect.objectContaining({ code: 'bad-number' }));
  });
});

/**
 * Remission of leukaemia, weeks: Freireich et al. (1963), Blood 21, 699–716; data as in R's MASS::gehan, curve as R's
 * survfit gives it and as textbooks print it to three places (Kleinbaum & Klein, Collett: recalled).
 */
import { describe, expect, it } from '@jest/globals';
import { productLimit, ranksOf, survivalAfter, type Watched } from './product-limit.js';
import { rankedQuantile } from './quantile.js';

const event = (time: number): Watched => ({ time, event: true });
const lost = (time: number): Watched => ({ time, event: false });
const treated = [
  ...[6, 6, 6, 7, 10, 13, 16, 22, 23].map(event),
  ...[6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35].map(lost),
];
const control = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23].map(event);

describe('the product-limit estimate', () => {
  it('reproduces the treated arm, with Greenwood errors', () => {
    const expected = [
      [6, 21, 3, 0.857143, 0.07636],
      [7, 17, 1, 0.806723, 0.086935],
      [10, 15, 1, 0.752941, 0.09635],
      [13, 12, 1, 0.690196, 0.106815],
      [16, 11, 1, 0.627451, 0.114054],
      [22, 7, 1, 0.537815, 0.128234],
      [23, 6, 1, 0.448179, 0.134591],
    ];
    const steps = productLimit(treated);
    expect(steps).toHaveLength(expected.length);
    steps.forEach((step, k) => {
      const [time, atRisk, events, survival, error] = expected[k]!;
      expect([step.time, step.atRisk, step.events]).toEqual([time, atRisk, events]);
      expect(step.survival).toBeCloseTo(survival!, 6);
      expect(step.standardError).toBeCloseTo(error!, 6);
    });
  });

  it('reproduces the control arm, where nobody was lost', () => {
    const expected = [
      [1, 0.9048],
      [2, 0.8095],
      [3, 0.7619],
      [4, 0.6667],
      [5, 0.5714],
      [8, 0.381],
      [11, 0.2857],
      [12, 0.1905],
      [15, 0.1429],
      [17, 0.0952],
      [22, 0.0476],
      [23, 0],
    ];
    expect(productLimit(control).map(({ time, survival }) => [time, Math.round(survival * 1e4) / 1e4])).toEqual(
      expected,
    );
  });

  it('finds the medians 23 and 8', () => {
    const median = (watched: Watched[]) => {
      const { points, count } = ranksOf(productLimit(watched));
      return rankedQuantile(points, count, 0.5, 'inverseEmpirical');
    };
    expect(median(treated)).toBe(23);
    expect(median(control)).toBe(8);
  });

  it('is conditional on having waited by counting only those still waiting', () => {
    const steps = productLimit(treated);
    for (const [later, waited, expected] of [
      [16, 6, 0.732026],
      [16, 10, 0.833333],
      [23, 10, 0.595238],
      [22, 13, 0.779221],
      [23, 16, 0.714286],
    ] as const) {
      expect(survivalAfter(steps, later) / survivalAfter(steps, waited)).toBeCloseTo(expected, 6);
      // The same from those alone who were still at risk.
      expect(survivalAfter(productLimit(treated.filter((one) => one.time > waited)), later)).toBeCloseTo(expected, 6);
    }
  });

  it('counts a weight as so many alike', () => {
    const doubled = productLimit([...treated, ...treated]);
    expect(productLimit(treated.map((one) => ({ ...one, weight: 2 })))).toEqual(doubled);
  });

  it('ranks tied events one by one, and nobody who was lost before the first', () => {
    expect(ranksOf(productLimit([lost(0), event(1), event(1), event(3), lost(9)]))).toEqual({
      points: [
        { value: 1, rank: 1 },
        { value: 1, rank: 2 },
        { value: 3, rank: 3 },
      ],
      count: 4,
    });
    expect(ranksOf(productLimit([lost(5)]))).toEqual({ points: [], count: 0 });
  });
});

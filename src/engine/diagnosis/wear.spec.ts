/**
 * Wear looked ahead, against hand-worked cases and jstat (a statistics library, MIT): its normal distribution for the
 * probabilities, and lives drawn with its quantile function for the intervals.
 */
import { createRequire } from 'node:module';
import { describe, expect, it } from '@jest/globals';
import { Decimal } from 'decimal.js';
import { Random } from '../statistics/random.js';
import { replaceOrLeave } from './replace-or-leave.js';
import { bridgesOver } from './skip.js';
import { projectWear } from './wear.js';

const { normal } = createRequire(import.meta.url)('jstat') as {
  normal: {
    cdf(x: number, mean: number, deviation: number): number;
    inv(p: number, mean: number, deviation: number): number;
  };
};

describe('wear', () => {
  it('from two readings alone is the line through them', () => {
    // 9 mm new, 7.4 two seasons later: 0.8 a season, 1.4 above a limit of 6, so 1.75 seasons.
    const wear = projectWear({
      readings: [
        { season: 0, value: 9 },
        { season: 2, value: 7.4 },
      ],
      limit: 6,
      grows: false,
      readingError: 0.1,
      typical: null,
    });
    expect(wear.left).toBeCloseTo(1.4, 9);
    expect(wear.perSeason).toBeCloseTo(0.8, 9);
    // The variance of a difference of two readings, over two seasons: √2 · 0.1 ÷ 2.
    expect(wear.perSeasonDeviation).toBeCloseTo((Math.SQRT2 * 0.1) / 2, 9);
    expect(wear.seasonsLeft.likely).toBeCloseTo(1.75, 6);
    // d − r·x: variance 0.01 + 0.005 x² + 2 · 0.005 x, since the last reading lies in both with covariance −0.005.
    for (const x of [0.5, 1, 2, 3])
      expect(wear.probabilityPastLimit(x)).toBeCloseTo(
        normal.cdf((0.8 * x - 1.4) / Math.sqrt(0.01 + 0.005 * x * x + 0.01 * x), 0, 1),
        6,
      );
    // The ends of the interval are where jstat's quantiles of one in ten say.
    for (const [end, p] of [
      [wear.seasonsLeft.low!, 0.1],
      [wear.seasonsLeft.high!, 0.9],
    ] as const)
      expect((0.8 * end - 1.4) / Math.sqrt(0.01 + 0.005 * end * end + 0.01 * end)).toBeCloseTo(normal.inv(p, 0, 1), 4);
  });

  it('from one reading and a usual rate has the intervals that drawn lives have', () => {
    const wear = projectWear({
      readings: [{ season: 0, value: 8 }],
      limit: 6,
      grows: false,
      readingError: 0.3,
      typical: { perSeason: 1, deviation: 0.25 },
    });
    const random = new Random(7, 1);
    const lives = Array.from(
      { length: 40_000 },
      () => normal.inv(random.next(), 2, 0.3) / normal.inv(random.next(), 1, 0.25),
    ).sort((a, b) => a - b);
    for (const [value, p] of [
      [wear.seasonsLeft.low, 0.1],
      [wear.seasonsLeft.likely, 0.5],
      [wear.seasonsLeft.high, 0.9],
    ] as const)
      expect(Math.abs(value! - lives[Math.floor(p * lives.length)]!)).toBeLessThan(0.04);
    expect(wear.probabilityPastLimit(1)).toBeCloseTo(normal.cdf((1 - 2) / Math.hypot(0.3, 0.25), 0, 1), 6);
  });

  it('weighs readings and the usual rate: an odd pair of readings moves it only so far', () => {
    // Slope of the readings 2 with deviation √2·0.3 = 0.424, usual 1 with 0.2: precision weights 5.556 and 25 make 1.1818.
    const wear = projectWear({
      readings: [
        { season: 3, value: 10 },
        { season: 4, value: 8 },
      ],
      limit: 6,
      grows: false,
      readingError: 0.3,
      typical: { perSeason: 1, deviation: 0.2 },
    });
    expect(wear.perSeason).toBeCloseTo((2 / 0.18 + 1 / 0.04) / (1 / 0.18 + 1 / 0.04), 6);
  });

  it('grows as play does, is over when past its limit, and has no end in sight without wear', () => {
    const play = { limit: 0.5, grows: true, readingError: 0.02, typical: { perSeason: 0.1, deviation: 0.02 } };
    expect(projectWear({ readings: [{ season: 0, value: 0.3 }], ...play }).seasonsLeft.likely).toBeCloseTo(2, 1);
    expect(projectWear({ readings: [{ season: 0, value: 0.7 }], ...play }).seasonsLeft.likely).toBe(0);
    const none = projectWear({
      readings: [
        { season: 0, value: 9 },
        { season: 5, value: 9.2 },
      ],
      limit: 6,
      grows: false,
      readingError: 0.1,
      typical: null,
    });
    expect(none.seasonsLeft.likely).toBeNull();
  });

  it('says when too little is known', () => {
    const alone = { limit: 6, grows: false, readingError: 0.1, typical: null };
    for (const readings of [
      [],
      [{ season: 0, value: 8 }],
      [
        { season: 1, value: 8 },
        { season: 1, value: 7 },
      ],
    ])
      expect(() => projectWear({ readings, ...alone })).toThrow(expect.objectContaining({ code: 'too-little-known' }));
  });
});

describe('replace now or leave it', () => {
  const case_ = {
    partCost: new Decimal(12),
    hourlyValue: new Decimal(30),
    minutesNow: 20,
    minutesLater: 80,
    costOfFailure: new Decimal(15),
  };
  // Now: 12 + 10 = 22. Once failed: 12 + 40 + 15 = 67. Break even at 22 ÷ 67 = 0.3284.
  it.each([
    [0.3, 'leave', 20.1],
    [0.33, 'replaceNow', 22.11],
    [1, 'replaceNow', 67],
    [0, 'leave', 0],
  ])('failing with probability %p: %s', (probabilityOfFailure, decision, leaving) => {
    const answer = replaceOrLeave({ ...case_, probabilityOfFailure });
    expect(answer.decision).toBe(decision);
    expect(answer.costNow.toNumber()).toBe(22);
    expect(answer.costOfLeaving.toNumber()).toBeCloseTo(leaving, 9);
    expect(answer.breakEvenProbability).toBeCloseTo(22 / 67, 9);
  });
  it('breaks even at 12 of 85 where hours do not count', () => {
    const plain = { partCost: new Decimal(12), hourlyValue: new Decimal(0), minutesNow: 0, minutesLater: 0 };
    const at = (probabilityOfFailure: number) =>
      replaceOrLeave({ ...plain, costOfFailure: new Decimal(73), probabilityOfFailure });
    expect(at(0.2).breakEvenProbability).toBeCloseTo(12 / 85, 12);
    expect([at(0.14).decision, at(0.1412).decision]).toEqual(['leave', 'replaceNow']);
  });
  it('refuses a probability above one and a cost below nothing', () => {
    expect(() => replaceOrLeave({ ...case_, probabilityOfFailure: 1.2 })).toThrow(
      expect.objectContaining({ code: 'bad-number' }),
    );
    expect(() => replaceOrLeave({ ...case_, probabilityOfFailure: 0.2, partCost: new Decimal(-1) })).toThrow(
      expect.objectContaining({ code: 'bad-number' }),
    );
  });
});

describe('the order over skipped tasks', () => {
  const link = (predecessorId: string, taskId: string) => ({ taskId, predecessorId });
  it('goes from what stays to what stays, once', () => {
    const links = [link('a', 'b'), link('b', 'c'), link('c', 'd'), link('a', 'e'), link('e', 'd'), link('x', 'c')];
    expect(bridgesOver(links, new Set(['b', 'c']))).toEqual([link('a', 'd'), link('x', 'd')]);
    expect(bridgesOver(links, new Set(['b', 'c', 'e']))).toEqual([link('a', 'd'), link('x', 'd')]);
    expect(bridgesOver(links, new Set())).toEqual([]);
  });
});

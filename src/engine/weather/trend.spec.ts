import { describe, expect, it } from '@jest/globals';
import { findTrend } from './trend.js';

const years = (values: number[], from = 1990) => values.map((value, k) => ({ year: from + k, value }));

describe('a trend', () => {
  it('has the statistic of a published example', () => {
    // mathcs.holycross.edu/~little/Montserrat/MannKendallByHand.txt: S = 54, Z = 2.9058, one-sided p about .0018, one tie.
    const trend = findTrend(
      years([12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9, 11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7]),
    );
    expect(trend.statistic).toBe(54);
    expect(trend.score).toBeCloseTo(2.9058, 4);
    expect(trend.pValue / 2).toBeCloseTo(0.0018, 4);
    // Fourteen seasons are too few to speak of.
    expect(trend.sentence).toBeNull();
  });

  it('has the statistic of Hollander and Wolfe, as R prints it', () => {
    // stat.sc.edu/~habing/courses/518splus3F98.html: tau 0.4444444 over 36 pairs, so S = 16. Ordered by x.
    const x = [44.4, 45.9, 41.9, 53.3, 44.7, 44.1, 50.7, 45.2, 60.1];
    const y = [2.6, 3.1, 2.5, 5.0, 3.6, 4.0, 5.2, 2.8, 3.8];
    const trend = findTrend(x.map((year, k) => ({ year, value: y[k]! })));
    expect(trend.statistic / 36).toBeCloseTo(0.4444444, 6);
  });

  it('finds a slope that outliers do not move, and says so in a sentence', () => {
    const values = Array.from({ length: 40 }, (_, k) => 130 + 0.25 * k + ((k * 7) % 5));
    values[5] = 250;
    const trend = findTrend(years(values));
    // Computed with scipy 1.17.1, theilslopes at 0.95 and kendalltau; not published numbers.
    expect(trend.daysPerDecade).toBeCloseTo(2.5, 9);
    expect(trend.lowDaysPerDecade).toBeCloseTo(2.0454545454545456, 9);
    expect(trend.highDaysPerDecade).toBeCloseTo(2.857142857142857, 9);
    expect(trend.statistic / 780).toBeCloseTo(0.6461538461538462, 9);
    expect(trend.sentence).toMatch(/^Over 40 seasons from 1990 to 2029 it has come about 2\.5 days later each decade/);
    expect(findTrend(years(values.map((value) => -value))).sentence).toContain('earlier');
  });

  it('is silent where the record does not support one', () => {
    const values = Array.from({ length: 60 }, (_, k) => 130 + ((k * 37) % 23));
    const trend = findTrend(years(values));
    expect(trend.pValue).toBeGreaterThan(0.05);
    expect(trend.sentence).toBeNull();
    expect(findTrend([]).sentence).toBeNull();
    expect(findTrend(years([5, 5, 5]))).toMatchObject({ statistic: 0, pValue: 1, daysPerDecade: 0, sentence: null });
  });

  it('takes a season without an event as later than any', () => {
    const never = findTrend(years([100, 101, 102, Infinity, 103, Infinity]));
    const late = findTrend(years([100, 101, 102, 999, 103, 999]));
    expect([never.statistic, never.score]).toEqual([late.statistic, late.score]);
  });
});

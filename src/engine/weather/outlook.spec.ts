import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { isoDay } from '../days.js';
import { bootstrapQuantiles } from './bootstrap.js';
import { type EventRule, firstSnowRule, lastFrostRule, type Season, seasonLabel, seasonSpan } from './first-event.js';
import { eventDistribution, eventOutlook, eventQuantile, givenNoneBy, probabilityBy } from './outlook.js';

const rule = firstSnowRule(25);

/** Seasons from their days of season; null had none, `{ to }` is still running. */
function made(list: (number | null | { to: number })[], by: EventRule = rule, fromYear = 2000): Season[] {
  return list.map((one, k) => {
    const { start, end } = seasonSpan(by, fromYear + k);
    const observed = {
      label: seasonLabel(by, fromYear + k),
      startYear: fromYear + k,
      startDate: isoDay(start),
      endDate: isoDay(end),
      watchedDays: 153,
      missingDays: 0,
      reason: null,
    };
    const unseen = { eventDate: null, dayOfSeason: null, amount: null };
    if (one === null) return { ...observed, ...unseen, status: 'none', knownToDayOfSeason: null };
    if (typeof one === 'object') return { ...observed, ...unseen, status: 'running', knownToDayOfSeason: one.to };
    const seen = { eventDate: isoDay(start + one), dayOfSeason: one, amount: 30 };
    return { ...observed, ...seen, status: 'event', knownToDayOfSeason: null };
  });
}

describe('the outlook for a winter', () => {
  it('tells quantiles as days of that winter, earliest and latest, and chances by days', () => {
    const outlook = eventOutlook({
      rule,
      seasons: made([120, 130, 140, 150, 160]),
      startYear: 2026,
      probabilities: [0.5],
      days: ['2026-11-08', '2026-11-07', '2026-06-01'],
    });
    expect(outlook).toMatchObject({
      seasonLabel: '2026-27',
      quantileType: 'medianUnbiased',
      quantiles: [{ probability: 0.5, day: '2026-11-18', dayOfSeason: 140, earliestLikelyDate: null }],
      earliest: { day: '2000-10-29', label: '2000-01' },
      latest: { day: '2004-12-08', label: '2004-05' },
      probabilities: [
        { day: '2026-11-08', probability: 0.4 },
        { day: '2026-11-07', probability: 0.2 },
        { day: '2026-06-01', probability: 0 },
      ].map(({ day, probability }) => ({ day, probability: expect.closeTo(probability, 12) })),
      probabilityNever: expect.closeTo(0, 12),
      used: { event: 5, none: 0, running: 0 },
    });
    expect(outlook.curve.map((one) => one.day)).toEqual([
      '2026-07-01',
      '2026-10-29',
      '2026-11-08',
      '2026-11-18',
      '2026-11-28',
      '2026-12-08',
      '2027-06-30',
    ]);
  });

  it('counts a winter without snow as "not by the end"', () => {
    const outlook = eventOutlook({
      rule,
      seasons: made([120, 130, 140, null]),
      startYear: 2026,
      probabilities: [0.5, 0.9],
    });
    expect(outlook.probabilityNever).toBeCloseTo(0.25, 12);
    expect(outlook.quantiles.map((one) => one.day)).toEqual(['2026-11-13', null]);
    expect(outlook.reasons[1]).toContain('1 of them passed without');
  });

  it('asks, given none so far, only the winters that were alike', () => {
    const seasons = made([120, 130, 140, 150, null]);
    const outlook = eventOutlook({
      rule,
      seasons,
      startYear: 2026,
      noneByDate: '2026-11-08',
      days: ['2026-11-18'],
      probabilities: [0.5],
    });
    expect(outlook.seasonsAlike).toBe(3);
    expect(outlook.probabilities[0]!.probability).toBeCloseTo(1 / 3, 12);
    expect(outlook.curve[0]).toEqual({ day: '2026-07-01', probability: 0 });
    // Later than any on record: the record cannot say, and nothing is made up.
    const late = eventOutlook({
      rule,
      seasons: made([120, 130]),
      startYear: 2026,
      noneByDate: '2027-01-10',
      days: ['2027-02-01'],
    });
    expect(late).toMatchObject({
      seasonsAlike: 0,
      quantiles: [],
      curve: [],
      probabilityNever: null,
      probabilities: [{ day: '2027-02-01', probability: null }],
    });
    expect(late.reasons.at(-1)).toContain('the record cannot say');
  });

  it('says when the event of that winter is already on record, and does not count it among the others', () => {
    const seasons = made([120, 130, 140]);
    const outlook = eventOutlook({ rule, seasons, startYear: 2001, probabilities: [0.5] });
    expect(outlook.happenedDate).toBe('2001-11-08');
    expect(outlook.used.event).toBe(2);
  });

  it('gives intervals that are the same for the same seed and hold the estimate', () => {
    const seasons = made(Array.from({ length: 40 }, (_, k) => 120 + ((k * 7) % 41)));
    const ask = (seed: number) =>
      eventOutlook({ rule, seasons, startYear: 2050, probabilities: [0.5], bootstrap: { seed, resamples: 400 } })
        .quantiles[0]!;
    const one = ask(1);
    expect(ask(1)).toEqual(one);
    expect(one.earliestLikelyDate! < one.day! && one.day! < one.latestLikelyDate!).toBe(true);
    expect(() => eventOutlook({ rule, seasons, startYear: 2050, bootstrap: { seed: 1, resamples: 5 } })).toThrow(
      expect.objectContaining({ code: 'out-of-range' }),
    );
  });

  it('gives a bootstrap interval as wide as theory asks', () => {
    // The median of n normal values has a standard error of 1.2533 σ/√n for large n (Kendall & Stuart: recalled), so a
    // 90 % interval reaches 1.645 of those to either side: 20.6 for σ = 200 and n = 400.
    const watched = Array.from({ length: 400 }, (_, k) => ({
      time: 1000 + 200 * probit((k + 0.5) / 400),
      event: true,
    }));
    const [{ low, high }] = bootstrapQuantiles(watched, [0.5], 'medianUnbiased', 'first', {
      seed: 7,
      resamples: 2000,
    }) as [{ low: number; high: number }];
    expect(Math.abs(1000 - 20.6 - low)).toBeLessThan(2.5);
    expect(Math.abs(1000 + 20.6 - high)).toBeLessThan(2.5);
  });
});

/** A normal quantile good to 0.0005: Abramowitz & Stegun 26.2.23. */
function probit(p: number): number {
  if (p > 0.5) return -probit(1 - p);
  const t = Math.sqrt(-2 * Math.log(p));
  return -(t - (2.515517 + t * (0.802853 + t * 0.010328)) / (1 + t * (1.432788 + t * (0.189269 + t * 0.001308))));
}

describe('chances', () => {
  const winters = fc.array(
    fc.oneof(fc.integer({ min: 60, max: 300 }), fc.constant(null), fc.record({ to: fc.integer({ min: 0, max: 300 }) })),
    { minLength: 1, maxLength: 40 },
  );

  it('never fall with the day, and are those of the product-limit estimate given none so far', () => {
    fc.assert(
      fc.property(winters, fc.integer({ min: 0, max: 364 }), fc.integer({ min: 0, max: 364 }), (list, a, b) => {
        const distribution = eventDistribution(made(list));
        const [early, late] = [Math.min(a, b), Math.max(a, b)];
        expect(probabilityBy(distribution, late)).toBeGreaterThanOrEqual(probabilityBy(distribution, early) - 1e-12);
        const still = 1 - probabilityBy(distribution, early);
        const given = givenNoneBy(distribution, early);
        if (given.watched.length > 0 && still > 1e-9)
          expect(1 - probabilityBy(given, late)).toBeCloseTo((1 - probabilityBy(distribution, late)) / still, 9);
      }),
    );
  });

  it('for a last frost are the share of springs whose last was by then', () => {
    const spring = lastFrostRule();
    const seasons = made([100, 110, 120, null], spring);
    const distribution = eventDistribution(seasons, 'last');
    expect([99, 100, 115, 120].map((day) => probabilityBy(distribution, day))).toEqual(
      [0.25, 0.5, 0.75, 1].map((probability) => expect.closeTo(probability, 12)),
    );
    // The spring without frost is earlier than any: a quarter of all lie there.
    expect(eventQuantile(distribution, 0.1)).toBeUndefined();
    expect(eventQuantile(distribution, 0.9, 'linear')).toBeCloseTo(117, 9);
    const outlook = eventOutlook({
      rule: spring,
      seasons,
      startYear: 2026,
      probabilities: [0.9],
      quantileType: 'linear',
      bootstrap: { seed: 3, resamples: 200 },
    });
    expect(outlook.quantiles[0]!.day).toBe('2026-04-28');
    expect(outlook.probabilityNever).toBeCloseTo(0.25, 12);
    expect(() => givenNoneBy(distribution, 5)).toThrow(expect.objectContaining({ code: 'bad-rule' }));
  });
});

import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { dayNumber, isoDay } from '../days.js';
import { paintDate, paintDays, type PaintSettings, paintWindows } from './paint-days.js';
import { decidePaint, DEFAULT_PAINT_LIMITS } from './paint-decision.js';
import { airCelsiusThrough, dayDewPointCelsius, placeCelsiusThrough, placeTemperatures } from './place.js';
import { emptyDay, type StationDay, stationRecord } from './record.js';

const run = (from: string, list: Partial<StationDay>[]) =>
  stationRecord(
    list.map((one, k) => ({ ...emptyDay(isoDay(dayNumber(from) + k)), precipitationMillimetres: 0, ...one })),
  );
const mild = { highCelsius: 24, lowCelsius: 12, humidityPercent: 55 };
const may = (list: Partial<StationDay>[]) => run('2026-05-10', list);
const first = dayNumber('2026-05-10');
const outdoors: PaintSettings = { place: { shelter: 'outdoors' } };

describe('the curve of a day', () => {
  it('runs from the low at six to the high at three, and on to the next low', () => {
    const record = may([
      { highCelsius: 20, lowCelsius: 10 },
      { highCelsius: 30, lowCelsius: 14 },
      { highCelsius: 18, lowCelsius: 16 },
    ]);
    const celsius = airCelsiusThrough(record, first + 1)!;
    expect(celsius).toHaveLength(96);
    expect(Math.min(...celsius)).toBeCloseTo(14, 1);
    // The quarter that ends at six or the one that begins there.
    expect([23, 24]).toContain(celsius.indexOf(Math.min(...celsius)));
    expect(Math.max(...celsius)).toBeCloseTo(30, 1);
    // Halfway up at half past ten; halfway down, at half past ten at night, between its high and the next low.
    expect((celsius[41]! + celsius[42]!) / 2).toBeCloseTo(22, 6);
    expect((celsius[89]! + celsius[90]!) / 2).toBeCloseTo((30 + 16) / 2, 6);
    // No step at midnight.
    expect(Math.abs(celsius[0]! - airCelsiusThrough(record, first)!.at(-1)!)).toBeLessThan(0.3);
    expect(airCelsiusThrough(may([{ highCelsius: 20 }]), first)).toBeUndefined();
  });

  it('is flatter in a shed and never under its own temperature in a heated area', () => {
    const record = may([{ highCelsius: 20, lowCelsius: 10 }]);
    const range = (list: Float64Array) => Math.max(...list) - Math.min(...list);
    const air = placeCelsiusThrough(record, first, { shelter: 'outdoors' })!;
    expect(range(placeCelsiusThrough(record, first, { shelter: 'unheated', swingShare: 0.4 })!)).toBeCloseTo(
      0.4 * range(air),
      9,
    );
    const heated = placeCelsiusThrough(record, first, { shelter: 'heated', heatedToCelsius: 18 })!;
    expect([Math.min(...heated), Math.max(...heated)]).toEqual([18, Math.max(...air)]);
    expect(() => placeCelsiusThrough(record, first, { shelter: 'unheated', swingShare: 2 })).toThrow(
      expect.objectContaining({ code: 'out-of-range' }),
    );
  });

  it('becomes hourly spans for a coat, with a gap where nothing was observed', () => {
    const spans = placeTemperatures(may([mild, {}, mild]), {
      fromDayNumber: first,
      days: 3,
      place: { shelter: 'heated', heatedToCelsius: 30 },
      originMinute: 100,
    });
    expect(spans).toHaveLength(48);
    expect(spans[0]).toEqual({ fromMinute: 100, toMinute: 160, celsius: 30 });
    expect(spans[24]!.fromMinute).toBe(100 + 2 * 1440);
  });

  it("takes the day's low for its dew point where no humidity was observed", () => {
    expect(dayDewPointCelsius({ ...emptyDay('2026-05-10'), highCelsius: 24, lowCelsius: 12 })).toBe(12);
    // 18 °C at 55 %: 8.8 °C by the Magnus form.
    expect(dayDewPointCelsius({ ...emptyDay('2026-05-10'), ...mild })).toBeCloseTo(8.8, 1);
  });
});

describe('a paint day', () => {
  it('has the hours in which air and metal are warm and dry enough', () => {
    const close = { ...mild, humidityPercent: 75 };
    const record = may([close, close]);
    const day = paintDate(record, first, outdoors);
    expect(day).toMatchObject({ day: '2026-05-10', paintable: true, refusal: null });
    // Recounted quarter by quarter through the decision for one moment, the metal an hour behind the air.
    const celsius = airCelsiusThrough(record, first)!;
    const dew = dayDewPointCelsius({ ...emptyDay('2026-05-10'), ...close })!;
    const good = Array.from(celsius, (air, step) => qualifies(air, celsius[Math.max(0, step - 4)]!, dew));
    expect(good.filter(Boolean).length).toBeGreaterThan(16);
    expect(good.filter(Boolean).length).toBeLessThan(60);
    expect(day.windows).toEqual([{ fromMinute: good.indexOf(true) * 15, toMinute: (good.lastIndexOf(true) + 1) * 15 }]);
    expect(day.qualifyingMinutes).toBe(good.filter(Boolean).length * 15);
    expect(good[good.indexOf(true) - 4]).toBe(false);
  });

  it('is no paint day outdoors when rain fell, though it may be one in the shed', () => {
    const wet = may([{ ...mild, precipitationMillimetres: 4 }]);
    expect(paintDate(wet, first, outdoors)).toMatchObject({ paintable: false, refusal: 'rain', windows: [] });
    expect(paintDate(wet, first, { place: { shelter: 'unheated' } }).paintable).toBe(true);
    expect(paintDate(wet, first, { ...outdoors, maxPrecipitationMillimetres: 5 }).paintable).toBe(true);
  });

  it('says what kept it from being one', () => {
    const refusal = (day: Partial<StationDay>, change: Partial<PaintSettings> = {}) =>
      paintDate(may([day]), first, { ...outdoors, ...change }).refusal;
    expect(refusal({ highCelsius: 6, lowCelsius: -2, humidityPercent: 50 })).toBe('cold');
    expect(refusal({ highCelsius: 44, lowCelsius: 37, humidityPercent: 20 })).toBe('hot');
    expect(refusal({ highCelsius: 17, lowCelsius: 14, humidityPercent: 96 })).toBe('damp');
    expect(refusal(mild, { hours: { fromMinute: 720, toMinute: 780 } })).toBe('too-short');
  });

  it('is unknown, not unfit, when it was not observed', () => {
    expect(paintDate(may([{ highCelsius: 20 }]), first, outdoors).paintable).toBeNull();
    expect(paintDate(may([{ ...mild, precipitationMillimetres: null }]), first, outdoors).paintable).toBeNull();
    expect(
      paintDate(may([{ ...mild, precipitationMillimetres: null }]), first, { place: { shelter: 'unheated' } })
        .paintable,
    ).toBe(true);
    expect(paintDate(may([mild]), first + 9, outdoors).paintable).toBeNull();
  });

  it('in a heated area comes in winter too, since warmed air is dry', () => {
    const january = run('2026-01-10', [{ highCelsius: -4, lowCelsius: -12, humidityPercent: 80 }]);
    const day = paintDate(january, dayNumber('2026-01-10'), { place: { shelter: 'heated', heatedToCelsius: 18 } });
    expect(day.windows).toEqual([{ fromMinute: 0, toMinute: 1440 }]);
  });

  it('never has more hours for a stricter sheet', () => {
    const day = fc.record({
      lowCelsius: fc.integer({ min: -10, max: 25 }),
      range: fc.integer({ min: 0, max: 18 }),
      humidityPercent: fc.option(fc.integer({ min: 20, max: 100 })),
    });
    fc.assert(
      fc.property(
        day,
        fc.integer({ min: 0, max: 5 }),
        fc.integer({ min: 0, max: 30 }),
        ({ lowCelsius, range, humidityPercent }, margin, humid) => {
          const record = may([{ lowCelsius, highCelsius: lowCelsius + range, humidityPercent }]);
          const strict = {
            minCelsius: 10 + margin,
            maxCelsius: 35 - margin,
            maxHumidityPercent: 85 - humid,
            dewPointMarginCelsius: 3 + margin,
          };
          const easy = paintDate(record, first, outdoors).qualifyingMinutes;
          expect(paintDate(record, first, { ...outdoors, limits: strict }).qualifyingMinutes).toBeLessThanOrEqual(easy);
        },
      ),
    );
  });
});

function qualifies(air: number, metal: number, dew: number): boolean {
  // The decision takes humidity; go to it from the dew point by the published Magnus constants.
  const over = (celsius: number) => Math.exp((17.625 * celsius) / (243.04 + celsius));
  return decidePaint(
    { airCelsius: air, metalCelsius: metal, humidityPercent: Math.min(100, (100 * over(dew)) / over(air)) },
    DEFAULT_PAINT_LIMITS,
  ).allowed;
}

describe('windows for a schedule', () => {
  const heated: PaintSettings = { place: { shelter: 'heated', heatedToCelsius: 20 } };

  it('are minutes since a midnight, joined over the nights', () => {
    const days = paintDays(may([mild, mild]), '2026-05-10', '2026-05-12', heated);
    expect(days).toHaveLength(3);
    expect(paintWindows(days, '2026-05-09')).toEqual([{ startMinutes: 1440, endMinutes: 3 * 1440 }]);
    const working = paintDays(may([mild, mild]), '2026-05-10', '2026-05-11', {
      ...heated,
      hours: { fromMinute: 480, toMinute: 1020 },
    });
    expect(paintWindows(working, '2026-05-10')).toEqual([
      { startMinutes: 480, endMinutes: 1020 },
      { startMinutes: 1920, endMinutes: 2460 },
    ]);
    expect(paintWindows(working, '2026-05-10', 600)).toEqual([]);
  });

  it('refuse hours beyond a day', () => {
    expect(() => paintDate(may([mild]), first, { ...heated, hours: { fromMinute: 900, toMinute: 1500 } })).toThrow(
      expect.objectContaining({ code: 'out-of-range', path: 'hours' }),
    );
    expect(() =>
      paintDate(may([mild]), first, { ...heated, dayCurve: { coldestMinute: 900, warmestMinute: 300 } }),
    ).toThrow(expect.objectContaining({ path: 'dayCurve' }));
  });
});

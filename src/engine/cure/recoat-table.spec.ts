import { describe, expect, it } from '@jest/globals';
import { ageAt, ageTable, minuteOfAddedAge } from './age-table.js';
import { type CoatQuestion, coatStatus } from './coat-status.js';
import { constantCourse } from './course.js';
import { closingRate, type DryingSheet, openingRate } from './product.js';
import { type RecoatBand, recoatRatesOf, windowsAt } from './recoat-table.js';
import { primer } from './sheet.fixture.js';

const HOUR = 60;
const DAY = 1440;
/** As data sheets of two-part enamels print it (hours at 16–21, 22–27 and 28–32 °C), with invented hours. */
const bands: RecoatBand[] = [
  { minCelsius: 16, maxCelsius: 21, windows: [{ fromMinutes: 0, toMinutes: 4 * HOUR }, { fromMinutes: 48 * HOUR }] },
  { minCelsius: 22, maxCelsius: 27, windows: [{ fromMinutes: 0, toMinutes: 2 * HOUR }, { fromMinutes: 36 * HOUR }] },
  { minCelsius: 28, maxCelsius: 32, windows: [{ fromMinutes: 0, toMinutes: HOUR }, { fromMinutes: 30 * HOUR }] },
];
const reference = windowsAt(bands, 20);
const sheet: DryingSheet = { ...primer, recoatMinutes: reference, recoatRates: recoatRatesOf(reference, bands) };

const ask = (celsius: number, nowMinute: number, change: Partial<CoatQuestion> = {}) =>
  coatStatus({
    sheet,
    appliedMinute: 0,
    nowMinute,
    recorded: constantCourse(celsius, 0, 90 * DAY),
    scenarios: [[]],
    ...change,
  }).recoat;

describe("a sheet's recoat table", () => {
  it('opens and shuts each window at the hours printed for each column', () => {
    for (const { minCelsius, maxCelsius, windows } of bands) {
      const [first, second] = windows as [{ toMinutes: number }, { fromMinutes: number }];
      for (const celsius of [minCelsius, (minCelsius + maxCelsius) / 2, maxCelsius]) {
        expect(ask(celsius, first.toMinutes).allowedNow).toBe(true);
        expect(ask(celsius, first.toMinutes + 2)).toMatchObject({ allowedNow: false, code: 'between-windows' });
        expect(ask(celsius, second.fromMinutes - 2).allowedNow).toBe(false);
        expect(ask(celsius, second.fromMinutes).allowedNow).toBe(true);
      }
    }
  });

  it('is not opened early when warm, as doubling from the reference would have it', () => {
    // By the general rule a coat of 48 h at 20 °C is ready after 24 h at 30 °C; the sheet prints 30.
    const byRule = coatStatus({
      sheet: { ...primer, recoatMinutes: reference },
      appliedMinute: 0,
      nowMinute: 24 * HOUR,
      recorded: constantCourse(30, 0, DAY),
      scenarios: [[]],
    });
    expect(byRule.recoat.allowedNow).toBe(true);
    expect(ask(30, 24 * HOUR).allowedNow).toBe(false);
    expect(ask(30, 30 * HOUR).allowedNow).toBe(true);
  });

  it('goes by the general rule beyond its temperatures, never opening sooner than printed', () => {
    // 10 degrees below the lowest column: half as fast as there.
    expect(openingRate(sheet, 6)).toBeCloseTo(0.5, 12);
    expect(closingRate(sheet, 6)).toBeCloseTo(0.5, 12);
    expect(openingRate(sheet, 4)).toBe(0);
    expect(openingRate(sheet, 35)).toBeCloseTo(48 / 30, 12);
    expect(closingRate(sheet, 35)).toBeCloseTo(4 * 2 ** 0.3, 12);
    // Between two columns: the slower to open, the faster to shut.
    expect([openingRate(sheet, 21.5), closingRate(sheet, 21.5)]).toEqual([1, 2]);
  });

  it('is the same in the tables that the plan looks ages up in', () => {
    const celsius = Float64Array.from({ length: 240 }, (_, hour) => 19 + 12 * Math.sin(hour / 4));
    const table = ageTable(sheet, 0, celsius);
    const course = [...celsius].map((at, hour) => ({
      fromMinute: 60 * hour,
      toMinute: 60 * hour + 60,
      celsius: Math.round(at * 100) / 100,
    }));
    for (const now of [200, 2000, 5000, 9000]) {
      const { allowedNow } = ask(0, now, { recorded: course });
      const closing = ageAt(table.closing, 0, now);
      expect(allowedNow).toBe(now >= minuteOfAddedAge(table.drying, 0, 0, 48 * HOUR) || closing <= 4 * HOUR);
    }
  });

  it('is refused where its columns meet or are not alike', () => {
    expect(() => recoatRatesOf(reference, [bands[0]!, { ...bands[1]!, minCelsius: 20 }])).toThrow('apart');
    expect(() => recoatRatesOf(reference, [{ ...bands[0]!, windows: [{ fromMinutes: 60 }] }])).toThrow('same windows');
  });
});

describe('sanding', () => {
  const shutting: DryingSheet = { ...primer, recoatMinutes: [{ fromMinutes: 240, toMinutes: 1440 }] };
  const at = (nowMinute: number, sandedMinutes: number[]) => ask(20, nowMinute, { sheet: shutting, sandedMinutes });

  it('opens what has shut, from then on', () => {
    expect(at(2000, [])).toMatchObject({ allowedNow: false, code: 'closed' });
    expect(at(2000, [1900])).toMatchObject({ allowedNow: true, code: 'sanded' });
    expect(at(2000, [1900]).periods.at(-1)).toMatchObject({ opens: [{ minute: 1900 }, { minute: 1900 }] });
  });

  it('does nothing while the window is open or the coat too soft, nor between two windows', () => {
    expect(at(2000, [1000]).allowedNow).toBe(false);
    expect(at(1000, [900])).toMatchObject({ allowedNow: true, code: 'open' });
    const quick = { ...shutting, recoatMinutes: [{ fromMinutes: 10, toMinutes: 60 }] };
    // It can be handled after 480 minutes.
    expect(ask(20, 500, { sheet: quick, sandedMinutes: [300] }).allowedNow).toBe(false);
    expect(ask(20, 500, { sheet: quick, sandedMinutes: [490] }).allowedNow).toBe(true);
    expect(ask(20, 1000, { sheet: primer, sandedMinutes: [990] })).toMatchObject({ code: 'between-windows' });
  });
});

import { describe, expect, it } from '@jest/globals';
import { dayNumber, isoDay } from '../days.js';
import { findSeasons, firstSnowRule } from './first-event.js';
import { paintDays, type PaintSettings } from './paint-days.js';
import { paintDaysLeft, probabilityByFortnight, waitForPaintWindow } from './paint-outlook.js';
import { emptyDay, type StationDay, stationRecord } from './record.js';
import { drawWeatherYears, sourceDayNumber, weatherPath, weatherYears } from './weather-year.js';

const outdoors: PaintSettings = { place: { shelter: 'outdoors' } };
const fit = {
  highCelsius: 24,
  lowCelsius: 12,
  humidityPercent: 50,
  precipitationMillimetres: 0,
  snowfallMillimetres: 0,
};
const unfit = { ...fit, precipitationMillimetres: 9 };

function years(from: string, to: string, make: (day: string) => Partial<StationDay> | null): StationDay[] {
  const list: StationDay[] = [];
  for (let number = dayNumber(from); number <= dayNumber(to); number += 1) {
    const made = make(isoDay(number));
    if (made) list.push({ ...emptyDay(isoDay(number)), ...made });
  }
  return list;
}

describe('the chance of a paintable day by fortnight', () => {
  it("counts observed days, 29 February with the 28th, New Year's Eve in the last", () => {
    const record = stationRecord(
      years('2019-01-01', '2020-12-31', (day) =>
        day.endsWith('-01-03') ? null : Number(day.slice(8)) % 2 === 0 ? fit : unfit,
      ),
    );
    const fortnights = probabilityByFortnight(paintDays(record, '2019-01-01', '2020-12-31', outdoors));
    expect(fortnights).toHaveLength(26);
    // 1 to 14 January without the 3rd, twice; seven even days in each.
    expect(fortnights[0]).toMatchObject({
      fortnight: 1,
      from: '01-01',
      to: '01-14',
      observedDays: 26,
      years: 2,
      probability: 14 / 26,
      minLikelyDays: 7,
      maxLikelyDays: 7,
    });
    // 26 February to 11 March has 14 days and once the 29th.
    expect(fortnights[4]).toMatchObject({ from: '02-26', to: '03-11', observedDays: 29 });
    expect(fortnights[25]).toMatchObject({ from: '12-17', to: '12-31', observedDays: 30 });
    expect(fortnights.reduce((sum, one) => sum + one.observedDays, 0)).toBe(365 + 366 - 2);
    expect(probabilityByFortnight([])[3]).toMatchObject({ probability: null, observedDays: 0 });
  });
});

describe('days and waits to come', () => {
  // Three years: in May 2001 every day is fit, in 2002 every second, in 2003 none before the 20th.
  const record = stationRecord(
    years('2001-01-01', '2003-12-31', (day) => {
      if (day < '2002') return fit;
      if (day < '2003') return Number(day.slice(8)) % 2 === 0 ? fit : unfit;
      return day < '2003-05-20' ? unfit : fit;
    }),
  );

  it('counts the paintable days before a date over all years', () => {
    const left = paintDaysLeft({ record, settings: outdoors, startDate: '2026-05-01', beforeDate: '2026-05-31' });
    expect(left).toMatchObject({
      years: 3,
      mean: (30 + 15 + 11) / 3,
      minDays: 11,
      maxDays: 30,
      weatherForecastDays: 0,
    });
    expect(left.quantiles[1]).toEqual({ probability: 0.5, days: 15 });
    expect(
      paintDaysLeft({ record, settings: outdoors, startDate: '2026-05-31', beforeDate: '2026-05-01' }),
    ).toMatchObject({ mean: 0, maxDays: 0 });
  });

  it('puts a forecast in the place of climate', () => {
    const forecast = ['2026-05-01', '2026-05-02'].map((day) => ({
      ...emptyDay(day),
      ...unfit,
      snowfallMillimetres: null,
    }));
    const left = paintDaysLeft({
      record,
      settings: outdoors,
      startDate: '2026-05-01',
      beforeDate: '2026-05-31',
      forecast,
    });
    expect(left).toMatchObject({ mean: (28 + 14 + 11) / 3, weatherForecastDays: 2 });
    // A forecast that tells no rain leaves that to the year.
    const mute = forecast.map((one) => ({ ...one, precipitationMillimetres: null }));
    expect(
      paintDaysLeft({ record, settings: outdoors, startDate: '2026-05-01', beforeDate: '2026-05-31', forecast: mute })
        .mean,
    ).toBeCloseTo((30 + 15 + 11) / 3, 9);
  });

  it('tells how long the wait is for a window of some hours', () => {
    const wait = waitForPaintWindow({
      record,
      settings: outdoors,
      startDate: '2026-05-01',
      windowMinutes: 240,
      probabilities: [0.5],
      horizonDays: 30,
      quantileType: 'linear',
    });
    const start = paintDays(record, '2001-05-01', '2001-05-01', outdoors)[0]!.windows[0]!.fromMinute;
    expect(wait.years).toBe(3);
    // On 1, 2 and 20 May, in that order of years.
    expect(wait.quantiles[0]!.waitMinutes).toBeCloseTo(start + 1440, 0);
    // The second wait is a day to the minute: this weather is fit at midnight too.
    expect(wait.within).toEqual([
      { days: 1, probability: 2 / 3 },
      { days: 3, probability: 2 / 3 },
      { days: 7, probability: 2 / 3 },
      { days: 14, probability: 2 / 3 },
      { days: 30, probability: 1 },
    ]);
    // In the middle of a window the wait is none, if enough of it is left.
    expect(
      waitForPaintWindow({
        record,
        settings: outdoors,
        startDate: '2026-05-01',
        fromMinute: 840,
        windowMinutes: 120,
        probabilities: [0],
        horizonDays: 30,
      }).quantiles[0]!.waitMinutes,
    ).toBe(0);
    expect(
      waitForPaintWindow({
        record,
        settings: outdoors,
        startDate: '2026-05-01',
        windowMinutes: 31 * 1440,
        horizonDays: 30,
      }),
    ).toMatchObject({
      probabilityNone: 1,
      quantiles: [{ waitMinutes: null }, { waitMinutes: null }, { waitMinutes: null }],
    });
  });

  it('says nothing without a year to go by', () => {
    const empty = stationRecord([]);
    expect(
      paintDaysLeft({ record: empty, settings: outdoors, startDate: '2026-05-01', beforeDate: '2026-05-31' }),
    ).toMatchObject({ years: 0, mean: null, quantiles: [{ days: null }, { days: null }, { days: null }] });
    expect(
      waitForPaintWindow({ record: empty, settings: outdoors, startDate: '2026-05-01', windowMinutes: 60 }),
    ).toMatchObject({ years: 0, probabilityNone: null });
  });
});

describe('a year of weather', () => {
  const snowDays: Record<string, string> = { 2000: '2000-11-10', 2001: '2001-12-20', 2003: '2004-01-15' };
  const record = stationRecord(
    years('2000-07-01', '2005-06-30', (day) => {
      if (day >= '2002-09-01' && day <= '2002-10-31') return null;
      return {
        ...fit,
        highCelsius: Number(day.slice(2, 4)) + 10,
        snowfallMillimetres: Object.values(snowDays).includes(day) ? 30 : 0,
      };
    }),
  );
  const rule = firstSnowRule(25);
  const seasons = findSeasons(record, rule);
  const question = { startDate: '2026-08-01', days: 200, event: { rule, seasons, startYear: 2026 } };

  it('lays a year over the days to come, over New Year and 29 February', () => {
    const path = weatherPath(record, { startDate: '2026-12-30', days: 70 }, 2003);
    expect(path.byDate.get(dayNumber('2026-12-31'))).toMatchObject({ day: '2026-12-31', highCelsius: 13 });
    expect(path.byDate.get(dayNumber('2027-01-01'))).toMatchObject({ highCelsius: 14 });
    expect(path.byDate.get(dayNumber('2027-01-15'))).toMatchObject({ snowfallMillimetres: 30 });
    expect(isoDay(sourceDayNumber(dayNumber('2024-02-29'), -1))).toBe('2023-02-28');
    expect(path.byDate.size).toBe(70);
  });

  it('fills a lost day from its neighbours, and leaves a long gap alone', () => {
    const lost = stationRecord(
      years('2010-05-01', '2010-06-30', (day) =>
        day === '2010-05-10' ? { lowCelsius: 3 } : day >= '2010-06-01' && day <= '2010-06-25' ? null : fit,
      ),
    );
    const path = weatherPath(lost, { startDate: '2026-05-01', days: 61 }, 2010);
    expect(path.byDate.get(dayNumber('2026-05-10'))).toMatchObject({
      highCelsius: 24,
      lowCelsius: 12,
      precipitationMillimetres: 0,
      humidityPercent: 50,
    });
    expect(path.byDate.get(dayNumber('2026-06-12'))).toMatchObject({ highCelsius: null });
  });

  it('brings its own snow day along, or says why it does not serve', () => {
    const { usable, excluded } = weatherYears(record, question);
    expect(usable).toEqual([
      { sourceYear: 2000, eventDate: '2026-11-10' },
      { sourceYear: 2001, eventDate: '2026-12-20' },
      { sourceYear: 2003, eventDate: '2027-01-15' },
      { sourceYear: 2004, eventDate: null },
    ]);
    expect(excluded.map((one) => one.sourceYear)).toEqual([2002, 2005]);
    expect(excluded[0]!.reason).toContain('lack a high or a low');
  });

  it('is left out once this season has waited longer', () => {
    const { usable, excluded } = weatherYears(record, {
      ...question,
      event: { ...question.event, noneByDate: '2026-12-01' },
    });
    expect(usable.map((one) => one.sourceYear)).toEqual([2001, 2003, 2004]);
    expect(excluded[0]).toEqual({ sourceYear: 2000, reason: 'it had come by 2026-12-01 in that year' });
    // On the very day: that year had its snow by then.
    const on = weatherYears(record, { ...question, event: { ...question.event, noneByDate: '2026-11-10' } });
    expect(on.usable.map((one) => one.sourceYear)).toEqual([2001, 2003, 2004]);
  });

  it('is drawn the same for the same seed, every year about as often', () => {
    const { usable } = weatherYears(record, question);
    const drawn = drawWeatherYears(usable, 11, 4000);
    expect(drawWeatherYears(usable, 11, 4000)).toEqual(drawn);
    expect(drawWeatherYears(usable, 12, 4000)).not.toEqual(drawn);
    // Four years, a thousand each, standard deviation 27: five of them are a wide fence.
    for (const one of usable) expect(Math.abs(drawn.filter((other) => other === one).length - 1000)).toBeLessThan(140);
    expect(() => drawWeatherYears([], 1, 5)).toThrow(expect.objectContaining({ code: 'no-weather-year' }));
    expect(() => weatherYears(record, { startDate: '2026-01-01', days: 0 })).toThrow(
      expect.objectContaining({ code: 'out-of-range' }),
    );
  });
});

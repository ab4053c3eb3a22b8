import { describe, expect, it } from '@jest/globals';
import { addDays } from '../platform/days.js';
import { paintYearsOf } from './paint-windows.js';
import type { PackedWeather, WeatherKind } from './stations/station-record.js';

const place = { id: 's', name: 'Lake Fennow', latitude: 45, longitude: -75, distanceKilometres: 3, choiceReasons: [] };
const packed = (
  kind: WeatherKind,
  startDate: string,
  endDate: string,
  row: (day: string) => unknown[],
): PackedWeather => {
  const days: unknown[][] = [];
  for (let day = startDate; day <= endDate; day = addDays(day, 1)) days.push([day, ...row(day)]);
  return { station: place, kind, days: JSON.stringify(days) };
};
/** Dry and 20 °C at noon all year round. */
const air = (fromYear: number, toYear: number) =>
  packed('air', `${fromYear}-01-01`, `${toYear}-12-31`, () => [20, 12, 50, 0]);
/** An inch on the first of December in even years, on the eleventh in odd ones. */
const snow = (fromYear: number, toYear: number) =>
  packed('snow', `${fromYear}-07-01`, `${toYear}-06-30`, (day) => [
    day.endsWith(Number(day.slice(0, 4)) % 2 === 0 ? '-12-01' : '-12-11') ? 25 : 0,
    false,
  ]);

const ask = (weather: PackedWeather, snowfall: PackedWeather) =>
  paintYearsOf({
    weather,
    forecast: [],
    startDate: '2026-09-15',
    endDate: '2026-09-30',
    settings: {
      place: { shelter: 'outdoors' },
      limits: { minCelsius: 10, maxCelsius: 35, maxHumidityPercent: 85, dewPointMarginCelsius: 3 },
      minWindowMinutes: 60,
    },
    timeZone: 'UTC',
    snow: { weather: snowfall, thresholdMillimetres: 25, today: '2026-09-15', seasonEndMonthDay: '03-15' },
  });

describe('years of paint weather and first snow', () => {
  it('belong together where the records share years', () => {
    const years = ask(air(1998, 2004), snow(1998, 2005));
    expect(years.map((one) => one.sourceYear)).toEqual([1998, 1999, 2000, 2001, 2002, 2003, 2004]);
    expect(years.every((one) => one.firstSnowDate === (one.sourceYear % 2 === 0 ? '2026-12-01' : '2026-12-11'))).toBe(
      true,
    );
  });

  it('are put together in order where one station ended before the other began', () => {
    const years = ask(air(1998, 2002), snow(1960, 1963));
    expect(years.map((one) => [one.sourceYear, one.firstSnowDate])).toEqual([
      [1998, '2026-12-01'],
      [1999, '2026-12-11'],
      [2000, '2026-12-01'],
      [2001, '2026-12-01'],
      [2002, '2026-12-11'],
    ]);
  });
});

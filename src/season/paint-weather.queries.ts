/** When the weather lets a coat be applied: asked by a person. The plan's own windows stand in paint-windows.ts. */
import { z } from 'zod';
import { chanceByFortnight, paintDays, paintDaysLeft, waitForPaintWindow, type PaintDayRefusal, type PaintDaysLeft, type PaintSettings, type PaintWait } from '../engine/weather/index.js';
import { Refused } from '../platform/errors.js';
import { query } from '../platform/operation/operation.js';
import { day, decimal, id, int } from '../platform/shapes.js';
import { addDays, dayAt } from '../platform/days.js';
import { snowOutlook } from './first-snow.queries.js';
import { LocalTime } from './local-time.js';
import { paintingHours, paintingPlace, productLimits } from './paint-settings.js';
import { paintAhead } from './paint-windows.js';
import { PaintWeather } from './season.shapes.js';
import { forecastFrom, stationWeather } from './weather-record.js';

export { paintWeatherYears, paintWindows, type PaintWeatherYear } from './paint-windows.js';

const daysShown = 14;

const limit = (least: number, most: number) => decimal(least, most).nullish();

export const paintWeatherQuery = query({
  name: 'paintWeather',
  summary: 'When the weather lets a coat be applied: by time of year, before a day, and how long a wait',
  rest: { method: 'GET', path: '/paint-weather' },
  input: z.strictObject({
    stationId: id.nullish().meta({ scalar: 'ID', description: 'The nearest with records unless said.' }),
    productId: id.nullish().meta({ scalar: 'ID', description: 'The coating product whose limits count; common limits unless said.' }),
    placeId: id.nullish().meta({ scalar: 'ID', description: 'Where it is painted; the warmest of the shop\'s spray areas unless said.' }),
    leastCelsius: limit(-50, 100),
    mostCelsius: limit(-50, 100),
    mostHumidityPercent: limit(1, 100),
    dewPointMarginCelsius: limit(0, 50),
    windowMinutes: int(15, 1440).default(240).meta({ scalar: 'Int', description: 'How long the weather must hold in one piece.' }),
    beforeDay: day.nullish().meta({ scalar: 'Day', description: 'The median first snow unless said.' }),
  }),
  output: PaintWeather,
  async run(call, input) {
    const weather = await stationWeather(call, 'air', input.stationId);
    if (!weather || weather.record.byDay.size === 0) throw new Refused('no-station-records', 'No weather station has daily records yet: add a station, then import its days.');
    const { station, record } = weather;
    const limits = await productLimits(call, input.productId);
    for (const key of ['leastCelsius', 'mostCelsius', 'mostHumidityPercent', 'dewPointMarginCelsius'] as const) limits[key] = input[key] ?? limits[key];
    const { place, words } = await paintingPlace(call, input.placeId);
    const shop = await call.tx.shop.findUniqueOrThrow({ where: { id: call.shop.id }, select: { openingHours: true } });
    const settings: PaintSettings = { place, limits, hours: paintingHours(shop.openingHours), leastWindowMinutes: input.windowMinutes };
    const forecast = await forecastFrom(call, call.today);
    const local = new LocalTime(call.shop.timeZone);
    const snowDay = input.beforeDay ? null : (await snowOutlook(call)).medianDay;
    // Without a first snow to aim at, a quarter of a year is looked ahead; further than a year nobody plans paint.
    const beforeDay = [input.beforeDay ?? (snowDay && snowDay > call.today ? snowDay : addDays(call.today, 90)), addDays(call.today, 400)].sort()[0]!;
    const question = { record, settings, fromDay: call.today, forecast };
    const ahead = paintAhead(weather, forecast, call.today, addDays(call.today, daysShown - 1), settings);
    const told = new Set(forecast.map((one) => one.day));
    const midnight = local.moment(call.today, 0).getTime();
    return {
      stationId: station.id,
      stationName: station.name,
      distanceKilometres: station.distanceKilometres,
      place: words,
      limits,
      fortnights: chanceByFortnight(paintDays(record, dayAt(record.firstDayNumber), dayAt(record.lastDayNumber), settings)),
      daysLeft: daysLeftOf(paintDaysLeft({ ...question, beforeDay }), beforeDay),
      wait: waitOf(waitForPaintWindow({ ...question, windowMinutes: input.windowMinutes, fromMinute: Math.floor((call.now.getTime() - midnight) / 60_000) }), input.windowMinutes, call.now),
      comingDays: ahead.map((one) => ({
        day: one.day,
        forecast: told.has(one.day),
        chance: one.chance,
        refusal: one.refusal && refusalWords[one.refusal],
        windows: one.windows.map((window) => ({ from: local.moment(one.day, window.fromMinute), to: local.moment(one.day, window.toMinute) })),
      })),
      why: whyOf(weather.station.name, record.byDay.size, dayAt(record.firstDayNumber), dayAt(record.lastDayNumber), told.size, snowDay === beforeDay ? beforeDay : null),
    };
  },
});

const refusalWords: Record<PaintDayRefusal, string> = { rain: 'rain', cold: 'cold', hot: 'hot', damp: 'damp', 'too-short': 'tooShort' };

const daysLeftOf = ({ mean, ...left }: PaintDaysLeft, beforeDay: string) => ({ ...left, beforeDay, expected: mean });

const waitOf = ({ quantiles, ...wait }: PaintWait, windowMinutes: number, now: Date) => ({
  ...wait,
  windowMinutes,
  quantiles: quantiles.map(({ probability, waitMinutes }) => ({ probability, startsAt: waitMinutes === null ? null : new Date(now.getTime() + Math.round(waitMinutes) * 60_000) })),
});

function whyOf(stationName: string, days: number, firstDay: string, lastDay: string, forecastDays: number, snowDay: string | null): string[] {
  const why = [`${stationName}: ${days} days on record from ${firstDay} to ${lastDay}; each year of them counts as one that could come.`];
  why.push(forecastDays > 0 ? `${forecastDays} days ahead are told by the forecast that was entered.` : 'No forecast is entered for the days ahead.');
  if (snowDay) why.push(`The days left are counted up to ${snowDay}, the median first snow.`);
  why.push('A daily record is good for planning; whether to spray now is decided by a thermometer and a hygrometer at the work.');
  return why;
}

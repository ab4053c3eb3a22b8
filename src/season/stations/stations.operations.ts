/** Stations, their days and the shop's own forecast. */
import { z } from 'zod';
import { at } from '../../engine/look-up.js';
import { Invalid } from '../../platform/errors.js';
import { asDate } from '../../platform/operation/columns.js';
import { crudOperations } from '../../platform/operation/crud-operations.js';
import { command, workers } from '../../platform/operation/operation.js';
import { findOne } from '../../platform/operation/stored.js';
import { day, id } from '../../platform/shapes.js';
import { newSummary, writeStationDays } from './station-days.js';
import { extents } from './stations.queries.js';
import {
  DAYS_AT_ONCE,
  ImportSummary,
  recordDate,
  Station,
  StationChange,
  StationCreate,
  StationDayInput,
  StationRecord,
  WeatherForecast,
  WeatherForecastDay,
  WeatherForecastEntry,
} from './stations.shapes.js';

export const stationOperations = [
  ...crudOperations({
    name: 'station',
    plural: 'stations',
    what: 'weather station',
    table: 'station',
    shape: Station,
    create: StationCreate,
    change: StationChange,
    sorts: ['name', 'createdAt'],
  }),
  command({
    name: 'importStationDays',
    summary:
      'Record days at a station; what is told again is rewritten, what is not told stays, and the same days again change nothing',
    rest: { method: 'POST', path: '/stations/:id/days', status: 200 },
    creates: false,
    input: z.strictObject({ id, days: z.array(StationDayInput).min(1).max(DAYS_AT_ONCE) }),
    output: ImportSummary,
    async run(context, input) {
      await findOne(context.tx.station, 'weather station', input.id);
      refuseUpsideDown(input.days);
      refuseTwice(input.days);
      const ahead = input.days.findIndex((one) => one.day > context.today);
      if (ahead >= 0)
        throw new Invalid([{ detail: 'has not been yet; enter it as a forecast', pointer: `/days/${ahead}/day` }]);
      const summary = newSummary(input.id, 'JSON', ['°C', 'mm', '%']);
      summary.lines = input.days.length;
      await writeStationDays(context, summary, input.days);
      return summary;
    },
  }),
  command({
    name: 'deleteStationDays',
    summary: 'Take back the days recorded at a station from one day to another, such as after a wrong import',
    rest: { method: 'DELETE', path: '/stations/:id/days' },
    input: z.strictObject({ id, startDate: recordDate, endDate: recordDate }),
    output: StationRecord,
    async run(context, input) {
      await findOne(context.tx.station, 'weather station', input.id);
      await context.tx.stationDay.deleteMany({
        where: { stationId: input.id, day: { gte: new Date(input.startDate), lte: new Date(input.endDate) } },
      });
      return at(await extents(context, [input.id]), 0);
    },
  }),
  ...crudOperations({
    name: 'weatherForecastDay',
    plural: 'weatherForecastDays',
    what: 'day of forecast',
    table: 'weatherForecastDay',
    shape: WeatherForecastDay,
    archives: false,
    filters: { startDate: day.nullish(), endDate: day.nullish() },
    where: ({ startDate, endDate }) => ({
      day: {
        ...(startDate ? { gte: new Date(startDate as string) } : {}),
        ...(endDate ? { lte: new Date(endDate as string) } : {}),
      },
    }),
    sorts: ['day'],
  }),
  command({
    name: 'recordWeatherForecast',
    summary: 'Enter the forecast for coming days; a day already entered is replaced',
    roles: workers,
    rest: { method: 'PUT', path: '/weather-forecast-days' },
    input: z.strictObject({ days: z.array(WeatherForecastEntry).min(1).max(60) }),
    output: WeatherForecast,
    async run(context, input) {
      refuseUpsideDown(input.days);
      refuseTwice(input.days);
      const days = [];
      for (const entry of input.days) {
        const columns = {
          highCelsius: entry.highCelsius,
          lowCelsius: entry.lowCelsius,
          humidityPercent: entry.humidityPercent ?? null,
          precipitationMillimetres: entry.precipitationMillimetres ?? null,
          toldDate: asDate(context.today),
        };
        const date = new Date(entry.day);
        days.push(
          await context.tx.weatherForecastDay.upsert({
            where: { shopId_day: { shopId: context.shop.id, day: date } },
            create: { shopId: context.shop.id, day: date, ...columns },
            update: { ...columns, version: { increment: 1 } },
          }),
        );
      }
      return { days };
    },
  }),
  command({
    name: 'deleteWeatherForecastDay',
    summary: 'Take back a day of forecast',
    roles: workers,
    rest: { method: 'DELETE', path: '/weather-forecast-days/:id' },
    input: z.strictObject({ id }),
    output: WeatherForecastDay,
    async run(context, input) {
      await findOne(context.tx.weatherForecastDay, 'day of forecast', input.id);
      return context.tx.weatherForecastDay.delete({ where: { id: input.id } });
    },
  }),
];

interface Entry {
  day: string;
  highCelsius?: number | null;
  lowCelsius?: number | null;
}

function refuseUpsideDown(days: readonly Entry[]): void {
  const validationErrors = days.flatMap((one, index) =>
    typeof one.highCelsius === 'number' && typeof one.lowCelsius === 'number' && one.lowCelsius > one.highCelsius
      ? [{ detail: 'must not be above highCelsius', pointer: `/days/${index}/lowCelsius` }]
      : [],
  );
  if (validationErrors.length > 0) throw new Invalid(validationErrors.slice(0, 20));
}

function refuseTwice(days: readonly Entry[]): void {
  const seen = new Set<string>();
  days.forEach((one, index) => {
    if (seen.has(one.day)) throw new Invalid([{ detail: 'this day is there twice', pointer: `/days/${index}/day` }]);
    seen.add(one.day);
  });
}

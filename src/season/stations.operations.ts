/** Stations, their days and the shop's own forecast. */
import { z } from 'zod';
import { Invalid } from '../platform/errors.js';
import { command, workers } from '../platform/operation/operation.js';
import { findOne, records } from '../platform/operation/crud-operations.js';
import { day, id } from '../platform/shapes.js';
import {
  DAYS_AT_ONCE,
  Forecast,
  ForecastDay,
  ForecastEntry,
  ImportSummary,
  recordDay,
  Station,
  StationChange,
  StationCreate,
  StationDayInput,
  StationRecord,
} from './season.shapes.js';
import { newSummary, writeStationDays } from './station-days.js';
import { extents } from './stations.queries.js';

export const stationOperations = [
  ...records({
    name: 'station',
    plural: 'stations',
    what: 'weather station',
    rows: (tx) => tx.station,
    shape: Station,
    create: StationCreate,
    change: StationChange,
    sorts: ['name', 'createdAt'],
  }),
  command({
    name: 'importStationDays',
    summary:
      'Record days at a station; what is told again is rewritten, what is not told stays, and the same days again change nothing',
    rest: { method: 'POST', path: '/stations/:stationId/days', status: 200 },
    creates: false,
    input: z.strictObject({ stationId: id, days: z.array(StationDayInput).min(1).max(DAYS_AT_ONCE) }),
    output: ImportSummary,
    async run(call, input) {
      await findOne(call.tx.station, 'weather station', input.stationId);
      refuseUpsideDown(input.days);
      refuseTwice(input.days);
      const ahead = input.days.findIndex((one) => one.day > call.today);
      if (ahead >= 0)
        throw new Invalid([{ detail: 'has not been yet; enter it as a forecast', pointer: `/days/${ahead}/day` }]);
      const summary = newSummary(input.stationId, 'JSON', ['°C', 'mm', '%']);
      summary.lines = input.days.length;
      await writeStationDays(call, summary, input.days);
      return summary;
    },
  }),
  command({
    name: 'deleteStationDays',
    summary: 'Take back the days recorded at a station from one day to another, such as after a wrong import',
    rest: { method: 'DELETE', path: '/stations/:stationId/days' },
    input: z.strictObject({ stationId: id, fromDay: recordDay, toDay: recordDay }),
    output: StationRecord,
    async run(call, input) {
      await findOne(call.tx.station, 'weather station', input.stationId);
      await call.tx.stationDay.deleteMany({
        where: { stationId: input.stationId, day: { gte: new Date(input.fromDay), lte: new Date(input.toDay) } },
      });
      const [left] = await extents(call, [input.stationId]);
      return left;
    },
  }),
  ...records({
    name: 'forecastDay',
    plural: 'forecastDays',
    what: 'day of forecast',
    rows: (tx) => tx.forecastDay,
    shape: ForecastDay,
    retires: false,
    filters: { fromDay: day.nullish(), toDay: day.nullish() },
    where: ({ fromDay, toDay }) => ({
      day: {
        ...(fromDay ? { gte: new Date(fromDay as string) } : {}),
        ...(toDay ? { lte: new Date(toDay as string) } : {}),
      },
    }),
    sorts: ['day'],
  }),
  command({
    name: 'recordForecast',
    summary: 'Enter the forecast for coming days; a day already entered is replaced',
    roles: workers,
    rest: { method: 'PUT', path: '/forecast-days' },
    input: z.strictObject({ days: z.array(ForecastEntry).min(1).max(60) }),
    output: Forecast,
    async run(call, input) {
      refuseUpsideDown(input.days);
      refuseTwice(input.days);
      const days = [];
      for (const entry of input.days) {
        const columns = {
          highCelsius: entry.highCelsius,
          lowCelsius: entry.lowCelsius,
          humidityPercent: entry.humidityPercent ?? null,
          precipitationMillimetres: entry.precipitationMillimetres ?? null,
        };
        const date = new Date(entry.day);
        days.push(
          await call.tx.forecastDay.upsert({
            where: { shopId_day: { shopId: call.shop.id, day: date } },
            create: { shopId: call.shop.id, day: date, ...columns },
            update: { ...columns, version: { increment: 1 } },
          }),
        );
      }
      return { days };
    },
  }),
  command({
    name: 'deleteForecastDay',
    summary: 'Take back a day of forecast',
    roles: workers,
    rest: { method: 'DELETE', path: '/forecast-days/:id' },
    input: z.strictObject({ id }),
    output: ForecastDay,
    async run(call, input) {
      await findOne(call.tx.forecastDay, 'day of forecast', input.id);
      return call.tx.forecastDay.delete({ where: { id: input.id } });
    },
  }),
];

interface Entry {
  day: string;
  highCelsius?: number | null;
  lowCelsius?: number | null;
}

function refuseUpsideDown(days: readonly Entry[]): void {
  const faults = days.flatMap((one, index) =>
    typeof one.highCelsius === 'number' && typeof one.lowCelsius === 'number' && one.lowCelsius > one.highCelsius
      ? [{ detail: 'must not be above highCelsius', pointer: `/days/${index}/lowCelsius` }]
      : [],
  );
  if (faults.length > 0) throw new Invalid(faults.slice(0, 20));
}

function refuseTwice(days: readonly Entry[]): void {
  const seen = new Set<string>();
  days.forEach((one, index) => {
    if (seen.has(one.day)) throw new Invalid([{ detail: 'this day is there twice', pointer: `/days/${index}/day` }]);
    seen.add(one.day);
  });
}

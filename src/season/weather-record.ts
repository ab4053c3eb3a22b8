/**
 * A station's days as the weather engine takes them: read once a call, only the columns that a question needs,
 * since thirty years are eleven thousand rows.
 */
import { Prisma } from '../platform/database/client/client.js';
import { stationRecord, type StationDay, type StationRecord } from '../engine/weather/index.js';
import type { Call } from '../platform/operation/operation.js';
import { asDate, asDay } from '../platform/operation/records.js';
import { chooseStation, type ChosenStation } from './stations.queries.js';

/** `snow`: snowfall alone. `air`: temperatures, humidity and precipitation. */
export type WeatherKind = 'snow' | 'air';

export interface StationWeather {
  station: ChosenStation;
  record: StationRecord;
}

const columns: Record<WeatherKind, Prisma.Sql> = {
  snow: Prisma.sql`"snowfallMillimetres"::float8 AS "snowfallMillimetres", "snowTrace"`,
  air: Prisma.sql`"highCelsius"::float8 AS "highCelsius", "lowCelsius"::float8 AS "lowCelsius", "humidityPercent"::float8 AS "humidityPercent", "precipitationMillimetres"::float8 AS "precipitationMillimetres"`,
};
const unread = { highCelsius: null, lowCelsius: null, precipitationMillimetres: null, snowfallMillimetres: null, snowTrace: false, humidityPercent: null };

const readInCall = new WeakMap<Call, Map<string, Promise<StationWeather | null>>>();

/**
 * The record of the station asked for, or of the nearest one with records. Two statements, once a call.
 * @returns null when there is no station with records
 * @throws NotFound for an id that is no station of the shop
 */
export function stationWeather(call: Call, kind: WeatherKind, stationId?: string | null): Promise<StationWeather | null> {
  const known = readInCall.get(call) ?? new Map<string, Promise<StationWeather | null>>();
  readInCall.set(call, known);
  const key = `${kind} ${stationId ?? 'nearest'}`;
  const weather = known.get(key) ?? readWeather(call, kind, stationId);
  known.set(key, weather);
  return weather;
}

async function readWeather(call: Call, kind: WeatherKind, stationId?: string | null): Promise<StationWeather | null> {
  const station = await chooseStation(call, stationId);
  if (!station) return null;
  const rows = await call.tx.$queryRaw<Partial<StationDay>[]>`
    SELECT day::text AS day, ${columns[kind]} FROM "StationDay" WHERE "stationId" = ${station.id}::uuid AND "shopId" = ${call.shop.id}::uuid ORDER BY day`;
  return { station, record: stationRecord(rows.map((row) => ({ ...unread, ...row }) as StationDay)) };
}

/** The forecast entered for a day and those after it, in order. */
export async function forecastFrom(call: Call, day: string): Promise<StationDay[]> {
  const rows = await call.tx.forecastDay.findMany({ where: { day: { gte: asDate(day) } }, orderBy: { day: 'asc' } });
  const number = (value: unknown): number | null => (value === null ? null : Number(value));
  return rows.map((row) => ({
    ...unread,
    day: asDay(row.day),
    highCelsius: Number(row.highCelsius),
    lowCelsius: Number(row.lowCelsius),
    humidityPercent: number(row.humidityPercent),
    precipitationMillimetres: number(row.precipitationMillimetres),
  }));
}

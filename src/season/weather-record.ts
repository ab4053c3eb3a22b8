/**
 * A station's days as the weather engine takes them: read once a call, only the columns that a question needs,
 * since thirty years are eleven thousand rows.
 */
import { Prisma } from '../platform/database/client/client.js';
import { stationRecord, type StationDay, type StationRecord } from '../engine/weather/index.js';
import type { Call } from '../platform/operation/operation.js';
import { asDate, asDay } from '../platform/operation/records.js';
import { chooseStation, type ChosenStation } from './stations.queries.js';

/** `snow`: snowfall alone, all there is of it. `air`: temperatures, humidity and precipitation of the latest years. */
export type WeatherKind = 'snow' | 'air';

export interface StationWeather {
  station: ChosenStation;
  record: StationRecord;
}

/** Thirty years describe a climate, by the custom of the World Meteorological Organization; one more makes them whole. */
const airYears = 31;

type Column = Exclude<keyof StationDay, 'day'>;
const columns: Record<WeatherKind, readonly Column[]> = {
  snow: ['snowfallMillimetres', 'snowTrace'],
  air: ['highCelsius', 'lowCelsius', 'humidityPercent', 'precipitationMillimetres'],
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
  const wanted = columns[kind];
  const listed = Prisma.join(wanted.map((name) => Prisma.raw(`"${name}"`)));
  const since = kind === 'air' ? Prisma.sql`AND day > (SELECT max(day) - make_interval(years => ${airYears}::int) FROM "StationDay" WHERE "stationId" = ${station.id}::uuid)` : Prisma.empty;
  // One value of JSON instead of rows: several times cheaper to carry over and to read.
  const [packed] = await call.tx.$queryRaw<{ days: string | null }[]>`
    SELECT json_agg(json_build_array(day, ${listed}) ORDER BY day)::text AS days
    FROM "StationDay" WHERE "stationId" = ${station.id}::uuid AND "shopId" = ${call.shop.id}::uuid ${since}`;
  const rows = JSON.parse(packed?.days ?? '[]') as [string, ...(number | boolean | null)[]][];
  const days = rows.map(([day, ...values]) => {
    const one: Record<string, unknown> = { day, ...unread };
    wanted.forEach((name, index) => (one[name] = values[index]));
    return one as unknown as StationDay;
  });
  return { station, record: stationRecord(days) };
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

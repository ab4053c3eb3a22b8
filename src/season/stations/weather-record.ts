/** A station's days out of the database, packed: they are many, and unpacked where they are counted. */
import type { StationDay } from '../../engine/weather/index.js';
import { Prisma } from '../../platform/database/client/client.js';
import { daysBetween } from '../../platform/days.js';
import { Refused } from '../../platform/errors.js';
import { asDate, asDay } from '../../platform/operation/columns.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { chooseStation } from './choose-station.js';
import { columns, type PackedWeather, unread, type WeatherKind } from './station-record.js';

/** Thirty years describe a climate, by the custom of the World Meteorological Organization; one more makes them whole. */
const airYears = 31;

const readInCall = new WeakMap<OperationContext, Map<string, Promise<PackedWeather | null>>>();

/**
 * The record of the station asked for, or of the nearest one with enough on record for the question. Two statements, once a call.
 * @returns null when no station has anything of it on record
 * @throws NotFound for an id that is no station of the shop
 */
export function packedWeather(
  context: OperationContext,
  kind: WeatherKind,
  stationId?: string | null,
): Promise<PackedWeather | null> {
  const known = readInCall.get(context) ?? new Map<string, Promise<PackedWeather | null>>();
  readInCall.set(context, known);
  const key = `${kind} ${stationId ?? 'nearest'}`;
  const weather = known.get(key) ?? readWeather(context, kind, stationId);
  known.set(key, weather);
  return weather;
}

/** @throws Refused `no-station-records` where there is nothing to go by */
export async function requireWeather(
  context: OperationContext,
  kind: WeatherKind,
  stationId?: string | null,
): Promise<PackedWeather> {
  const weather = await packedWeather(context, kind, stationId);
  if (!weather || weather.days === '[]')
    throw new Refused(
      'no-station-records',
      `No weather station has daily ${kind === 'snow' ? 'snowfall' : 'temperatures'} on record yet: add a station, then import its days.`,
    );
  return weather;
}

async function readWeather(
  context: OperationContext,
  kind: WeatherKind,
  stationId?: string | null,
): Promise<PackedWeather | null> {
  const station = await chooseStation(context, kind, stationId);
  if (!station) return null;
  const listed = Prisma.join(columns[kind].map((name) => Prisma.raw(`"${name}"`)));
  const upToNow = Prisma.sql`"stationId" = ${station.id}::uuid AND "shopId" = ${context.shop.id}::uuid AND day <= ${context.today}::date`;
  const since =
    kind === 'air'
      ? Prisma.sql`AND day > (SELECT max(day) - make_interval(years => ${airYears}::int) FROM "StationDay" WHERE ${upToNow})`
      : Prisma.empty;
  // One value of JSON instead of rows: several times cheaper to carry over and to read.
  const [packed] = await context.tx.$queryRaw<{ days: string | null }[]>`
    SELECT json_agg(json_build_array(day, ${listed}) ORDER BY day)::text AS days
    FROM "StationDay" WHERE ${upToNow} ${since}`;
  return { station, kind, days: packed?.days ?? '[]' };
}

/** The forecast entered for a day and those after it, in order. */
export async function scheduleRecords(context: OperationContext, day: string): Promise<StationDay[]> {
  const rows = await context.tx.weatherForecastDay.findMany({
    where: { day: { gte: asDate(day) } },
    orderBy: { day: 'asc' },
  });
  const number = (value: unknown): number | null => (value === null ? null : Number(value));
  return rows.map((row) => ({
    ...unread,
    day: asDay(row.day),
    leadDays: Math.max(0, daysBetween(asDay(row.toldDate), asDay(row.day))),
    highCelsius: Number(row.highCelsius),
    lowCelsius: Number(row.lowCelsius),
    humidityPercent: number(row.humidityPercent),
    precipitationMillimetres: number(row.precipitationMillimetres),
  }));
}

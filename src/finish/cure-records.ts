/** What bears on the curing of some coats, read once for any number of them, as plain data that a thread can take. */
import { MINUTES_PER_DAY } from '../engine/days.js';
import { addDays } from '../platform/days.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { dayIn } from '../platform/operation/execute.js';
import { asDate } from '../platform/operation/crud-operations.js';
import { enginePlace } from '../season/paint-settings.js';
import { forecastFrom, packedWeather } from '../season/weather-record.js';
import { type CureRecords, minuteOf } from './cure-weather.js';
import type { CoatFacts } from './standing.js';

/** A coat older than this is as cured as it will be. */
const MOST_PAST_DAYS = 730;
/** How far a reading reaches, as the engine takes it. */
const REACH_MILLISECONDS = 6 * 3_600_000;

/** A constant number of statements. @param coats with `placeId` and `appliedAt` */
export async function readCureRecords(call: Call, coats: readonly Presentable[]): Promise<CureRecords> {
  const placeIds = [
    ...new Set(coats.map((coat) => coat.placeId as string | null).filter((one): one is string => one !== null)),
  ];
  const earliest = coats.reduce((least: Date, coat) => (coat.appliedAt < least ? coat.appliedAt : least), call.now);
  const fromDay = [dayIn(earliest, call.shop.timeZone), addDays(call.today, -MOST_PAST_DAYS)].sort()[1]!;
  const places = await call.tx.place.findMany({ where: { id: { in: placeIds } } });
  const rows = await call.tx.temperatureReading.findMany({
    where: {
      placeId: { in: placeIds },
      readAt: {
        gte: new Date(Math.max(earliest.getTime(), asDate(fromDay).getTime()) - REACH_MILLISECONDS),
        lte: call.now,
      },
    },
    select: { placeId: true, readAt: true, celsius: true },
  });
  const readings: CureRecords['readings'] = new Map(placeIds.map((placeId) => [placeId, []]));
  for (const row of rows)
    readings.get(row.placeId)!.push({ atMinute: minuteOf(row.readAt), celsius: Number(row.celsius) });
  const weather = await packedWeather(call, 'air');
  return {
    places: new Map(places.map((place) => [place.id, { name: place.name, place: enginePlace(place) }])),
    readings,
    weather,
    forecast: weather ? await forecastFrom(call, call.today) : [],
    fromDay,
    today: call.today,
    timeZone: call.shop.timeZone,
  };
}

/** A stored coat with its product, as far as its curing goes. */
export const coatFacts = ({ id, jobId, placeId, appliedAt, dryFilmMicrometres, product }: Presentable): CoatFacts => ({
  id,
  jobId,
  placeId,
  appliedMinute: minuteOf(appliedAt),
  dryFilmMicrometres: dryFilmMicrometres === null ? null : Number(dryFilmMicrometres),
  sheet: {
    name: product.name,
    referenceCelsius: Number(product.referenceCelsius),
    leastCelsius: Number(product.leastCelsius),
    mostCelsius: Number(product.mostCelsius),
    touchMinutes: product.touchMinutes,
    handleMinutes: product.handleMinutes,
    assembleMinutes: product.assembleMinutes,
    fullMinutes: product.fullMinutes,
    recoatMinutes: product.recoatMinutes,
    sensitivity: { doublingCelsius: Number(product.doublingCelsius) },
    dryFilmMicrometres: Number(product.dryFilmMicrometres),
  },
});

/** The shop's own wait, in minutes. */
export const assemblyWaitOf = async (call: Call): Promise<number> =>
  (await call.tx.shop.findUniqueOrThrow({ where: { id: call.shop.id }, select: { assemblyWaitDays: true } }))
    .assemblyWaitDays * MINUTES_PER_DAY;

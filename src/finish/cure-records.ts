/** What bears on the curing of some coats, read once for any number of them, as plain data that a thread can take. */
import { MINUTES_PER_DAY } from '../engine/days.js';
import { addDays } from '../platform/days.js';
import { asDate } from '../platform/operation/crud-operations.js';
import { dayIn } from '../platform/operation/execute.js';
import type { OperationContext, Presentable } from '../platform/operation/operation.js';
import { enginePlace } from '../season/paint-settings.js';
import { packedWeather, scheduleRecords } from '../season/stations/weather-record.js';
import type { CoatFacts } from './coat-status.js';
import { type CureRecords, minuteOf } from './cure-weather.js';

/** A coat older than this is as cured as it will be. */
const MOST_PAST_DAYS = 730;
/** How far a reading reaches, as the engine takes it. */
const REACH_MILLISECONDS = 6 * 3_600_000;

/** A constant number of statements. @param coats with `placeId` and `appliedAt` */
export async function readCureRecords(context: OperationContext, coats: readonly Presentable[]): Promise<CureRecords> {
  const placeIds = [
    ...new Set(coats.map((coat) => coat.placeId as string | null).filter((one): one is string => one !== null)),
  ];
  const earliest = coats.reduce((least: Date, coat) => (coat.appliedAt < least ? coat.appliedAt : least), context.now);
  const startDate = [dayIn(earliest, context.shop.timeZone), addDays(context.today, -MOST_PAST_DAYS)].sort()[1]!;
  const places = await context.tx.place.findMany({ where: { id: { in: placeIds } } });
  const rows = await context.tx.temperatureReading.findMany({
    where: {
      placeId: { in: placeIds },
      readAt: {
        gte: new Date(Math.max(earliest.getTime(), asDate(startDate).getTime()) - REACH_MILLISECONDS),
        lte: context.now,
      },
    },
    select: { placeId: true, readAt: true, celsius: true },
  });
  const readings: CureRecords['readings'] = new Map(placeIds.map((placeId) => [placeId, []]));
  for (const row of rows)
    readings.get(row.placeId)!.push({ atMinute: minuteOf(row.readAt), celsius: Number(row.celsius) });
  const weather = await packedWeather(context, 'air');
  return {
    places: new Map(places.map((place) => [place.id, { name: place.name, place: enginePlace(place) }])),
    readings,
    weather,
    forecast: weather ? await scheduleRecords(context, context.today) : [],
    startDate,
    today: context.today,
    timeZone: context.shop.timeZone,
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
    minCelsius: Number(product.minCelsius),
    maxCelsius: Number(product.maxCelsius),
    touchMinutes: product.touchMinutes,
    handleMinutes: product.handleMinutes,
    assembleMinutes: product.assembleMinutes,
    fullMinutes: product.fullMinutes,
    recoatMinutes: product.recoatMinutes,
    sensitivity: { rateDoublingCelsius: Number(product.rateDoublingCelsius) },
    dryFilmMicrometres: Number(product.dryFilmMicrometres),
  },
});

/** The shop's own wait, in minutes. */
export const assemblyWaitOf = async (context: OperationContext): Promise<number> =>
  (await context.tx.shop.findUniqueOrThrow({ where: { id: context.shop.id }, select: { assemblyWaitDays: true } }))
    .assemblyWaitDays * MINUTES_PER_DAY;

/** What bears on the curing of some coats, read once for any number of them, as plain data that a thread can take. */
import { type DryingSheet, recoatRatesOf } from '../engine/cure/index.js';
import { MINUTES_PER_DAY } from '../engine/days.js';
import { lookUp } from '../engine/look-up.js';
import { addDays } from '../platform/days.js';
import { asDate } from '../platform/operation/columns.js';
import { dayIn } from '../platform/operation/execute.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';
import { enginePlace } from '../season/paint-settings.js';
import { packedWeather, scheduleRecords } from '../season/stations/weather-record.js';
import type { CoatFacts } from './coat-status.js';
import type { CoatWithProduct } from './coat-warnings.js';
import { type CureRecords, minuteOf } from './cure-weather.js';
import { bandsOf } from './recoat-windows.js';

/** A coat older than this is as cured as it will be. */
const MOST_PAST_DAYS = 730;
/** How far a reading reaches, as the engine takes it. */
const REACH_MILLISECONDS = 6 * 3_600_000;

/** A constant number of statements. @param coats with `placeId`, `appliedAt` and `moves` */
export async function readCureRecords(
  context: OperationContext,
  coats: readonly (Pick<Stored<'coat'>, 'placeId' | 'appliedAt'> & { moves: readonly { placeId: string | null }[] })[],
): Promise<CureRecords> {
  const placeIds = [
    ...new Set(
      coats.flatMap((coat) => [coat.placeId, ...coat.moves.map((move) => move.placeId)]).filter((one) => one !== null),
    ),
  ];
  const earliest = coats.reduce((least: Date, coat) => (coat.appliedAt < least ? coat.appliedAt : least), context.now);
  const [, startDate = context.today] = [
    dayIn(earliest, context.shop.timeZone),
    addDays(context.today, -MOST_PAST_DAYS),
  ].sort();

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
    lookUp(readings, row.placeId).push({ atMinute: minuteOf(row.readAt), celsius: Number(row.celsius) });
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
export const coatFacts = ({
  id,
  jobId,
  placeId,
  appliedAt,
  dryFilmMicrometres,
  airCelsius,
  product,
  sandings,
  moves,
}: Pick<
  CoatWithProduct,
  'id' | 'jobId' | 'placeId' | 'appliedAt' | 'dryFilmMicrometres' | 'airCelsius' | 'product' | 'sandings' | 'moves'
>): CoatFacts => ({
  id,
  jobId,
  placeId,
  appliedMinute: minuteOf(appliedAt),
  airCelsius: airCelsius === null ? null : Number(airCelsius),
  moves: moves.map((move) => ({ atMinute: minuteOf(move.movedAt), placeId: move.placeId })),
  sandedMinutes: sandings.map((one) => minuteOf(one.sandedAt)),
  dryFilmMicrometres: dryFilmMicrometres === null ? null : Number(dryFilmMicrometres),
  sheet: sheetOf(product),
});

/** What the can's sheet says of drying. */
export const sheetOf = (product: CoatWithProduct['product']): DryingSheet => {
  // The column is written only through the shape.
  const recoatMinutes = product.recoatMinutes as unknown as DryingSheet['recoatMinutes'];
  return {
    name: product.name,
    referenceCelsius: Number(product.referenceCelsius),
    minCelsius: Number(product.minCelsius),
    maxCelsius: Number(product.maxCelsius),
    touchMinutes: product.touchMinutes,
    handleMinutes: product.handleMinutes,
    assembleMinutes: product.assembleMinutes,
    fullMinutes: product.fullMinutes,
    recoatMinutes,
    ...(product.recoatTable.length > 0
      ? { recoatRates: recoatRatesOf(recoatMinutes, bandsOf(product.recoatTable)) }
      : {}),
    sensitivity: { rateDoublingCelsius: Number(product.rateDoublingCelsius) },
    dryFilmMicrometres: Number(product.dryFilmMicrometres),
  };
};

/** The shop's own wait, in minutes. */
export const assemblyWaitOf = async (context: OperationContext): Promise<number> =>
  (await context.tx.shop.findUniqueOrThrow({ where: { id: context.shop.id }, select: { assemblyWaitDays: true } }))
    .assemblyWaitDays * MINUTES_PER_DAY;

/** Which station answers a question: the nearest that has been watched for long enough. */
import { firstSnowRule } from '../../engine/weather/index.js';
import { Prisma } from '../../platform/database/client/client.js';
import { NotFound } from '../../platform/errors.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { type Coordinates, greatCircleKilometres } from './great-circle.js';
import type { ChosenStation, WeatherKind } from './station-record.js';

/**
 * Averages of climate are taken over ten years at least (WMO-No. 1203, 2017, period averages; from memory), a tenth of
 * their days missing.
 */
const enough: Record<WeatherKind, { days: number; words: string }> = {
  snow: { days: 1370, words: 'days in the months of first snow with their snowfall' },
  air: { days: 3285, words: 'days with a high and a low' },
};
const mostTold = 3;

interface StationPlace extends Coordinates {
  id: string;
  name: string;
  /** Days on record that the question can use, counted no further than is enough. */
  days: number;
  shopLatitude: number;
  shopLongitude: number;
}

type Candidate = Omit<StationPlace, 'shopLatitude' | 'shopLongitude'> & { distanceKilometres: number };

/**
 * The station asked for; else the nearest with ten years of what the question needs; else the one with most of it.
 * One statement, which counts no more days of a station than are enough.
 * @returns null when none was asked for and none has anything of it
 * @throws NotFound for an id that is no station of the shop
 */
export async function chooseStation(
  context: OperationContext,
  kind: WeatherKind,
  stationId?: string | null,
): Promise<ChosenStation | null> {
  const wanted = stationId ?? null;
  const rows = await context.tx.$queryRaw<StationPlace[]>`
    SELECT s.id, s.name, s.latitude::float8 AS latitude, s.longitude::float8 AS longitude, known.days,
      shop.latitude::float8 AS "shopLatitude", shop.longitude::float8 AS "shopLongitude"
    FROM "Station" s JOIN "Shop" shop ON shop.id = s."shopId", LATERAL (
      SELECT count(*)::int AS days FROM (
        SELECT FROM "StationDay" d
        WHERE d."shopId" = s."shopId" AND d."stationId" = s.id AND d.day <= ${context.today}::date AND ${usable[kind]}
        LIMIT ${enough[kind].days}) AS counted) AS known
    WHERE CASE WHEN ${wanted}::uuid IS NULL THEN s."archivedAt" IS NULL AND known.days > 0 ELSE s.id = ${wanted}::uuid END`;
  if (rows.length === 0 && wanted) throw new NotFound('weather station', wanted);
  const candidates = rows.map(({ shopLatitude, shopLongitude, ...station }): Candidate => ({
    ...station,
    distanceKilometres: tenth(greatCircleKilometres(station, { latitude: shopLatitude, longitude: shopLongitude })),
  }));
  return chosenFrom(candidates.sort(nearestFirst), kind, wanted !== null);
}

/** The months that a first snow is watched for, as the engine does, on the station's side of the equator. */
const watchedMonths = (latitude: number): number[] => {
  const { watchFrom, watchTo } = firstSnowRule(1, latitude);
  const [from, to] = [watchFrom, watchTo].map((monthDay) => Number(monthDay.slice(0, 2))) as [number, number];
  return Array.from({ length: ((to - from + 12) % 12) + 1 }, (_, k) => ((from + k - 1) % 12) + 1);
};

const usable: Record<WeatherKind, Prisma.Sql> = {
  snow: Prisma.sql`d."snowfallMillimetres" IS NOT NULL
    AND date_part('month', d.day)::int = ANY(
      CASE WHEN s.latitude < 0 THEN ${watchedMonths(-45)}::int[] ELSE ${watchedMonths(45)}::int[] END)`,
  air: Prisma.sql`d."highCelsius" IS NOT NULL AND d."lowCelsius" IS NOT NULL`,
};

/** @param candidates the nearest first */
function chosenFrom(candidates: readonly Candidate[], kind: WeatherKind, asked: boolean): ChosenStation | null {
  const { days: enoughDays, words } = enough[kind];
  const serves = candidates.find((one) => one.days >= enoughDays);
  const most = candidates.reduce<Candidate | null>((best, one) => (best && best.days >= one.days ? best : one), null);
  const chosen = serves ?? most;
  if (!chosen) return null;
  const { days, ...station } = chosen;
  if (asked) return { ...station, choiceReasons: [] };
  const choiceReasons = candidates
    .slice(0, candidates.indexOf(chosen))
    .slice(0, mostTold)
    .map(
      (one) =>
        `${one.name}, ${one.distanceKilometres} km away, is nearer, but has only ${one.days} ` +
        `${words} on record${serves ? `; ten years of them are wanted` : ''}.`,
    );
  if (!serves)
    choiceReasons.push(
      `${chosen.name} has only ${days} ${words} on record, less than the ten years wanted, and no station has more.`,
    );
  return { ...station, choiceReasons };
}

/** Places in order of distance, those equally far always in the same order. */
export const nearestFirst = (
  a: { distanceKilometres: number; id: string },
  b: { distanceKilometres: number; id: string },
): number => a.distanceKilometres - b.distanceKilometres || (a.id < b.id ? -1 : 1);

/** Rounded to a tenth. */
export const tenth = (value: number): number => Math.round(value * 10) / 10;

/** Which stations there are, how far away, and what each has on record. */
import { z } from 'zod';
import { at } from '../../engine/look-up.js';
import { computed, type OperationContext, query } from '../../platform/operation/operation.js';
import { pageFields, pageOf, sortOf, sortShape } from '../../platform/operation/page.js';
import { findOne } from '../../platform/operation/stored.js';
import { decimal, id } from '../../platform/shapes.js';
import { nearestFirst, tenth } from './choose-station.js';
import { greatCircleKilometres } from './great-circle.js';
import { recordDate, Station, StationDay, StationRecord, StationSuggestion } from './stations.shapes.js';

interface Extent {
  stationId: string;
  days: number;
  daysWithSnowfall: number;
  firstDate: Date | null;
  lastDate: Date | null;
}

/** How much of each station is on record, in the ids' order. One statement. */
export async function extents(context: OperationContext, stationIds: string[]): Promise<Extent[]> {
  const rows = await context.tx.$queryRaw<Extent[]>`
    SELECT "stationId", count(*)::int AS days, count("snowfallMillimetres")::int AS "daysWithSnowfall",
      min(day) AS "firstDate", max(day) AS "lastDate"
    FROM "StationDay" WHERE "stationId" = ANY(${stationIds}::uuid[]) GROUP BY "stationId"`;
  const byStation = new Map(rows.map((row) => [row.stationId, row]));
  return stationIds.map(
    (stationId) =>
      byStation.get(stationId) ?? { stationId, days: 0, daysWithSnowfall: 0, firstDate: null, lastDate: null },
  );
}

export const stationQueries = [
  query({
    name: 'nearestStations',
    summary: 'List the stations by distance from the shop, or from a given place',
    rest: { method: 'GET', path: '/nearest-stations' },
    input: z.strictObject({ latitude: decimal(-90, 90).nullish(), longitude: decimal(-180, 180).nullish() }),
    output: StationSuggestion,
    async run(context, input) {
      const shop = await context.tx.shop.findUniqueOrThrow({
        where: { id: context.shop.id },
        select: { latitude: true, longitude: true },
      });
      const here = {
        latitude: input.latitude ?? Number(shop.latitude),
        longitude: input.longitude ?? Number(shop.longitude),
      };
      const stations = await context.tx.station.findMany({ where: { archivedAt: null } });
      const onRecord = await extents(
        context,
        stations.map((station) => station.id),
      );
      const listed = stations.map((station, index) => ({
        id: station.id,
        station,
        distanceKilometres: tenth(
          greatCircleKilometres(here, { latitude: Number(station.latitude), longitude: Number(station.longitude) }),
        ),
        ...at(onRecord, index),
      }));
      return { ...here, stations: listed.sort(nearestFirst) };
    },
  }),
  query({
    name: 'stationDays',
    summary: 'List the days on record at a station',
    rest: { method: 'GET', path: '/stations/:id/days' },
    paged: true,
    input: z.strictObject({
      id,
      startDate: recordDate.nullish(),
      endDate: recordDate.nullish(),
      sort: sortShape('stationDays', ['day']),
      ...pageFields,
    }),
    output: StationDay,
    async run(context, input) {
      await findOne(context.tx.station, 'weather station', input.id);
      const between = {
        ...(input.startDate ? { gte: new Date(input.startDate) } : {}),
        ...(input.endDate ? { lte: new Date(input.endDate) } : {}),
      };
      return pageOf(input, sortOf(input.sort, 'day'), (bound, orderBy, take) =>
        context.tx.stationDay.findMany({
          where: { AND: [{ stationId: input.id, day: between }, bound ?? {}] },
          // The column is one of those that `sortShape` allows, all of them the table's own.
          orderBy: orderBy as never,
          take,
        }),
      );
    },
  }),
];

export const stationRelations = [
  computed({
    on: Station,
    field: 'onRecord',
    to: StationRecord,
    description: 'How much of it is on record.',
    compute: (context, parents) =>
      extents(
        context,
        parents.map((parent) => parent.id as string),
      ),
  }),
];

/**
 * A station's days, in and out of the database: tens of thousands of rows, so both ways are one statement of raw
 * SQL and only the columns asked for.
 */
import { Prisma } from '../../platform/database/client/client.js';
import type { OperationContext } from '../../platform/operation/operation.js';

/** °C, mm, per cent; null or absent was not observed. */
export interface DayRecord {
  day: string;
  highCelsius?: number | null;
  lowCelsius?: number | null;
  precipitationMillimetres?: number | null;
  snowfallMillimetres?: number | null;
  snowTrace: boolean;
  humidityPercent?: number | null;
}

export interface Summary {
  stationId: string;
  /** The station's own identifier, where a file tells it. */
  stationInFile: string | null;
  format: string;
  units: string[];
  lines: number;
  days: number;
  added: number;
  changed: number;
  unchanged: number;
  faultyLines: number;
  validationErrors: { line: number; detail: string }[];
  faultyLineRanges: { fromLine: number; toLine: number }[];
  failedQuality: number;
  traces: number;
  firstDate: string | null;
  lastDate: string | null;
  notes: string[];
}

export const newSummary = (stationId: string, format: string, units: string[]): Summary => ({
  stationId,
  stationInFile: null,
  format,
  units,
  lines: 0,
  days: 0,
  added: 0,
  changed: 0,
  unchanged: 0,
  faultyLines: 0,
  validationErrors: [],
  faultyLineRanges: [],
  failedQuality: 0,
  traces: 0,
  firstDate: null,
  lastDate: null,
  notes: [],
});

/** What a day does not tell stays as it was: a file of snowfall alone must not wipe out temperatures. */
const kept = Prisma.raw(`
  coalesce(excluded."highCelsius", old."highCelsius"), coalesce(excluded."lowCelsius", old."lowCelsius"),
  coalesce(excluded."precipitationMillimetres", old."precipitationMillimetres"),
    coalesce(excluded."snowfallMillimetres", old."snowfallMillimetres"),
  CASE WHEN excluded."snowfallMillimetres" IS NULL AND NOT excluded."snowTrace" THEN old."snowTrace" ELSE excluded."snowTrace" END,
  coalesce(excluded."humidityPercent", old."humidityPercent")`);

/**
 * Adds the days that are new and rewrites those that differ, in one statement.
 * @param days no day twice
 * @param summary is added to
 */
export async function writeStationDays(
  context: OperationContext,
  summary: Summary,
  days: readonly DayRecord[],
): Promise<void> {
  if (days.length === 0) return;
  const column = <K extends keyof DayRecord>(key: K) => days.map((one) => one[key] ?? null);
  const values = [
    column('highCelsius'),
    column('lowCelsius'),
    column('precipitationMillimetres'),
    column('snowfallMillimetres'),
    column('humidityPercent'),
  ].map((list) => list.map((value) => (value === null ? null : String(value))));
  const [high, low, precipitation, snowfall, humidity] = values;
  const dayList = column('day');
  const traces = column('snowTrace');
  const [written = { added: 0, changed: 0 }] = await context.tx.$queryRaw<{ added: number; changed: number }[]>`
    WITH written AS (
      INSERT INTO "StationDay" AS old (id, "shopId", "stationId", day, "highCelsius", "lowCelsius",
        "precipitationMillimetres", "snowfallMillimetres", "snowTrace",
        "humidityPercent")
      SELECT gen_random_uuid(), ${context.shop.id}::uuid, ${summary.stationId}::uuid, one.*
      FROM unnest(${dayList}::text[]::date[],
        ${high}::text[]::numeric[], ${low}::text[]::numeric[],
        ${precipitation}::text[]::numeric[], ${snowfall}::text[]::numeric[],
        ${traces}::boolean[], ${humidity}::text[]::numeric[])
        AS one
      ON CONFLICT ("shopId", "stationId", day) DO UPDATE
      SET ("highCelsius", "lowCelsius", "precipitationMillimetres", "snowfallMillimetres", "snowTrace", "humidityPercent") = ROW(${kept})
      WHERE (old."highCelsius", old."lowCelsius", old."precipitationMillimetres", old."snowfallMillimetres",
        old."snowTrace", old."humidityPercent")
        IS DISTINCT FROM (${kept})
      RETURNING (xmax = 0) AS is_new
    )
    SELECT count(*) FILTER (WHERE is_new)::int AS added, count(*) FILTER (WHERE NOT is_new)::int AS changed FROM written`;
  summary.days += days.length;
  summary.added += written.added;
  summary.changed += written.changed;
  summary.unchanged += days.length - written.added - written.changed;
  for (const { day, snowTrace } of days) {
    if (snowTrace) summary.traces += 1;
    if (summary.firstDate === null || day < summary.firstDate) summary.firstDate = day;
    if (summary.lastDate === null || day > summary.lastDate) summary.lastDate = day;
  }
}

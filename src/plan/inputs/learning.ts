/** What the shop's own records teach: hours of finished tasks, sickness, and what taking machines apart has turned up. */
import type { AbsenceRecord, FoundWorkEntry, HoursEntry } from '../../engine/learning/index.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import type { LearningRecords } from './records.js';

/** Of how many finished tasks at most the time taken is looked at, the latest first. */
const TASKS_LOOKED_AT = 600;
/** How far back sickness counts. */
const ABSENCE_YEARS = 3;

/** In three statements. @param partDays equally likely days until a part comes that is ordered when it is needed */
export async function learningRecords(
  context: OperationContext,
  { seasonEndMonthDay, partDays }: { seasonEndMonthDay: string; partDays: number[] },
): Promise<LearningRecords> {
  return {
    hours: await finishedHours(context, seasonEndMonthDay),
    season: seasonOf(context.today, seasonEndMonthDay),
    absence: await absenceRecord(context),
    foundWork: await foundWorkEntries(context),
    partDays,
  };
}

/** A season is named by the year it begins in; the next one begins when the shop's is over. */
export const seasonOf = (date: string, seasonEndMonthDay: string): string =>
  String(Number(date.slice(0, 4)) - (date.slice(5) > seasonEndMonthDay ? 0 : 1));

/** Hours recorded on finished tasks, shared between as many people as they are for, with the route's as they were then. */
async function finishedHours(context: OperationContext, seasonEnd: string): Promise<HoursEntry[]> {
  const rows = await context.tx.$queryRaw<
    { kind: string; jobId: string; date: string; minutes: number; route: number }[]
  >`
    select t.kind::text as kind, t."jobId"::text as "jobId",
      to_char(t."finishedAt" at time zone ${context.shop.timeZone}, 'YYYY-MM-DD') as date,
      (extract(epoch from sum(l."endedAt" - l."startedAt")) / 60 / greatest(t.people, 1))::float8 as minutes,
      t."handsOnMinutes"::float8 as route
    from (
      select id, kind, people, "jobId", "handsOnMinutes", "finishedAt" from "Task"
      where "finishedAt" is not null and "archivedAt" is null and "handsOnMinutes" > 0
        order by "finishedAt" desc, id limit ${TASKS_LOOKED_AT}
    ) t join "LabourEntry" l on l."taskId" = t.id and l."archivedAt" is null and l."endedAt" is not null
    group by t.id, t.kind, t."jobId", t.people, t."handsOnMinutes", t."finishedAt" order by t."finishedAt" desc, t.id`;
  return rows
    .filter((row) => row.minutes > 0)
    .map((row) => ({
      taskKind: row.kind,
      machineId: row.jobId,
      season: seasonOf(row.date, seasonEnd),
      minutes: Math.round(row.minutes * 10) / 10,
      routeMinutes: row.route,
    }));
}

/** Days worked are days with labour; spells are days off that were sickness, in days of which five of seven are worked. */
async function absenceRecord(context: OperationContext): Promise<AbsenceRecord> {
  const [worked] = await context.tx.$queryRaw<{ days: number }[]>`
    select count(distinct ("personId", ("startedAt" at time zone ${context.shop.timeZone})::date))::int as days
    from "LabourEntry" where "archivedAt" is null
      and "startedAt" > ${context.now}::timestamptz - make_interval(years => ${ABSENCE_YEARS})`;
  const spells = await context.tx.$queryRaw<{ days: number }[]>`
    select (least("endDate", ${context.today}::date) - "startDate" + 1)::int as days from "DayOff"
    where kind = 'sickness' and "personId" is not null and "startDate" <= ${context.today}::date
      and "startDate" > ${context.today}::date - make_interval(years => ${ABSENCE_YEARS})
    order by "startDate", id`;
  const spellDays = spells.map(({ days }) => Math.max(1, Math.min(days, Math.round((days * 5) / 7 + 0.3))));
  return { personDays: (worked?.days ?? 0) + spellDays.reduce((sum, days) => sum + days, 0), spellDays };
}

/**
 * Tasks that were added to a job once it was being taken apart are what that turned up. A job entered in retrospect has all
 * of its tasks written at once, long after the work: what was written together with the step was not turned up by it.
 */
async function foundWorkEntries(context: OperationContext): Promise<FoundWorkEntry[]> {
  const rows = await context.tx.$queryRaw<{ minutes: number; part: boolean }[]>`
    select coalesce(sum(added."handsOnMinutes"), 0)::float8 as minutes,
      coalesce(bool_or(exists (select 1 from "PartNeed" n where n."taskId" = added.id and n."archivedAt" is null)), false) as part
    from "Task" step left join "Task" added on added."jobId" = step."jobId" and added."archivedAt" is null
      and added.kind in ('repair', 'parts', 'straighten')
        and added."createdAt" > greatest(step."startedAt", step."createdAt" + interval '1 hour')
    where step.kind = 'strip' and step."finishedAt" is not null and step."archivedAt" is null
    group by step.id, step."finishedAt" order by step."finishedAt" desc, step.id limit ${TASKS_LOOKED_AT}`;
  return rows.map(({ minutes, part }) => ({ minutes, neededPart: part }));
}

/** The days that matter, as a calendar: when each job is done, what is promised, what comes by post, when to be ready. */
import { arrivalForecasts } from '../../purchasing/arrivals.queries.js';
import { type CalendarDay, calendarText } from '../../platform/icalendar.js';
import type { Call } from '../../platform/operation/operation.js';
import { asDay } from '../../platform/operation/crud-operations.js';
import { readShop } from '../../shop/shop.queries.js';
import { type CurrentPlan, currentPlan } from '../../plan/background/current-plan.js';
import { readyByDay } from '../../plan/inputs/season.js';
import { planSnowOutlook } from '../../plan/inputs/weather.js';

/** @returns an iCalendar document of whole days; it holds no amount of money */
export async function calendarFeed(call: Call): Promise<string> {
  const shop = await readShop(call);
  const plan = await currentPlan(call);
  const days = [
    ...(await jobDays(call, plan)),
    ...(await arrivalDays(call)),
    ...(await seasonDays(call, shop.readinessMarginDays)),
  ];
  return calendarText({
    name: shop.name,
    description:
      'When each job is done with four chances in five, what is promised, what comes by post, and when to be ready for the snow.',
    stampedAt: plan.computedAt,
    days: days.sort((a, b) => (a.day === b.day ? (a.uid < b.uid ? -1 : 1) : a.day < b.day ? -1 : 1)),
  });
}

const odds80 = (p80Day: string, p50Day: string | null): string =>
  `by this day with four chances in five${p50Day && p50Day < p80Day ? `, and by ${p50Day} with one in two` : ''}.`;

async function jobDays(call: Call, { forecast, odds }: CurrentPlan): Promise<CalendarDay[]> {
  const { jobs } = forecast.records;
  const chances = new Map(odds.jobs.map((one) => [one.jobId, one]));
  const promised = new Map(
    (
      await call.tx.job.findMany({
        where: { id: { in: jobs.map((job) => job.id) } },
        select: { id: true, promisedOn: true },
      })
    ).map((job) => [job.id, job.promisedOn]),
  );
  return jobs.flatMap((job) => {
    const days: CalendarDay[] = [];
    const name = `Job ${job.number}, ${job.title}`;
    const chance = chances.get(job.id);
    const unfinished = forecast.tasksOf(job.id).some((task) => !task.fixed);
    if (chance?.p80Day && unfinished) {
      days.push({
        uid: `job-${job.id}-done@frostwright`,
        day: chance.p80Day,
        summary: `${name}: done`,
        description: `Finished ${odds80(chance.p80Day, chance.p50Day)}`,
      });
    }
    const due = promised.get(job.id);
    if (due) {
      const likely =
        chance?.chanceByDue === null || chance?.chanceByDue === undefined || !unfinished
          ? ''
          : ` Finished by then with a chance of ${Math.round(chance.chanceByDue * 100)} %.`;
      days.push({
        uid: `job-${job.id}-promised@frostwright`,
        day: asDay(due),
        summary: `${name}: promised`,
        description: `The day it is promised for.${likely}`,
      });
    }
    return days;
  });
}

async function arrivalDays(call: Call): Promise<CalendarDay[]> {
  const lines = [...(await arrivalForecasts(call)).byLine.values()];
  const rows = await call.tx.orderLine.findMany({
    where: { id: { in: lines.map((line) => line.orderLineId) } },
    include: { part: { select: { name: true } } },
  });
  const byId = new Map(rows.map((row) => [row.id, row]));
  return lines.flatMap((line) => {
    const row = byId.get(line.orderLineId);
    if (!row) return [];
    const days: CalendarDay[] = [];
    const what = `${row.quantityOrdered.minus(row.quantityReceived).minus(row.quantityCancelled)} × ${row.part.name} from ${line.supplierName}`;
    const standing = line.promisedDay
      ? `Promised for ${line.promisedDay}.`
      : line.backOrdered
        ? 'Back-ordered, without a date.'
        : 'Promised for no day.';
    if (line.p80Day)
      days.push({
        uid: `line-${line.orderLineId}-arrives@frostwright`,
        day: line.p80Day,
        summary: `Arrives: ${what}`,
        description: `Here ${odds80(line.p80Day, line.p50Day)} ${standing}`,
      });
    if (line.promisedDay)
      days.push({
        uid: `line-${line.orderLineId}-promised@frostwright`,
        day: line.promisedDay,
        summary: `Promised: ${what}`,
        description: 'The day that the supplier named last.',
      });
    return days;
  });
}

async function seasonDays(call: Call, marginDays: number): Promise<CalendarDay[]> {
  const outlook = await planSnowOutlook(call);
  const readyBy = readyByDay(outlook, marginDays);
  if (readyBy === null || outlook.medianDay === null) return [];
  return [
    {
      uid: `season-ready-${call.shop.id}@frostwright`,
      day: readyBy,
      summary: 'Be ready for the snow',
      description: `${marginDays} days before the first snow of a median winter, ${outlook.medianDay}.`,
    },
    {
      uid: `season-snow-${call.shop.id}@frostwright`,
      day: outlook.medianDay,
      summary: 'First snow, one winter in two',
      description: 'In half the winters it comes sooner.',
    },
  ];
}

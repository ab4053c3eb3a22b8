/** The days that matter, as a calendar: when each job is done, what is promised, what comes by post, when to be ready. */
import { type CurrentPlan, currentPlan } from '../../plan/background/current-plan.js';
import { planSnowOutlook } from '../../plan/inputs/weather.js';
import { readyByDate } from '../../plan/inputs/what-counts-as-ready.js';
import { type CalendarDay, calendarText } from '../../platform/icalendar.js';
import { asDay } from '../../platform/operation/columns.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { arrivalForecasts } from '../../purchasing/arrivals.queries.js';
import { readShop } from '../../shop/shop.queries.js';

/** @returns an iCalendar document of whole days; it holds no amount of money */
export async function calendarFeed(context: OperationContext): Promise<string> {
  const shop = await readShop(context);
  const plan = await currentPlan(context);
  const days = [
    ...(await jobDays(context, plan)),
    ...(await arrivalDays(context)),
    ...(await seasonDays(context, shop.readinessMarginDays)),
  ];
  return calendarText({
    name: shop.name,
    description:
      'When each job is done with four chances in five, what is promised, what comes by post, and when to be ready for the snow.',
    stampedAt: plan.computedAt,
    days: days.sort((a, b) => (a.day === b.day ? (a.uid < b.uid ? -1 : 1) : a.day < b.day ? -1 : 1)),
  });
}

const probability80 = (p80Date: string, p50Date: string | null): string =>
  `by this day with four chances in five${p50Date && p50Date < p80Date ? `, and by ${p50Date} with one in two` : ''}.`;

async function jobDays(context: OperationContext, { forecast, simulation }: CurrentPlan): Promise<CalendarDay[]> {
  const { jobs } = forecast.records;
  const probabilities = new Map(simulation.jobs.map((one) => [one.jobId, one]));
  const promised = new Map(
    (
      await context.tx.job.findMany({
        where: { id: { in: jobs.map((job) => job.id) } },
        select: { id: true, promisedDate: true },
      })
    ).map((job) => [job.id, job.promisedDate]),
  );
  return jobs.flatMap((job) => {
    const days: CalendarDay[] = [];
    const name = `Job ${job.number}, ${job.title}`;
    const probability = probabilities.get(job.id);
    const unfinished = forecast.tasksOf(job.id).some((task) => !task.fixed);
    if (probability?.p80Date && unfinished) {
      days.push({
        uid: `job-${job.id}-done@frostwright`,
        day: probability.p80Date,
        summary: `${name}: done`,
        description: `Finished ${probability80(probability.p80Date, probability.p50Date)}`,
      });
    }
    const due = promised.get(job.id);
    if (due) {
      const likely =
        probability?.probabilityByDue === null || probability?.probabilityByDue === undefined || !unfinished
          ? ''
          : ` Finished by then with a chance of ${Math.round(probability.probabilityByDue * 100)} %.`;
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

async function arrivalDays(context: OperationContext): Promise<CalendarDay[]> {
  const lines = [...(await arrivalForecasts(context)).byLine.values()];
  const rows = await context.tx.orderLine.findMany({
    where: { id: { in: lines.map((line) => line.orderLineId) } },
    include: { part: { select: { name: true } } },
  });
  const byId = new Map(rows.map((row) => [row.id, row]));
  return lines.flatMap((line) => {
    const row = byId.get(line.orderLineId);
    if (!row) return [];
    const days: CalendarDay[] = [];
    const what =
      `${row.quantityOrdered.minus(row.quantityReceived).minus(row.quantityCancelled)} ` +
      `× ${row.part.name} from ${line.supplierName}`;
    const status = line.promisedDate
      ? `Promised for ${line.promisedDate}.`
      : line.backOrdered
        ? 'Back-ordered, without a date.'
        : 'Promised for no day.';
    if (line.p80Date)
      days.push({
        uid: `line-${line.orderLineId}-arrives@frostwright`,
        day: line.p80Date,
        summary: `Arrives: ${what}`,
        description: `Here ${probability80(line.p80Date, line.p50Date)} ${status}`,
      });
    if (line.promisedDate)
      days.push({
        uid: `line-${line.orderLineId}-promised@frostwright`,
        day: line.promisedDate,
        summary: `Promised: ${what}`,
        description: 'The day that the supplier named last.',
      });
    return days;
  });
}

async function seasonDays(context: OperationContext, marginDays: number): Promise<CalendarDay[]> {
  const outlook = await planSnowOutlook(context);
  const readyBy = readyByDate(outlook, marginDays);
  if (readyBy === null || outlook.medianDate === null) return [];
  return [
    {
      uid: `season-ready-${context.shop.id}@frostwright`,
      day: readyBy,
      summary: 'Be ready for the snow',
      description: `${marginDays} days before the first snow of a median winter, ${outlook.medianDate}.`,
    },
    {
      uid: `season-snow-${context.shop.id}@frostwright`,
      day: outlook.medianDate,
      summary: 'First snow, one winter in two',
      description: 'In half the winters it comes sooner.',
    },
  ];
}

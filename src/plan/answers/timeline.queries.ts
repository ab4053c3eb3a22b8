/** The plan as bars: what stands where and who is at what, by resource and by job. */
import { z } from 'zod';
import { Invalid } from '../../platform/errors.js';
import { query } from '../../platform/operation/operation.js';
import type { Row } from '../../platform/operation/row.js';
import { day, id, instant, shape, wholeNumber } from '../../platform/shapes.js';
import { type CurrentPlan, currentPlan } from '../background/current-plan.js';
import { isCrew } from '../model/staff.js';
import { planDate } from './plan.shapes.js';
import { scheduledDate } from './scheduled-date.js';

const TimelineBar = shape(
  'TimelineBar',
  {
    taskId: id,
    jobId: id,
    jobNumber: wholeNumber,
    name: z.string(),
    from: instant,
    to: instant,
    curing: z.boolean(),
    amount: wholeNumber,
    fixed: z.boolean().meta({ description: 'It has begun or is done.' }),
  },
  'One task in one place; work that stops at closing time is one bar.',
);
const TimelineResource = shape(
  'TimelineResource',
  {
    resource: z.string(),
    capacity: wholeNumber,
    bars: z.array(TimelineBar),
    closed: z.array(shape('TimelineGap', { from: instant, to: instant }, 'Nobody is in.')),
  },
  'People, or a kind of place.',
);
const TimelineJob = shape('TimelineJob', {
  jobId: id,
  jobNumber: wholeNumber,
  jobTitle: z.string(),
  expectedDate: day.nullable(),
  p80Date: day.nullable(),
  dueDate: day.nullable(),
  bars: z.array(TimelineBar),
});
export const Timeline = shape(
  'Timeline',
  {
    startDate: day,
    endDate: day,
    computedAt: instant,
    resources: z.array(TimelineResource),
    jobs: z.array(TimelineJob),
  },
  "The shop's plan on a line of time.",
);

const MOST_DAYS = 400;
const DAYS_SHOWN = 28;

interface Bar {
  taskId: string;
  jobId: string;
  jobNumber: number;
  name: string;
  from: Date;
  to: Date;
  curing: boolean;
  fixed: boolean;
}

export function timelineOf(
  { forecast, simulation, computedAt }: CurrentPlan,
  startDate: string,
  endDate: string,
): Row<typeof Timeline> {
  const { built, schedule, naming, records } = forecast;
  const { local, problem } = built;
  const from = local.ofDay(startDate);
  const until = local.endOfDay(endDate);
  const bars = new Map<string, Bar>();
  for (const scheduled of schedule.tasks) {
    const curing = scheduled.id.endsWith('/cure');
    const task = naming.tasks.get(scheduled.id.replace(/\/cure$/, ''));
    if (!task || scheduled.startMinutes >= until || scheduled.finishMinutes <= from) continue;
    bars.set(scheduled.id, {
      taskId: task.id,
      jobId: task.jobId,
      jobNumber: task.jobNumber,
      name: curing ? `Cure after ${task.name.toLowerCase()}` : task.name,
      from: local.toInstant(scheduled.startMinutes),
      to: local.toInstant(scheduled.finishMinutes),
      curing,
      fixed: scheduled.fixed || task.startedAt !== null,
    });
  }
  const byId = new Map(problem.tasks.map((task) => [task.id, task]));
  const finish = new Map(schedule.jobs.map((job) => [job.id, job.finishMinutes]));
  const simulated = new Map(simulation.jobs.map((job) => [job.jobId, job]));
  return {
    startDate,
    endDate,
    computedAt,
    resources: problem.resources
      .filter((one) => !isCrew(one.id))
      .map((resource) => ({
        resource: resource.id,
        capacity: resource.capacity,
        bars: [...bars].flatMap(([taskId, bar]) => {
          const amount = byId.get(taskId)?.demands.find((demand) => demand.resourceId === resource.id)?.amount ?? 0;
          return amount > 0 ? [{ ...bar, amount }] : [];
        }),
        closed: resource.calendar
          ? gaps(resource.calendar, from, until).map((gap) => ({
              from: local.toInstant(gap.from),
              to: local.toInstant(gap.to),
            }))
          : [],
      })),
    jobs: records.jobs.map((job) => {
      const end = finish.get(job.id);
      return {
        jobId: job.id,
        jobNumber: job.number,
        jobTitle: job.title,
        expectedDate: scheduledDate(end === undefined || end === null ? null : local.dayOf(end), simulated.get(job.id)),
        p80Date: simulated.get(job.id)?.p80Date ?? null,
        dueDate: job.dueDate,
        bars: [...bars.values()].filter((bar) => bar.jobId === job.id).map((bar) => ({ ...bar, amount: 1 })),
      };
    }),
  };
}

function gaps(
  open: readonly { startMinutes: number; endMinutes: number }[],
  from: number,
  until: number,
): { from: number; to: number }[] {
  const closed: { from: number; to: number }[] = [];
  let at = from;
  for (const { startMinutes, endMinutes } of open) {
    if (endMinutes <= from) continue;
    if (startMinutes >= until) break;
    if (startMinutes > at) closed.push({ from: at, to: startMinutes });
    at = Math.max(at, endMinutes);
  }
  if (at < until) closed.push({ from: at, to: until });
  return closed;
}

export const timelineQueries = [
  query({
    name: 'timeline',
    slow: true,
    summary: 'The plan as bars: who is at what and what stands where, by resource and by job',
    rest: { method: 'GET', path: '/plan/timeline' },
    input: z.strictObject({
      startDate: planDate,
      endDate: day.nullish().meta({ scalar: 'Day', description: `${DAYS_SHOWN} days on unless given.` }),
    }),
    output: Timeline,
    async run(context, input) {
      const plan = await currentPlan(context);
      const { local } = plan.forecast.built;
      const startDate = input.startDate ?? context.today;
      const endDate = input.endDate ?? local.dayAt(local.offsetOf(startDate) + DAYS_SHOWN - 1);
      const days = local.offsetOf(endDate) - local.offsetOf(startDate) + 1;
      if (days < 1 || days > MOST_DAYS)
        throw new Invalid([{ detail: `must be 0 to ${MOST_DAYS - 1} days after startDate`, pointer: '/endDate' }]);
      return timelineOf(plan, startDate, endDate);
    },
  }),
];

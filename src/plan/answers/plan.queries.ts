/** The plan in the shapes' words: the schedule, the day's list, a job's forecast. */
import { z } from 'zod';
import { daysBetween } from '../../platform/days.js';
import { NotFound, Refused } from '../../platform/errors.js';
import { computed, type OperationContext, query } from '../../platform/operation/operation.js';
import { id } from '../../platform/shapes.js';
import { Job } from '../../work/work.shapes.js';
import { type CurrentPlan, currentPlan, simulateNow } from '../background/current-plan.js';
import { ENGINE_VERSION, PLAN_SEED } from '../background/plan-store.js';
import type { ScheduledRecords } from '../model/scheduled-records.js';
import { partWords, startReason } from '../model/words.js';
import { qualityWords } from '../simulation/quality.js';
import type { JobSimulation, PlanSimulation } from '../simulation/simulate-plan.js';
import { workerTasks } from '../simulation/worker-tasks.js';
import { heatLevers, type JobLever } from './heating.js';
import { type JobScheduleFacts, jobSchedules } from './job-forecast.js';
import { JobSchedule, Plan } from './plan.shapes.js';
import { safetyWaits } from './safety-waits.js';
import { scheduledDate } from './scheduled-date.js';

export type JobScheduleAnswer = JobScheduleFacts &
  Omit<JobSimulation, 'chain' | 'probabilityReady'> & {
    probabilityBeforeSnow: number | null;
    deciding: { taskId: string; name: string; share: number }[];
  };

/**
 * The forecasts of all open jobs with their chances, simulated now unless they are known: for a forecast made within a
 * command.
 */
export async function jobScheduleAnswers(
  context: OperationContext,
  made: ScheduledRecords,
  simulation?: PlanSimulation,
) {
  const earliestDates = await context.compute(workerTasks.earliestDates, made.records);
  const levers = await heatLevers(context, made);
  return withSimulation(made, simulation ?? (await simulateNow(context, made))).map((one) => ({
    ...one,
    levers: levers.get(one.jobId) ?? [],
    earliestDate: earliestDates[one.jobId] ?? null,
  }));
}

export function withSimulation(made: ScheduledRecords, simulation: PlanSimulation): JobScheduleAnswer[] {
  const byJob = new Map(simulation.jobs.map((one) => [one.jobId, one]));
  return jobSchedules(made).map((one) => {
    const { chain = [], probabilityReady = null, ...probabilities } = byJob.get(one.jobId) ?? noSimulation(one.jobId);
    return {
      ...one,
      ...scheduledDates(one, byJob.get(one.jobId)),
      ...probabilities,
      probabilityBeforeSnow: probabilityReady,
      deciding: decidingOf(one.jobId, chain, made),
    };
  });
}

/** The scheduled day agrees with the chances, and the days late with the scheduled day. */
function scheduledDates(
  { expectedDate: planned, dueDate }: JobScheduleFacts,
  simulation: JobSimulation | undefined,
): Pick<JobScheduleFacts, 'expectedDate' | 'daysLate'> {
  const expectedDate = scheduledDate(planned, simulation);
  return { expectedDate, daysLate: expectedDate && dueDate ? daysBetween(dueDate, expectedDate) : null };
}

const DECIDING_TOLD = 8;

/** Its own tasks first, of each the ones that most often decide, in the order of the work. */
function decidingOf(
  jobId: string,
  chain: JobSimulation['chain'],
  { naming }: ScheduledRecords,
): JobScheduleAnswer['deciding'] {
  const told = chain.flatMap(({ taskId, share }) => {
    const task = naming.tasks.get(taskId.replace(/\/cure$/, ''));
    if (!task || task.finishedAt) return [];
    const own = task.jobId === jobId;
    const name = taskId.endsWith('/cure') ? `cure after ${task.name.toLowerCase()}` : task.name;
    // Another job's task decides when both want the same bench, or the same pair of hands.
    return [{ own, taskId: task.id, name: own ? name : `${name} on job ${task.jobNumber}`, share }];
  });
  const most = new Set(
    [...told].sort((a, b) => Number(b.own) - Number(a.own) || b.share - a.share).slice(0, DECIDING_TOLD),
  );
  return told
    .filter((one) => most.has(one))
    .sort((a, b) => Number(b.own) - Number(a.own))
    .map(({ taskId, name, share }) => ({ taskId, name, share }));
}

const noSimulation = (jobId: string): JobSimulation => ({
  jobId,
  p10Date: null,
  p50Date: null,
  p80Date: null,
  p95Date: null,
  probabilityByDue: null,
  probabilityReady: null,
  readinessGainPerWeek: null,
  chain: [],
});

function planned(made: ScheduledRecords) {
  const { local } = made.built;
  return made.schedule.tasks.flatMap((scheduled) => {
    const task = made.naming.tasks.get(scheduled.id);
    if (!task) return [];
    return [
      {
        taskId: task.id,
        jobId: task.jobId,
        jobNumber: task.jobNumber,
        name: task.name,
        kind: task.kind,
        startsAt: local.toInstant(scheduled.startMinutes),
        finishesAt: local.toInstant(scheduled.finishMinutes),
        begun: task.startedAt !== null,
        finished: task.finishedAt !== null,
        handsOnMinutes: task.handsOnMinutes,
        people: task.people,
        placeKind: task.placeKind,
        reasons: [task.finishedAt ? 'it is done' : startReason(scheduled, made.naming)],
        waitsForParts: task.awaited.map(partWords),
        cautions: task.cautions,
      },
    ];
  });
}

async function presentPlan(context: OperationContext, plan: CurrentPlan) {
  const { forecast, simulation, answer, ...about } = plan;
  return {
    ...about,
    seed: PLAN_SEED,
    scenarios: simulation.scenarios,
    engineVersion: ENGINE_VERSION,
    schedulesTried: answer.search.schedules,
    provenOptimal: answer.search.provenOptimal,
    quality: { ...answer.quality, reasons: [qualityWords(answer.quality, answer.search.provenOptimal)] },
    jobs: await forecastsOf(context, plan),
    tasks: planned(forecast),
    resources: simulation.resources,
  };
}

/** The forecasts of all open jobs from the current plan, and what stands against machines that are finished. */
export async function forecastsOf(
  context: OperationContext,
  { forecast, simulation, answer }: CurrentPlan,
): Promise<(JobScheduleAnswer & { earliestDate: string | null; levers: JobLever[] })[]> {
  const unsafe = await safetyWaits(context, forecast);
  const levers = await heatLevers(context, forecast);
  return withSimulation(forecast, simulation).map((one) => ({
    ...one,
    waits: [...one.waits, ...(unsafe.get(one.jobId) ?? [])],
    levers: levers.get(one.jobId) ?? [],
    earliestDate: answer.quality.earliestDates[one.jobId] ?? null,
  }));
}

export const planQueries = [
  query({
    name: 'plan',
    slow: true,
    summary: "The shop's schedule as its records have it now",
    rest: { method: 'GET', path: '/plan' },
    input: z.strictObject({
      stale: z.boolean().nullish().meta({
        description: 'Take the last plan at once, even where records have changed since; the answer says so.',
      }),
    }),
    output: Plan,
    run: async (context, input) => presentPlan(context, await currentPlan(context, { stale: input.stale === true })),
  }),
  query({
    name: 'jobSchedule',
    slow: true,
    summary: 'When a job is expected to be finished, what it waits for, and why',
    rest: { method: 'GET', path: '/jobs/:id/schedule' },
    input: z.strictObject({ id }),
    output: JobSchedule,
    async run(context, { id: jobId }) {
      const found = (await forecastsOf(context, await currentPlan(context))).find((one) => one.jobId === jobId);
      if (found) return found;
      const job = await context.tx.job.findFirst({ where: { id: jobId } });
      if (!job) throw new NotFound('job', jobId);
      throw new Refused('job-closed', `Job ${job.number} is closed: there is nothing to forecast.`);
    },
  }),
];

export const planRelations = [
  computed({
    on: Job,
    field: 'forecast',
    slow: true,
    to: JobSchedule,
    description: 'When it is expected to be finished, and why; null once it is closed.',
    async compute(context, jobs) {
      const all = new Map((await forecastsOf(context, await currentPlan(context))).map((one) => [one.jobId, one]));
      return jobs.map((job) => all.get(job.id) ?? null);
    },
  }),
];

/** The plan in the shapes' words: the schedule, the day's list, a job's forecast. */
import { z } from 'zod';
import { NotFound, Refused } from '../../platform/errors.js';
import { type Call, computed, type Presentable, query } from '../../platform/operation/operation.js';
import { id } from '../../platform/shapes.js';
import { Job } from '../../work/work.shapes.js';
import { type CurrentPlan, currentPlan, oddsNow } from '../background/current-plan.js';
import { type JobForecastFacts, jobForecasts } from './job-forecast.js';
import type { JobOdds, PlanOdds } from '../simulation/simulate-plan.js';
import { JobForecast, Plan } from './plan.shapes.js';
import { ENGINE_VERSION, PLAN_SEED } from '../background/plan-store.js';
import type { Forecast } from '../model/scheduled-records.js';
import { qualityWords } from '../simulation/quality.js';
import { safetyWaits } from './safety-waits.js';
import { partWords, whyStart } from '../model/words.js';
import { works } from '../simulation/worker-tasks.js';

export type PresentedForecast = JobForecastFacts &
  Omit<JobOdds, 'chain' | 'chanceReady'> & {
    chanceBeforeSnow: number | null;
    deciding: { taskId: string; name: string; share: number }[];
  };

/** The forecasts of all open jobs with their chances, simulated now: for a forecast made within a command. */
export async function presentJobForecasts(call: Call, made: Forecast): Promise<Presentable[]> {
  const earliestDays = await call.compute(works.earliestDays, made.records);
  return withOdds(made, await oddsNow(call, made)).map((one) => ({
    ...one,
    earliestDay: earliestDays[one.jobId] ?? null,
  }));
}

export function withOdds(made: Forecast, odds: PlanOdds): PresentedForecast[] {
  const byJob = new Map(odds.jobs.map((one) => [one.jobId, one]));
  return jobForecasts(made).map((one) => {
    const { chain = [], chanceReady = null, ...chances } = byJob.get(one.jobId) ?? noOdds(one.jobId);
    return {
      ...one,
      ...chances,
      chanceBeforeSnow: chanceReady,
      deciding: decidingOf(one.jobId, chain, made),
    };
  });
}

const DECIDING_TOLD = 8;

/** Its own tasks first, of each the ones that most often decide, in the order of the work. */
function decidingOf(jobId: string, chain: JobOdds['chain'], { naming }: Forecast): PresentedForecast['deciding'] {
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

const noOdds = (jobId: string): JobOdds => ({
  jobId,
  p10Day: null,
  p50Day: null,
  p80Day: null,
  p95Day: null,
  chanceByDue: null,
  chanceReady: null,
  gainOfAWeek: null,
  chain: [],
});

function planned(made: Forecast): Presentable[] {
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
        why: task.finishedAt ? 'it is done' : whyStart(scheduled, made.naming),
        waitsForParts: task.awaited.map(partWords),
        cautions: task.cautions,
      },
    ];
  });
}

async function presentPlan(call: Call, plan: CurrentPlan): Promise<Presentable> {
  const { forecast, odds, answer, ...about } = plan;
  return {
    ...about,
    seed: PLAN_SEED,
    scenarios: odds.scenarios,
    engineVersion: ENGINE_VERSION,
    schedulesTried: answer.search.schedules,
    provenOptimal: answer.search.provenOptimal,
    quality: { ...answer.quality, why: qualityWords(answer.quality, answer.search.provenOptimal) },
    jobs: await forecastsOf(call, plan),
    tasks: planned(forecast),
    resources: odds.resources,
  };
}

/** The forecasts of all open jobs from the current plan, and what stands against machines that are finished. */
export async function forecastsOf(
  call: Call,
  { forecast, odds, answer }: CurrentPlan,
): Promise<(PresentedForecast & { earliestDay: string | null })[]> {
  const unsafe = await safetyWaits(call, forecast);
  return withOdds(forecast, odds).map((one) => ({
    ...one,
    waits: [...one.waits, ...(unsafe.get(one.jobId) ?? [])],
    earliestDay: answer.quality.earliestDays[one.jobId] ?? null,
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
    run: async (call, input) => presentPlan(call, await currentPlan(call, { stale: input.stale === true })),
  }),
  query({
    name: 'jobForecast',
    slow: true,
    summary: 'When a job is expected to be finished, what it waits for, and why',
    rest: { method: 'GET', path: '/jobs/:jobId/forecast' },
    input: z.strictObject({ jobId: id }),
    output: JobForecast,
    async run(call, { jobId }) {
      const found = (await forecastsOf(call, await currentPlan(call))).find((one) => one.jobId === jobId);
      if (found) return found;
      const job = await call.tx.job.findFirst({ where: { id: jobId } });
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
    to: JobForecast,
    description: 'When it is expected to be finished, and why; null once it is closed.',
    async compute(call, jobs) {
      const all = new Map((await forecastsOf(call, await currentPlan(call))).map((one) => [one.jobId, one]));
      return jobs.map((job) => all.get(job.id) ?? null);
    },
  }),
];

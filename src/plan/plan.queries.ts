/** The plan in the shapes' words: the schedule, the day's list, a job's forecast. */
import { z } from 'zod';
import { NotFound, Refused } from '../platform/errors.js';
import { computed, query, type Call, type Presentable } from '../platform/operation/operation.js';
import { id } from '../platform/shapes.js';
import { Job } from '../work/work.shapes.js';
import { benchList } from './bench.js';
import { currentPlan, oddsNow, type CurrentPlan } from './current.js';
import { jobForecasts, type JobForecastFacts } from './job-forecast.js';
import type { JobOdds, PlanOdds } from './odds.js';
import { BenchList, JobForecast, Plan, planDay } from './plan.shapes.js';
import { ENGINE_VERSION, PLAN_SEED } from './plan-store.js';
import type { Forecast } from './planned.js';
import { qualityWords } from './quality.js';
import { partWords, whyStart } from './words.js';
import { works } from './works.js';

export type PresentedForecast = JobForecastFacts & Omit<JobOdds, 'chain' | 'chanceReady'> & { chanceBeforeSnow: number | null; deciding: { taskId: string; name: string; share: number }[] };

/** The forecasts of all open jobs with their chances, simulated now: for a forecast made within a command. */
export async function presentJobForecasts(call: Call, made: Forecast): Promise<Presentable[]> {
  const earliestDays = await call.compute(works.earliestDays, made.records);
  return withOdds(made, await oddsNow(call, made)).map((one) => ({ ...one, earliestDay: earliestDays[one.jobId] ?? null }));
}

export function withOdds(made: Forecast, odds: PlanOdds): PresentedForecast[] {
  const byJob = new Map(odds.jobs.map((one) => [one.jobId, one]));
  return jobForecasts(made).map((one) => {
    const { chain = [], chanceReady = null, ...chances } = byJob.get(one.jobId) ?? noOdds(one.jobId);
    return {
      ...one,
      ...chances,
      chanceBeforeSnow: chanceReady,
      deciding: chain.flatMap(({ taskId, share }) => {
        const task = made.naming.tasks.get(taskId.replace(/\/cure$/, ''));
        if (!task || task.finishedAt) return [];
        const name = taskId.endsWith('/cure') ? `cure after ${task.name.toLowerCase()}` : task.name;
        // Another job's task decides when both want the same bench, or the same pair of hands.
        return [{ taskId: task.id, name: task.jobId === one.jobId ? name : `${name} on job ${task.jobNumber}`, share }];
      }),
    };
  });
}

const noOdds = (jobId: string): JobOdds => ({ jobId, p10Day: null, p50Day: null, p80Day: null, p95Day: null, chanceByDue: null, chanceReady: null, gainOfAWeek: null, chain: [] });

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

function presentPlan({ forecast, odds, answer, ...about }: CurrentPlan): Presentable {
  return {
    ...about,
    seed: PLAN_SEED,
    scenarios: odds.scenarios,
    engineVersion: ENGINE_VERSION,
    schedulesTried: answer.search.schedules,
    provenOptimal: answer.search.provenOptimal,
    quality: { ...answer.quality, why: qualityWords(answer.quality, answer.search.provenOptimal) },
    jobs: forecastsOf({ forecast, odds, answer }),
    tasks: planned(forecast),
    resources: odds.resources,
  };
}

const currentForecasts = async (call: Call): Promise<Presentable[]> => forecastsOf(await currentPlan(call));

const forecastsOf = ({ forecast, odds, answer }: Pick<CurrentPlan, 'forecast' | 'odds' | 'answer'>): Presentable[] =>
  withOdds(forecast, odds).map((one) => ({ ...one, earliestDay: answer.quality.earliestDays[one.jobId] ?? null }));

export const planQueries = [
  query({
    name: 'plan',
    slow: true,
    summary: 'The shop\'s schedule as its records have it now',
    rest: { method: 'GET', path: '/plan' },
    input: z.strictObject({ stale: z.boolean().nullish().meta({ description: 'Take the last plan at once, even where records have changed since; the answer says so.' }) }),
    output: Plan,
    run: async (call, input) => presentPlan(await currentPlan(call, { stale: input.stale === true })),
  }),
  query({
    name: 'benchList',
    slow: true,
    summary: 'What to work on, on one day, and what to have ready for it',
    rest: { method: 'GET', path: '/plan/bench' },
    input: z.strictObject({ day: planDay }),
    output: BenchList,
    async run(call, input) {
      const day = input.day ?? call.today;
      if (day < call.today) throw new Refused('day-past', 'The plan looks forward; what was done on a past day stands in the labour entries.');
      return benchList((await currentPlan(call)).forecast, day);
    },
  }),
  query({
    name: 'jobForecast',
    slow: true,
    summary: 'When a job is expected to be finished, what it waits for, and why',
    rest: { method: 'GET', path: '/jobs/:jobId/forecast' },
    input: z.strictObject({ jobId: id }),
    output: JobForecast,
    async run(call, { jobId }) {
      const found = (await currentForecasts(call)).find((one) => one.jobId === jobId);
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
      const all = new Map((await currentForecasts(call)).map((one) => [one.jobId, one]));
      return jobs.map((job) => all.get(job.id) ?? null);
    },
  }),
];

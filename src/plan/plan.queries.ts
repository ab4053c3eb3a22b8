/** The plan in the shapes' words: the schedule, the day's list, a job's forecast. */
import { createHash } from 'node:crypto';
import { z } from 'zod';
import { NotFound, Refused } from '../platform/errors.js';
import { computed, query, type Call, type Presentable } from '../platform/operation/operation.js';
import { canonical } from '../platform/operation/perform.js';
import { id } from '../platform/shapes.js';
import { snowOutlook } from '../season/first-snow.queries.js';
import { readShop } from '../shop/shop.queries.js';
import { Job } from '../work/work.shapes.js';
import { benchList } from './bench.js';
import { forecast, type Forecast } from './forecast.js';
import { jobForecasts, type JobForecastFacts } from './job-forecast.js';
import { BenchList, JobForecast, Plan, planDay } from './plan.shapes.js';
import { chanceReady } from './season.js';
import { partWords, whyStart } from './words.js';

/** Named in every plan, and part of its fingerprint: another engine may make another plan of the same records. */
export const ENGINE_VERSION = '1';

/** The forecasts of all open jobs, with their chance against the snow. */
export async function presentJobForecasts(call: Call, made: Forecast): Promise<(JobForecastFacts & { chanceBeforeSnow: number | null })[]> {
  const outlook = await snowOutlook(call);
  const { readinessMarginDays } = await readShop(call);
  return jobForecasts(made).map((one) => ({ ...one, chanceBeforeSnow: chanceReady(outlook, one.expectedDay, readinessMarginDays) }));
}

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

export const planQueries = [
  query({
    name: 'plan',
    summary: 'The shop\'s schedule as its records have it now',
    rest: { method: 'GET', path: '/plan' },
    input: z.strictObject({}),
    output: Plan,
    async run(call) {
      const made = await forecast(call);
      return {
        computedAt: call.now,
        fingerprint: createHash('sha256').update(ENGINE_VERSION).update(canonical(made.records)).digest('hex').slice(0, 32),
        engineVersion: ENGINE_VERSION,
        jobs: await presentJobForecasts(call, made),
        tasks: planned(made),
      };
    },
  }),
  query({
    name: 'benchList',
    summary: 'What to work on, on one day, and what to have ready for it',
    rest: { method: 'GET', path: '/plan/bench' },
    input: z.strictObject({ day: planDay }),
    output: BenchList,
    async run(call, input) {
      const day = input.day ?? call.today;
      if (day < call.today) throw new Refused('day-past', 'The plan looks forward; what was done on a past day stands in the labour entries.');
      return benchList(await forecast(call), day);
    },
  }),
  query({
    name: 'jobForecast',
    summary: 'When a job is expected to be finished, what it waits for, and why',
    rest: { method: 'GET', path: '/jobs/:jobId/forecast' },
    input: z.strictObject({ jobId: id }),
    output: JobForecast,
    async run(call, { jobId }) {
      const found = (await presentJobForecasts(call, await forecast(call))).find((one) => one.jobId === jobId);
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
    to: JobForecast,
    description: 'When it is expected to be finished, and why; null once it is closed.',
    async compute(call, jobs) {
      const all = new Map((await presentJobForecasts(call, await forecast(call))).map((one) => [one.jobId, one]));
      return jobs.map((job) => all.get(job.id) ?? null);
    },
  }),
];

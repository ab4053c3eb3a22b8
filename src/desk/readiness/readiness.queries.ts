/** All open jobs against the first snow: who is ready, who is late, what binds, how many more fit. */
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { snowKinds } from '../../machines/machines.shapes.js';
import { daysBetween } from '../../platform/days.js';
import { type Call, type Presentable, query } from '../../platform/operation/operation.js';
import { priceAdviceFor } from '../../resale/price.queries.js';
import { chanceOfSnowBy, type SnowOutlook } from '../../season/first-snow.js';
import { readShop } from '../../shop/shop.queries.js';
import { assumptions } from '../../plan/answers/assumptions.js';
import { type Load, loads } from '../../plan/simulation/capacity.js';
import { type CurrentPlan, currentPlan } from '../../plan/background/current-plan.js';
import type { JobWait } from '../../plan/answers/job-forecast.js';
import type { LeverAnswer } from '../../plan/simulation/scenarios.js';
import { type PresentedForecast, withOdds } from '../../plan/answers/plan.queries.js';
import { Readiness } from '../../plan/answers/plan.shapes.js';
import { stepsOf } from '../../plan/simulation/route-steps.js';
import { readyByDay, snowIsKnown } from '../../plan/inputs/season.js';
import { planSnowOutlook } from '../../plan/inputs/weather.js';
import { works } from '../../plan/simulation/worker-tasks.js';

const resourceWords: Record<string, string> = {
  people: 'hours of work',
  bench: 'the bench',
  sprayArea: 'the spray area',
  cureRack: 'the cure rack',
};

/**
 * @param advice of the open jobs, where the caller has it already
 * @returns as the shape has it, and `snowWhy`: what is known of the snow alone
 */
export async function readReadiness(call: Call, advice?: Map<string, Presentable>): Promise<Presentable> {
  const plan = await currentPlan(call);
  const made = plan.forecast;
  const shop = await readShop(call);
  const outlook = await planSnowOutlook(call);
  const readyBy = readyByDay(outlook, shop.readinessMarginDays);
  const forecasts = forecastsForSnow(plan);
  const likely = new Map(forecasts.map((one) => [one.jobId, one.p50Day]));
  const prices = advice ?? (await priceAdviceFor(call, [...likely.keys()], likely));
  const jobs = forecasts
    .map((job) => jobReadiness(job, readyBy, prices.get(job.jobId)))
    .sort((a, b) => (b.daysToSpare ?? -9999) - (a.daysToSpare ?? -9999));
  const readyCount = readyBy === null ? null : jobs.filter((job) => job.ready).length;
  const chances = jobs.flatMap((job) => job.chance ?? []);
  const untilSeason = readyBy && readyBy > call.today ? loads(made, readyBy) : [];
  const routes = await call.tx.route.findMany({
    where: { machineKind: { in: [...snowKinds] }, retiredAt: null },
    orderBy: [{ machineKind: 'asc' }, { createdAt: 'asc' }],
  });
  const firstOfKind = snowKinds.flatMap((kind) => routes.find((route) => route.machineKind === kind) ?? []);
  const { fits, levers } =
    readyBy && firstOfKind.length > 0
      ? await call.compute(
          works.capacity,
          { records: made.records, routes: firstOfKind.map((route) => stepsOf(route.tasks)), by: readyBy },
          call.signal,
        )
      : { fits: [], levers: [] };
  const capacity = firstOfKind.map((route, index) => {
    const fit = fits[index] ?? { count: null, lastDay: null, nextDay: null };
    return {
      kind: route.machineKind,
      routeName: route.name,
      moreThatFit: fit.count,
      lastFinishedOn: fit.lastDay,
      nextWouldFinishOn: fit.nextDay,
    };
  });
  const bound = new Map(plan.odds.resources.map((one) => [one.resource, one.boundShare]));
  return {
    asOf: call.today,
    season: outlook.seasonLabel,
    thresholdMillimetres: shop.snowThresholdMillimetres,
    marginDays: shop.readinessMarginDays,
    firstSnowMedian: outlook.medianDay,
    firstSnowEarly: dayOfQuantile(outlook, 0.1),
    firstSnowLate: dayOfQuantile(outlook, 0.9),
    readyBy,
    jobs,
    readyCount,
    mattersMost: mattersMost(jobs),
    curve: plan.odds.finishedBy.map(({ day, expected: expectedFinished }) => ({
      day,
      expectedFinished,
      chanceOfSnow: !snowIsKnown(outlook) ? null : chanceOfSnowBy(outlook, day),
    })),
    marginAtRisk: unknown(jobs, chances) ? null : Decimal.sum(0, ...jobs.map((job) => job.marginAtRisk ?? 0)),
    expectedReady: unknown(jobs, chances)
      ? null
      : Math.round(1000 * chances.reduce((sum, chance) => sum + chance, 0)) / 1000,
    binds: whatBinds(forecasts, untilSeason, readyBy, call.today, levers),
    loads: untilSeason.map((load) => ({
      ...load,
      usedShare: Math.round(load.usedShare * 1000) / 1000,
      boundShare: bound.get(load.resource) ?? 0,
    })),
    capacity,
    levers,
    snowWhy: outlook.why,
    why: [
      ...outlook.why,
      ...(readyBy === null
        ? [
            `${snowIsKnown(outlook) ? 'in most winters it does not snow so much, so there is no day to be ready by' : 'when it will snow is unknown'}: who is ready, and how many more would fit, is not said`,
          ]
        : [
            `ready means an even chance or better to be finished by ${readyBy}, ${shop.readinessMarginDays} days before the median first snow`,
            `${readyCount} of ${jobs.length} open snow throwers ${readyCount === 1 ? 'is' : 'are'} likely ready`,
          ]),
      ...(readyBy !== null && chances.length < jobs.length
        ? [`nothing is known of ${jobs.length - chances.length} of them, which count for nothing in the sums`]
        : []),
      ...assumptions(shop, made.records),
      `the chances are from ${plan.odds.scenarios} run-throughs of the plan with seed ${plan.odds.seed}, each with hours, arrivals and a winter of its own`,
    ],
  };
}

const unknown = (jobs: readonly unknown[], chances: readonly number[]): boolean =>
  jobs.length > 0 && chances.length === 0;

export function forecastsForSnow({ forecast, odds }: CurrentPlan): PresentedForecast[] {
  const forSnow = new Set(forecast.records.jobs.filter((job) => job.forSnow).map((job) => job.id));
  return withOdds(forecast, odds).filter((one) => forSnow.has(one.jobId));
}

function jobReadiness(job: PresentedForecast, readyBy: string | null, advice: Presentable) {
  const daysToSpare = readyBy && job.p50Day ? daysBetween(job.p50Day, readyBy) : null;
  const margin = advice ? Decimal.max(0, advice.expectedMargin) : null;
  const { jobId, jobNumber, jobTitle, expectedDay, p50Day, p80Day, chanceBeforeSnow: chance, gainOfAWeek, why } = job;
  return {
    jobId,
    jobNumber,
    jobTitle,
    expectedDay,
    p50Day,
    p80Day,
    ready: daysToSpare === null ? null : daysToSpare >= 0,
    chance,
    gainOfAWeek,
    daysToSpare,
    marginAtRisk: margin && chance !== null ? margin.times(1 - chance) : null,
    margin,
    why,
  };
}

/** Where a week sooner would bring most, in money where a margin is known of all of them, else in chance. */
function mattersMost(jobs: readonly ReturnType<typeof jobReadiness>[]): Presentable[] {
  const gaining = jobs.filter((job) => (job.gainOfAWeek ?? 0) > 0);
  const weight = (job: (typeof gaining)[number]): number =>
    job.gainOfAWeek! * (gaining.every((one) => one.margin !== null) ? job.margin!.toNumber() : 1);
  return [...gaining]
    .sort((a, b) => weight(b) - weight(a) || a.jobNumber - b.jobNumber)
    .slice(0, 3)
    .map((job) => ({
      ...job,
      what: `a week sooner would raise its chance by ${pointWords(job.gainOfAWeek!)}; ${job.why}`,
    }));
}

function pointWords(gain: number): string {
  const points = Math.round(gain * 100);
  return points === 0 ? 'less than a point' : `${points} point${points === 1 ? '' : 's'}`;
}

const dayOfQuantile = (outlook: SnowOutlook, probability: number): string | null =>
  outlook.quantileDays.find((one) => one.probability === probability)?.day ?? null;

/** One thing: what the late jobs wait for most; without late jobs, what one more machine would need most; else nothing. */
function whatBinds(
  forecasts: readonly PresentedForecast[],
  resources: readonly Load[],
  readyBy: string | null,
  today: string,
  levers: readonly LeverAnswer[],
): string {
  if (readyBy === null) return 'unknown, as the season is';
  if (readyBy <= today) return `time: the day to be ready by, ${readyBy}, has passed`;
  const waits = new Map<string, number>();
  const late = forecasts.filter((job) => job.p50Day !== null && job.p50Day > readyBy);
  for (const wait of late.flatMap((job) => job.waits))
    waits.set(
      waitWords[wait.kind],
      (waits.get(waitWords[wait.kind]) ?? 0) + Math.max(0, wait.until === null ? 0 : daysBetween(today, wait.until)),
    );
  const [worst] = [...waits].sort(([, a], [, b]) => b - a);
  if (worst)
    return `${worst[0]}, on ${late.length === 1 ? 'the one job that is' : `the ${late.length} jobs that are`} likely late`;
  // Nobody is late: what stands in the way of one machine more is what would let the most more in.
  const [lever] = [...levers].sort((a, b) => b.gained - a.gained);
  if (lever && lever.gained > 0) return `${lever.binds}; with ${lever.change} ${lever.gained} more would fit`;
  const [fullest] = [...resources].sort((a, b) => b.usedShare - a.usedShare);
  return fullest
    ? `nothing in particular; of ${resourceWords[fullest.resource] ?? fullest.resource}, ${Math.round(fullest.usedShare * 100)} % is used until ${readyBy}`
    : 'nothing';
}

const waitWords: Record<JobWait['kind'], string> = {
  part: 'parts',
  cure: 'cure time',
  recoat: 'recoat windows',
  weather: 'paint weather',
  resource: 'places and people held by other jobs',
  safetyChecks: 'safety checks',
  other: 'other waits',
};

export const readinessQueries = [
  query({
    name: 'readiness',
    slow: true,
    summary: 'All jobs against the first snow: who is ready, who is late, what binds, how many more fit',
    rest: { method: 'GET', path: '/readiness' },
    input: z.strictObject({}),
    output: Readiness,
    run: (call) => readReadiness(call),
  }),
];

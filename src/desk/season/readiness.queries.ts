/** All open jobs against the first snow: who is ready, who is late, what binds, how many more fit. */
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { assumptions } from '../../plan/answers/assumptions.js';
import type { JobWait } from '../../plan/answers/job-forecast.js';
import { type JobScheduleAnswer, withSimulation } from '../../plan/answers/plan.queries.js';
import { Readiness } from '../../plan/answers/plan.shapes.js';
import { type CurrentPlan, currentPlan } from '../../plan/background/current-plan.js';
import { planSnowOutlook } from '../../plan/inputs/weather.js';
import { isLikelyReady, probabilityNoSnow, readyByDate, snowIsKnown } from '../../plan/inputs/what-counts-as-ready.js';
import { type Load, loads } from '../../plan/simulation/capacity.js';
import type { ScenarioAnswer } from '../../plan/simulation/scenarios.js';
import { daysBetween } from '../../platform/days.js';
import { type OperationContext, query } from '../../platform/operation/operation.js';
import type { Advice } from '../../resale/advice.js';
import { priceAdviceFor } from '../../resale/price.queries.js';
import { probabilityOfSnowBy, type SnowOutlook } from '../../season/first-snow.js';
import { readShop } from '../../shop/shop.queries.js';
import { quickCapacity, snowRoutes } from './capacity.queries.js';

const resourceWords: Record<string, string> = {
  people: 'hours of work',
  bench: 'the bench',
  sprayArea: 'the spray area',
  cureRack: 'the cure rack',
};

/**
 * @param advice of the open jobs, where the caller has it already
 * @returns as the shape has it, and `snowReasons`: what is known of the snow alone
 */
export async function readReadiness(context: OperationContext, advice?: ReadonlyMap<string, Advice>) {
  const plan = await currentPlan(context);
  const made = plan.forecast;
  const shop = await readShop(context);
  const outlook = await planSnowOutlook(context);
  const readyBy = readyByDate(outlook, shop.readinessMarginDays);
  const forecasts = schedulesForSnow(plan);
  const likely = new Map(forecasts.map((one) => [one.jobId, one.p50Date]));
  const prices = advice ?? (await priceAdviceFor(context, [...likely.keys()], likely));
  const jobs = forecasts
    .map((job) => jobReadiness(job, readyBy, prices.get(job.jobId)))
    .sort((a, b) => (b.daysToSpare ?? -9999) - (a.daysToSpare ?? -9999));
  const readyCount = readyBy === null ? null : jobs.filter((job) => job.ready).length;
  const probabilities = jobs.flatMap((job) => job.probability ?? []);
  const untilSeason = readyBy && readyBy > context.today ? loads(made, readyBy) : [];
  const routes = await snowRoutes(context);
  const { fits, scenarios } =
    readyBy && routes.length > 0 ? await quickCapacity(context, plan, routes, readyBy) : { fits: [], scenarios: [] };
  const capacity = routes.map((route, index) => {
    const fit = fits[index];
    return {
      kind: route.kind,
      routeName: route.name,
      moreThatFit: fit?.count ?? null,
      probabilities: fit?.probabilities ?? [],
      lastFinishedDate: fit?.lastDate ?? null,
      nextFinishDate: fit?.nextDay ?? null,
    };
  });
  const bound = new Map(plan.simulation.resources.map((one) => [one.resource, one.bindingShare]));
  return {
    asOf: context.today,
    season: outlook.seasonLabel,
    thresholdMillimetres: shop.snowThresholdMillimetres,
    marginDays: shop.readinessMarginDays,
    firstSnowMedian: outlook.medianDate,
    probabilityNoSnow: probabilityNoSnow(outlook),
    firstSnowEarly: dayOfQuantile(outlook, 0.1),
    firstSnowLate: dayOfQuantile(outlook, 0.9),
    readyBy,
    jobs,
    readyCount,
    topPriorities: topPriorities(jobs),
    curve: plan.simulation.finishedBy.map(({ day, expected: expectedFinished }) => ({
      day,
      expectedFinished,
      probabilityOfSnow: !snowIsKnown(outlook) ? null : probabilityOfSnowBy(outlook, day),
    })),
    marginAtRisk: unknown(jobs, probabilities) ? null : Decimal.sum(0, ...jobs.map((job) => job.marginAtRisk ?? 0)),
    expectedReady: unknown(jobs, probabilities)
      ? null
      : Math.round(1000 * probabilities.reduce((sum, probability) => sum + probability, 0)) / 1000,
    bottleneck: bottleneckOf(forecasts, untilSeason, readyBy, context.today, scenarios),
    loads: untilSeason.map((load) => ({
      ...load,
      usedShare: Math.round(load.usedShare * 1000) / 1000,
      bindingShare: bound.get(load.resource) ?? 0,
    })),
    capacity,
    scenarios,
    snowReasons: outlook.reasons,
    reasons: [
      ...outlook.reasons,
      ...(readyBy === null
        ? [
            `${
              snowIsKnown(outlook)
                ? 'in most winters it does not snow so much, so there is no day to be ready by'
                : 'when it will snow is unknown'
            }: who is ready, and how many more would fit, is not said`,
          ]
        : [
            `ready means an even chance or better to be finished by ${readyBy}, ` +
              `${shop.readinessMarginDays} days before the median first snow`,
            `${readyCount} of ${jobs.length} open snow throwers ${readyCount === 1 ? 'is' : 'are'} likely ready`,
          ]),
      ...(readyBy !== null && probabilities.length < jobs.length
        ? [`nothing is known of ${jobs.length - probabilities.length} of them, which count for nothing in the sums`]
        : []),
      ...noSnowWords(outlook, made.records.season?.endDate ?? null),
      ...assumptions(shop, made),
      `the chances are from ${plan.simulation.scenarios} run-throughs of the plan with seed ` +
        `${plan.simulation.seed}, each with hours, arrivals and a winter of its own`,
    ],
  };
}

function noSnowWords({ sample }: Pick<SnowOutlook, 'sample'>, endDate: string | null): string[] {
  const without = sample.filter((one) => one.firstSnowDate === null).length;
  return without === 0 || endDate === null
    ? []
    : [
        `${without} of ${sample.length} winters had no such snow: in those, what is finished by ${endDate} counts as ready`,
      ];
}

const unknown = (jobs: readonly unknown[], probabilities: readonly number[]): boolean =>
  jobs.length > 0 && probabilities.length === 0;

export function schedulesForSnow({ forecast, simulation }: CurrentPlan): JobScheduleAnswer[] {
  const forSnow = new Set(forecast.records.jobs.filter((job) => job.forSnow).map((job) => job.id));
  return withSimulation(forecast, simulation).filter((one) => forSnow.has(one.jobId));
}

function jobReadiness(job: JobScheduleAnswer, readyBy: string | null, advice: Advice | undefined) {
  const daysToSpare = readyBy && job.p50Date ? daysBetween(job.p50Date, readyBy) : null;
  const margin = advice ? Decimal.max(0, advice.expectedMargin) : null;
  const {
    jobId,
    jobNumber,
    jobTitle,
    expectedDate,
    p50Date,
    p80Date,
    probabilityBeforeSnow: probability,
    readinessGainPerWeek,
    reasons,
  } = job;
  return {
    jobId,
    jobNumber,
    jobTitle,
    expectedDate,
    p50Date,
    p80Date,
    ready: isLikelyReady(p50Date, readyBy),
    probability,
    readinessGainPerWeek,
    daysToSpare,
    marginAtRisk: margin && probability !== null ? margin.times(1 - probability) : null,
    margin,
    reasons,
  };
}

/** Where a week sooner would bring most, in money where a margin is known of all of them, else in chance. */
function topPriorities(jobs: readonly ReturnType<typeof jobReadiness>[]) {
  const gaining = jobs.flatMap((job) =>
    job.readinessGainPerWeek !== null && job.readinessGainPerWeek > 0
      ? [{ ...job, readinessGainPerWeek: job.readinessGainPerWeek }]
      : [],
  );
  const marginsKnown = gaining.every((one) => one.margin !== null);
  const weight = ({ readinessGainPerWeek, margin }: (typeof gaining)[number]): number =>
    readinessGainPerWeek * (marginsKnown && margin ? margin.toNumber() : 1);
  return [...gaining]
    .sort((a, b) => weight(b) - weight(a) || a.jobNumber - b.jobNumber)
    .slice(0, 3)
    .map((job) => ({
      ...job,
      what: `a week sooner would raise its chance by ${pointWords(job.readinessGainPerWeek)}; ${job.reasons.join('; ')}`,
    }));
}

function pointWords(gain: number): string {
  const points = Math.round(gain * 100);
  return points === 0 ? 'less than a point' : `${points} point${points === 1 ? '' : 's'}`;
}

const dayOfQuantile = (outlook: SnowOutlook, probability: number): string | null =>
  outlook.quantileDays.find((one) => one.probability === probability)?.day ?? null;

/** One thing: what the late jobs wait for most; without late jobs, what one more machine would need most; else nothing. */
function bottleneckOf(
  forecasts: readonly JobScheduleAnswer[],
  resources: readonly Load[],
  readyBy: string | null,
  today: string,
  scenarios: readonly ScenarioAnswer[],
): string {
  if (readyBy === null) return 'unknown, as the season is';
  if (readyBy <= today) return `time: the day to be ready by, ${readyBy}, has passed`;
  const waits = new Map<string, number>();
  const late = forecasts.filter((job) => isLikelyReady(job.p50Date, readyBy) === false);
  for (const wait of late.flatMap((job) => job.waits))
    waits.set(
      waitWords[wait.kind],
      (waits.get(waitWords[wait.kind]) ?? 0) + Math.max(0, wait.until === null ? 0 : daysBetween(today, wait.until)),
    );
  const [worst] = [...waits].sort(([, a], [, b]) => b - a);
  if (worst)
    return `${worst[0]}, on ${late.length === 1 ? 'the one job that is' : `the ${late.length} jobs that are`} likely late`;
  // Nobody is late: what stands in the way of one machine more is what would let the most more in.
  const [lever] = [...scenarios].sort((a, b) => b.additionalMachines - a.additionalMachines);
  if (lever && lever.additionalMachines > 0)
    return `${lever.bottleneck}; with ${lever.change} ${lever.additionalMachines} more would fit`;
  const [fullest] = [...resources].sort((a, b) => b.usedShare - a.usedShare);
  return fullest
    ? `nothing in particular; of ${resourceWords[fullest.resource] ?? fullest.resource}, ` +
        `${Math.round(fullest.usedShare * 100)} % is used until ${readyBy}`
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
    run: (context) => readReadiness(context),
  }),
];

/** How many more machines can be ready before the snow, with the last day to take each in. */
import { LRUCache } from 'lru-cache';
import { z } from 'zod';
import { snowKinds } from '../../machines/machines.shapes.js';
import { Capacity } from '../../plan/answers/capacity.shapes.js';
import { type CurrentPlan, currentPlan } from '../../plan/background/current-plan.js';
import { planSnowOutlook } from '../../plan/inputs/weather.js';
import { readyByDate } from '../../plan/inputs/what-counts-as-ready.js';
import { stepsOf } from '../../plan/simulation/route-steps.js';
import { CAPACITY_EFFORT, type CapacityAnswer, type DetailedFit } from '../../plan/simulation/scenarios.js';
import { workerTasks } from '../../plan/simulation/worker-tasks.js';
import { type OperationContext, query } from '../../platform/operation/operation.js';
import { readShop } from '../../shop/shop.queries.js';
import { withRouteTasks } from '../../work/routes.js';

/** Counting takes seconds, and the same plan gives the same counts. */
const quickCache = new LRUCache<string, CapacityAnswer>({ max: 50 });
const detailedCache = new LRUCache<string, DetailedFit[]>({ max: 50 });

/** The first route of each kind of machine for the snow. */
export async function snowRoutes(context: OperationContext) {
  const routes = await context.tx.route.findMany({
    where: { machineKind: { in: [...snowKinds] }, archivedAt: null },
    include: withRouteTasks,
    orderBy: [{ machineKind: 'asc' }, { createdAt: 'asc' }],
  });
  return snowKinds
    .flatMap((kind) => routes.find((route) => route.machineKind === kind) ?? [])
    .map(({ tasks, machineKind, name }) => ({ kind: machineKind, name, steps: stepsOf(tasks) }));
}
type SnowRoute = Awaited<ReturnType<typeof snowRoutes>>[number];

const keyOf = ({ shop }: OperationContext, plan: CurrentPlan, routes: readonly SnowRoute[], by: string): string =>
  JSON.stringify([shop.id, plan.fingerprint, by, routes]);

const questionOf = (plan: CurrentPlan, by: string) => ({
  records: plan.forecast.records,
  order: plan.forecast.schedule.order,
  by,
});

/** How many more of each kind, and what would let more in; the same numbers as `capacity` tells. */
export async function quickCapacity(
  context: OperationContext,
  plan: CurrentPlan,
  routes: readonly SnowRoute[],
  by: string,
): Promise<CapacityAnswer> {
  const key = keyOf(context, plan, routes, by);
  const known = quickCache.get(key);
  if (known) return known;
  const answer = await context.compute(
    workerTasks.capacity,
    { ...questionOf(plan, by), routes: routes.map((route) => route.steps) },
    context.signal,
  );
  quickCache.set(key, answer);
  return answer;
}

/** Each kind by itself, then by turns where there are several. */
async function detailedCapacity(
  context: OperationContext,
  plan: CurrentPlan,
  routes: readonly SnowRoute[],
  by: string,
): Promise<DetailedFit[]> {
  const key = keyOf(context, plan, routes, by);
  const known = detailedCache.get(key);
  if (known) return known;
  const answer: DetailedFit[] = [];
  const series = [
    ...routes.map((route) => [route.steps]),
    ...(routes.length > 1 ? [routes.map((one) => one.steps)] : []),
  ];
  for (const steps of series)
    answer.push(
      await context.compute(
        workerTasks.detailedFit,
        { ...questionOf(plan, by), routes: steps, byTurns: true },
        context.signal,
      ),
    );
  detailedCache.set(key, answer);
  return answer;
}

async function readCapacity(context: OperationContext) {
  const plan = await currentPlan(context);
  const shop = await readShop(context);
  const readyBy = readyByDate(await planSnowOutlook(context), shop.readinessMarginDays);
  const routes = await snowRoutes(context);
  const fits = readyBy === null || routes.length === 0 ? [] : await detailedCapacity(context, plan, routes, readyBy);
  return {
    asOf: context.today,
    readyBy,
    series: fits.map(({ levels, probabilities }, k) => ({
      kind: routes[k]?.kind ?? null,
      routeNames: routes[k] ? [routes[k].name] : routes.map((route) => route.name),
      levels,
      probabilities,
    })),
    reasons: [
      readyBy === null
        ? 'when to be ready is not known, so how many more would fit is not said'
        : `in time means finished by ${readyBy}, ${shop.readinessMarginDays} days before the median first snow`,
      'each machine is planned among the open jobs as an intake would be, and no open one may become late for it',
      `the chances are from ${CAPACITY_EFFORT.scenarios} futures, the same with and without the machines`,
    ],
  };
}

export const capacityQuery = query({
  name: 'capacity',
  slow: true,
  summary:
    'How many more machines of each kind, and mixed, can be ready before the snow at 50, 80 and 95 %, and until when to ' +
    'take them in',
  rest: { method: 'GET', path: '/capacity' },
  input: z.strictObject({}),
  output: Capacity,
  run: readCapacity,
});

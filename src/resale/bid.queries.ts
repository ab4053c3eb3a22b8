/** What to pay at most for a machine not yet bought: the way from its sale back to its purchase. */
import type { z } from 'zod';
import { experienceWith } from '../cost/experience.queries.js';
import { roundAmount } from '../engine/money/index.js';
import { forecast } from '../plan/background/schedule-now.js';
import type { PlanRecords } from '../plan/inputs/records.js';
import type { RouteStep } from '../plan/simulation/capacity.js';
import { stepsOf } from '../plan/simulation/route-steps.js';
import { workerTasks as planWorks } from '../plan/simulation/worker-tasks.js';
import { addDays } from '../platform/days.js';
import { Refused } from '../platform/errors.js';
import { checkAmount, toDecimal } from '../platform/money.js';
import { type OperationContext, priceReaders, query } from '../platform/operation/operation.js';
import { readShop } from '../shop/shop.queries.js';
import { withRouteTasks } from '../work/routes.js';
import type { BidFacts, BidRequest } from './bid.js';
import { FINISHED_CONDITION, isKnown, type Market } from './market.js';
import { readMarket } from './market.queries.js';
import { BidAdvice, BidQuestion } from './price.shapes.js';
import { faultOf } from './unknown-faults.js';
import { workerTasks } from './worker-tasks.js';

type Asked = z.output<typeof BidQuestion>;

const NOT_RUNNING = 2;

/** The records that bear on what to pay, put as a question, and the route it would go through; all but when it would be finished. */
export async function bidRequest(
  context: OperationContext,
  asked: Asked,
  market: Market,
): Promise<{ request: Omit<BidRequest, 'readyDate'>; steps: RouteStep[] }> {
  const { currency } = context.shop;
  const shop = await readShop(context);
  const own = (await experienceWith(context, [asked.kind]))(asked.kind);
  const route = await context.tx.route.findFirst({
    where: { machineKind: asked.kind, archivedAt: null },
    include: withRouteTasks,
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
  });
  const steps = route ? stepsOf(route.tasks) : [];
  const request = {
    market,
    machine: {
      kind: asked.kind,
      maker: asked.maker,
      model: asked.model,
      condition: asked.finishedCondition ?? FINISHED_CONDITION,
      yearEstimate: asked.yearEstimate,
      clearingWidthMillimetres: asked.clearingWidthMillimetres,
      equipmentBalance: asked.equipmentBalance,
    },
    foundCondition: asked.foundCondition ?? NOT_RUNNING,
    faultsSeen: asked.faultsSeen ?? [],
    claimedSound: asked.claimedSound ?? [],
    askedPrice: asked.askedPrice ? checkAmount(asked.askedPrice, currency, '/askedPrice') : null,
    partsCost: asked.partsCost ? checkAmount(asked.partsCost, currency, '/partsCost') : null,
    handsOnMinutes: asked.handsOnMinutes ?? null,
    routeMinutes: steps.reduce((sum, step) => sum + step.handsOnMinutes * step.people, 0),
    past: own.machines.map(({ faultyComponents, ...machine }) => ({
      ...machine,
      faults: [...new Set(faultyComponents.flatMap(faultOf))],
    })),
    sellingCost: own.selling,
    haul: roundAmount(toDecimal(shop.haulCostPerKilometre).times(asked.haulKilometres ?? 0), currency),
    feesPercent: asked.feesPercent ?? 0,
    hourlyValue: toDecimal(shop.hourlyValue),
    spacePerDay: toDecimal(shop.spaceCostPerDay),
    targetMarginPercent: asked.targetMarginPercent ?? 15,
    acceptedProbabilityOfLoss: asked.acceptedProbabilityOfLoss ?? 0.2,
  };
  return { request, steps };
}

/**
 * @param records the shop's records as the plan has read them, where the caller has them already
 * @returns null when nothing speaks for a price: no comparable of the kind
 */
export async function bidAdvice(
  context: OperationContext,
  asked: Asked,
  records?: PlanRecords,
): Promise<BidFacts | null> {
  const market = await readMarket(context);
  if (!isKnown(market, asked.kind)) return null;
  const { request, steps } = await bidRequest(context, asked, market);
  const readyDate =
    steps.length > 0
      ? await context.compute(
          planWorks.finishOfAnother,
          { records: records ?? (await forecast(context)).records, route: steps },
          context.signal,
        )
      : addDays(context.today, 30);
  return context.compute(workerTasks.bid, { ...request, readyDate });
}

export const bidQuery = query({
  name: 'bidAdvice',
  slow: true,
  summary: 'What to pay at most for a machine not yet bought',
  roles: priceReaders,
  rest: { method: 'GET', path: '/bid' },
  input: BidQuestion,
  output: BidAdvice,
  async run(context, input) {
    const advice = await bidAdvice(context, input);
    if (!advice)
      throw new Refused(
        'nothing-to-go-by',
        'There is no comparable of that kind: record what such machines are offered or sold for.',
      );
    return { ...advice, kind: input.kind };
  },
});

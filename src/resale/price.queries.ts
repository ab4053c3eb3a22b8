/** What to ask for a machine, and what to pay for the next: the shop's records put before the price engine. */
import { addDays } from '../platform/days.js';
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { jobCosts, rangeOf, taxSchemeOf, type JobCostFacts } from '../cost/cost.queries.js';
import { roundAmount } from '../engine/money/index.js';
import { chanceSoldBy, estimatePrice, floorPrice, planAsk, type SellingTerms } from '../engine/price/index.js';
import { NotFound, Refused } from '../platform/errors.js';
import { computed, priceReaders, query, type Call, type Presentable } from '../platform/operation/operation.js';
import { id } from '../platform/shapes.js';
import { expectedCompletions } from '../plan/forecast.js';
import { readShop } from '../shop/shop.queries.js';
import { Job } from '../work/work.shapes.js';
import { bidQuery } from './bid.queries.js';
import { figure } from '../platform/money.js';
import { FINISHED_CONDITION, netRange, readMarket, worthNextSeason, type Market } from './market.queries.js';
import { PriceAdvice } from './price.shapes.js';

/**
 * Advice for the open jobs among some, by job id. A machine that is kept, a donor or scrap gets none, nor does one that
 * nothing speaks for: no comparable and no cost.
 * @param expected the expected day of each job, where the caller has it already
 */
export async function priceAdviceFor(call: Call, jobIds: string[], expected?: Map<string, string | null>): Promise<Map<string, Presentable>> {
  const jobs = await call.tx.job.findMany({ where: { id: { in: jobIds }, closedOn: null, retiredAt: null, machine: { disposition: 'sell' } }, include: { machine: true } });
  if (jobs.length === 0) return new Map();
  const ids = jobs.map((job) => job.id);
  const shop = await readShop(call);
  const market = await readMarket(call);
  const costs = new Map((await jobCosts(call, ids)).map((cost) => [cost.jobId, cost]));
  const days = expected ?? new Map([...(await expectedCompletions(call))].map(([jobId, one]) => [jobId, one.day]));
  const advice = new Map<string, Presentable>();
  for (const { id: jobId, machine } of jobs) {
    const cost = costs.get(jobId)!;
    const terms: SellingTerms = { tax: taxSchemeOf(shop), purchasePrice: cost.purchase.purchasePrice };
    const day = days.get(jobId) ?? null;
    const listFrom = day !== null && day > call.today ? day : call.today;
    const one = adviceOf(call, market, { jobId, machine, cost, terms, listFrom, spacePerDay: figure(shop.spaceCostPerDay) });
    if (one) advice.set(jobId, one);
  }
  return advice;
}

interface Priced {
  jobId: string;
  machine: { kind: string; maker: string; model: string; condition: number; yearEstimate: number | null; clearingWidthMillimetres: number | null };
  cost: JobCostFacts;
  terms: SellingTerms;
  listFrom: string;
  spacePerDay: Decimal;
}

function adviceOf(call: Call, market: Market, { jobId, machine, cost, terms, listFrom, spacePerDay }: Priced): Presentable | undefined {
  const { currency } = call.shop;
  const season = market.seasonOf(machine.kind);
  const atCompletion = rangeOf(cost.estimate);
  // The price has to bring back the purchase too, though a job before this one may bear it.
  const borneBefore = cost.bears ? new Decimal(0) : cost.purchase.left;
  const fullCost = atCompletion.likely.plus(borneBefore);
  const hasCost = fullCost.greaterThan(0);
  if (!hasCost && !market.comparables.some((one) => one.kind === machine.kind)) return undefined;
  const estimateIn = (condition: number) =>
    estimatePrice({
      machine: { ...machine, condition },
      comparables: market.comparables,
      on: listFrom,
      today: call.today,
      season,
      currency,
      costPlus: hasCost ? { fullCost, markupPercent: 25 } : null,
    });
  const estimate = estimateIn(FINISHED_CONDITION);
  const deadline = market.deadlineFor(machine.kind, listFrom);
  const net = netRange(estimate, terms, currency);
  const nextSeason = worthNextSeason(net.likely, spacePerDay, currency);
  const asIs = cost.remainingMinutes > 0 && estimate.method === 'comparables' ? netRange(estimateIn(machine.condition), terms, currency).likely : null;
  const floor = floorPrice({ nextSeason, sellAsIs: asIs, scrap: new Decimal(0) }, { spent: cost.statement.cashCost.plus(borneBefore), toFinish: cost.toPay }, terms, currency);
  const buyers = market.buyersOf(machine.kind);
  const plan = planAsk({ estimate, season, listFrom, deadline, terms, holdingCostPerWeek: roundAmount(spacePerDay.times(7), currency), valueIfUnsold: nextSeason, buyersPerWeek: buyers.buyersPerWeek });
  const hours = new Decimal(cost.labourMinutes + cost.remainingMinutes).div(60);
  return {
    jobId,
    expected: { low: estimate.p10, likely: estimate.p50, high: estimate.p90 },
    ask: plan.ask,
    floor: floor.floor,
    floorWhy: floor.why.join('; '),
    markdowns: plan.steps.slice(1).map((step, index) => ({ onDay: step.from, askPrice: step.ask, chanceSoldBefore: plan.steps[index]!.chanceSold })),
    sellBy: deadline,
    chanceOfSale: [4, 8, 13, 26].map((weeks) => addDays(listFrom, 7 * weeks)).filter((day) => day < deadline).concat(deadline).map((day) => ({ day, chance: chanceSoldBy(plan, day) })),
    expectedNet: plan.expectedNet,
    expectedMargin: net.likely.minus(atCompletion.likely),
    gainOnPurchase: net.likely.minus(cost.purchase.left),
    earningsPerHour: hours.greaterThan(0) ? roundAmount(net.likely.minus(cost.statement.cashCost).minus(cost.toPay).div(hours), currency) : null,
    comparablesUsed: estimate.used.length,
    why: [...plan.why, buyers.why, ...estimate.why],
  };
}

export const priceQueries = [
  query({
    name: 'priceAdvice',
    summary: 'What to ask for a machine, when to come down, and below what not to sell',
    roles: priceReaders,
    rest: { method: 'GET', path: '/jobs/:jobId/price' },
    input: z.strictObject({ jobId: id }),
    output: PriceAdvice,
    async run(call, { jobId }) {
      const advice = (await priceAdviceFor(call, [jobId])).get(jobId);
      if (advice) return advice;
      const job = await call.tx.job.findFirst({ where: { id: jobId }, include: { machine: true } });
      if (!job) throw new NotFound('job', jobId);
      if (job.closedOn) throw new Refused('job-closed', `Job ${job.number} is closed: there is nothing to price.`);
      if (job.machine.disposition !== 'sell') throw new Refused('not-for-sale', `This machine's disposition is "${job.machine.disposition}"; change it to "sell" first.`);
      throw new Refused('nothing-to-go-by', 'There is no comparable of its kind and no cost yet: record a comparable first.');
    },
  }),
  bidQuery,
];

export const resaleRelations = [
  computed({
    on: Job,
    field: 'price',
    to: PriceAdvice,
    roles: priceReaders,
    description: 'What to ask for it; null once it is closed, or when it is not for sale.',
    async compute(call, jobs) {
      const advice = await priceAdviceFor(call, jobs.map((job) => job.id as string));
      return jobs.map((job) => advice.get(job.id) ?? null);
    },
  }),
];

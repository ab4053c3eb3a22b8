/** What to ask for a machine, and what to pay for the next: the shop's records put before the price engine. */
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { computeCosts, outOfReach, taxSchemeOf } from '../cost/cost.queries.js';
import { expectedDates, type ExpectedDays } from '../cost/expected-days.js';
import { roundAmount } from '../engine/money/index.js';
import { NotFound, Refused } from '../platform/errors.js';
import { toDecimal } from '../platform/money.js';
import { computed, type OperationContext, priceReaders, query } from '../platform/operation/operation.js';
import { id } from '../platform/shapes.js';
import { readShop } from '../shop/shop.queries.js';
import { Job } from '../work/work.shapes.js';
import type { Advice, PricedJob } from './advice.js';
import { bidQuery } from './bid.queries.js';
import { experienceWith } from './experience.queries.js';
import { readMarket } from './market.queries.js';
import { PriceAdvice } from './price.shapes.js';
import { workerTasks } from './worker-tasks.js';

/**
 * Advice for the open jobs among some, by job id. A machine that is kept, a donor or scrap gets none, nor does one that
 * nothing speaks for: no comparable and no cost.
 * @param expected the expected day of each job, where the caller has it already
 */
export async function priceAdviceFor(
  context: OperationContext,
  jobIds: string[],
  expected?: ExpectedDays,
): Promise<Map<string, Advice>> {
  const priced = await pricesOf(context, jobIds, expected);
  return new Map([...priced].filter((one): one is [string, Advice] => !(one[1] instanceof Refused)));
}

/** As `priceAdviceFor`; a job whose amounts are out of all reason stands there with what to do about it. */
async function pricesOf(
  context: OperationContext,
  jobIds: string[],
  expected?: ExpectedDays,
): Promise<Map<string, Advice | Refused>> {
  const jobs = await context.tx.job.findMany({
    where: {
      id: { in: jobIds },
      purpose: 'refurbish',
      closedDate: null,
      archivedAt: null,
      machine: { disposition: 'sell' },
    },
    include: { machine: true },
  });
  if (jobs.length === 0) return new Map();
  const shop = await readShop(context);
  const market = await readMarket(context);
  const { currency } = context.shop;
  const days = expected ?? (await expectedDates(context));
  const costs = await computeCosts(
    context,
    jobs.map((job) => job.id),
    days,
  );
  const experience = await experienceWith(
    context,
    jobs.map((job) => job.machine.kind),
  );
  const refused = new Map<string, Advice | Refused>();
  const priced = jobs.flatMap(({ id: jobId, machine }): PricedJob[] => {
    const cost = costs.get(jobId)!;
    if (cost instanceof Refused) {
      refused.set(jobId, cost);
      return [];
    }
    const { purchase, bears, estimate, statement, toPay, labourMinutes, remainingMinutes } = cost;
    const { kind, maker, model, condition, yearEstimate, clearingWidthMillimetres } = machine;
    const day = days.get(jobId) ?? null;
    const { jobs: soldHere, selling } = experience(machine.kind);
    return [
      {
        jobId,
        machine: { kind, maker, model, condition, yearEstimate, clearingWidthMillimetres },
        terms: {
          tax: taxSchemeOf(shop),
          purchasePrice: purchase.purchasePrice,
          fixedCost: Decimal.max(0, roundAmount(selling, currency).minus(statement.selling)),
        },
        soldHere,
        listFrom: day !== null && day > context.today ? day : context.today,
        cost: estimate,
        cashCost: statement.cashCost,
        toPay,
        purchaseLeft: purchase.left,
        borneBefore: bears ? new Decimal(0) : purchase.left,
        labourMinutes,
        remainingMinutes,
      },
    ];
  });
  const { advices, validationErrors } = await context.compute(workerTasks.advice, {
    market,
    jobs: priced,
    currency,
    today: context.today,
    spacePerDay: toDecimal(shop.spaceCostPerDay),
  });
  for (const { id, number } of jobs)
    if (validationErrors.has(id)) refused.set(id, outOfReach(number, validationErrors.get(id)!));
  return new Map([...refused, ...advices]);
}

export const priceQueries = [
  query({
    name: 'priceAdvice',
    slow: true,
    summary: 'What to ask for a machine, when to come down, and below what not to sell',
    roles: priceReaders,
    rest: { method: 'GET', path: '/jobs/:jobId/price' },
    input: z.strictObject({ jobId: id }),
    output: PriceAdvice,
    async run(context, { jobId }) {
      const advice = (await pricesOf(context, [jobId])).get(jobId);
      if (advice instanceof Refused) throw advice;
      if (advice) return advice;
      const job = await context.tx.job.findFirst({ where: { id: jobId }, include: { machine: true } });
      if (!job) throw new NotFound('job', jobId);
      if (job.closedDate) throw new Refused('job-closed', `Job ${job.number} is closed: there is nothing to price.`);
      if (job.purpose === 'warranty')
        throw new Refused('not-for-sale', 'This is a warranty job: its machine is sold already.');
      if (job.machine.disposition !== 'sell')
        throw new Refused(
          'not-for-sale',
          `This machine's disposition is "${job.machine.disposition}"; change it to "sell" first.`,
        );
      throw new Refused(
        'nothing-to-go-by',
        'There is no comparable of its kind and no cost yet: record a comparable first.',
      );
    },
  }),
  bidQuery,
];

export const resaleRelations = [
  computed({
    on: Job,
    field: 'price',
    slow: true,
    to: PriceAdvice,
    roles: priceReaders,
    description:
      'What to ask for it; null once it is closed, or when it is not for sale, and beside an error of its own where its amounts are out of all reason.',
    async compute(context, jobs) {
      const advice = await pricesOf(
        context,
        jobs.map((job) => job.id as string),
      );
      return jobs.map((job) => advice.get(job.id) ?? null);
    },
  }),
];

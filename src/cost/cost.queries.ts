/** What jobs have cost and earned, from shares, ledger, labour, space and sales: a constant number of statements. */
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { EngineError } from '../engine/error.js';
import {
  type CompletionEstimate,
  type CostStatement,
  costStatement,
  estimateAtCompletion,
  type MarginStatement,
  marginStatement,
  roundAmount,
  spaceCost,
  type TaxScheme,
} from '../engine/money/index.js';
import { LedgerEntry } from '../ledger/ledger.shapes.js';
import { daysBetween } from '../platform/days.js';
import { NotFound, Refused } from '../platform/errors.js';
import { toDecimal } from '../platform/money.js';
import { asDay } from '../platform/operation/crud-operations.js';
import {
  children,
  computed,
  type OperationContext,
  parentOf,
  type Presentable,
  priceReaders,
  query,
} from '../platform/operation/operation.js';
import { id } from '../platform/shapes.js';
import { readShop } from '../shop/shop.queries.js';
import { labourByJob } from '../work/labour.js';
import { jobsById } from '../work/work.queries.js';
import { Job } from '../work/work.shapes.js';
import { JobCost } from './cost.shapes.js';
import { expectedDates, type ExpectedDays } from './expected-days.js';
import { paintEstimateToComplete } from './paint.queries.js';
import { type Purchase, purchaseOf } from './purchase.queries.js';
import { hoursEstimateToComplete, partsEstimateToComplete, tasksToDo } from './remaining.queries.js';

/** The shop's tax scheme as the engine takes it. */
export function taxSchemeOf(shop: {
  taxScheme: 'none' | 'salesTax' | 'marginScheme';
  taxRatePercent: { toString(): string };
}): TaxScheme {
  return shop.taxScheme === 'none'
    ? { kind: 'none' }
    : { kind: shop.taxScheme, ratePercent: toDecimal(shop.taxRatePercent) };
}

export interface JobCostFacts {
  jobId: string;
  purchase: Purchase;
  /** What of the purchase this job bears: all that is left of it, or nothing. */
  bears: boolean;
  refunds: Decimal;
  statement: CostStatement;
  /** Present once sold, though the machine may have come back since. */
  sold: {
    price: Decimal;
    customerRefundTotal: Decimal;
    tax: Decimal;
    gainOnPurchase: Decimal | null;
    returnedDate: string | null;
  } | null;
  /** Numbers of the jobs that followed under warranty. */
  warrantyJobs: number[];
  /** What it has earned, once sold; a warranty job earns nothing and has a loss from its first cost. */
  margin: MarginStatement | null;
  labourMinutes: number;
  spaceDays: number;
  remainingMinutes: number;
  /** What is still likely to come, by kind. */
  estimateToComplete: { labour: Decimal; parts: Decimal; paint: Decimal; space: Decimal };
  /** Parts and paint of it: what will still be paid out. */
  toPay: Decimal;
  estimate: CompletionEstimate;
  /** How what is to come was computed, and what of it is not counted. */
  estimateToCompleteReasons: string[];
}

/** A job is seldom finished sooner than forecast, often later: up to half as long again. A judgement, no source. */
const LATE = 1.5;

/**
 * The cost of jobs, in their order; those that are not this shop's, or cannot be counted, are left out.
 * @param expected the day on which each job is expected to be finished, where the caller has it already
 */
export async function jobCosts(
  context: OperationContext,
  jobIds: string[],
  expected?: ExpectedDays,
): Promise<JobCostFacts[]> {
  return [...(await computeCosts(context, jobIds, expected)).values()].filter(
    (one): one is JobCostFacts => !(one instanceof Refused),
  );
}

/** As `jobCosts`, by job id; one whose amounts are out of all reason stands there with what to do about it. */
export async function computeCosts(
  context: OperationContext,
  jobIds: string[],
  expected?: ExpectedDays,
): Promise<Map<string, JobCostFacts | Refused>> {
  if (jobIds.length === 0) return new Map();
  const shop = await readShop(context);
  const jobs = await context.tx.job.findMany({
    where: { id: { in: jobIds } },
    select: { id: true, number: true, machineId: true, purpose: true, closedDate: true, archivedAt: true },
  });
  const purchases = await purchaseOf(context, jobIds);
  const labour = await labourByJob(context, jobIds);
  const ledger = await context.tx.ledgerEntry.findMany({
    where: { jobId: { in: jobIds } },
    select: { jobId: true, kind: true, amount: true },
  });
  const sales = await context.tx.sale.findMany({ where: { jobId: { in: jobIds }, reversedDate: null } });
  const warranty = await context.tx.job.findMany({
    where: {
      purpose: 'warranty',
      archivedAt: null,
      machine: { jobs: { some: { id: { in: sales.map((sale) => sale.jobId) } } } },
    },
    select: { number: true, machineId: true, openedDate: true },
    orderBy: { number: 'asc' },
  });
  // What was left undone when a job was closed costs nothing any more.
  const openIds = jobs.filter((job) => job.closedDate === null && job.archivedAt === null).map((job) => job.id);
  const open = await tasksToDo(context, openIds);
  const needed = await partsEstimateToComplete(context, openIds);
  const paint = await paintEstimateToComplete(context, open);
  const days = expected ?? (open.size > 0 ? await expectedDates(context) : new Map<string, string | null>());
  const byId = new Map(jobs.map((job) => [job.id, job]));
  const reckon = (job: (typeof jobs)[number]): JobCostFacts => {
    const jobId = job.id;
    const purchase = purchases.get(jobId)!;
    const entries = ledger.filter((entry) => entry.jobId === jobId);
    const of = (...kinds: string[]) =>
      entries.filter((entry) => kinds.includes(entry.kind)).map((entry) => toDecimal(entry.amount));
    const refunds = Decimal.sum(0, ...of('supplierRefund'));
    const bears = purchase.borneBy?.id === jobId;
    // One opened by mistake took no place.
    const standsUntil = job.archivedAt ? purchase.standsFrom : job.closedDate ? asDay(job.closedDate) : context.today;
    const spaceDays = Math.max(0, daysBetween(purchase.standsFrom, standsUntil));
    const labourMinutes = labour.get(jobId)?.minutes ?? 0;
    const statement = costStatement(
      {
        acquisitionShare: bears ? purchase.left : new Decimal(0),
        parts: of('part'),
        consumables: of('consumable'),
        selling: of('selling'),
        other: [...of('other'), refunds.negated()],
        labour: [{ minutes: labourMinutes, hourlyValue: toDecimal(shop.hourlyValue) }],
        space: { days: spaceDays, costPerDay: toDecimal(shop.spaceCostPerDay) },
      },
      context.shop.currency,
    );
    const sale = sales.find((one) => one.jobId === jobId);
    const sold = sale && soldFor(sale, Decimal.sum(0, ...of('tax')), purchase);
    const { currency } = context.shop;
    const tasks = open.get(jobId) ?? [];
    const hours = tasks.map((task) => hoursEstimateToComplete(task, toDecimal(shop.hourlyValue), currency));
    const { cost, unpriced } = needed.get(jobId) ?? { cost: new Decimal(0), unpriced: [] };
    const parts = roundAmount(cost, currency);
    const coats = paint.get(jobId);
    const day = days.get(jobId) ?? null;
    const wait = tasks.length > 0 && day !== null ? Math.max(0, daysBetween(context.today, day)) : 0;
    const spaceFor = (share: number): Decimal => spaceCost(wait * share, toDecimal(shop.spaceCostPerDay), currency);
    const space = { what: 'space', low: spaceFor(1), likely: spaceFor(1), high: spaceFor(LATE) };
    const estimateToComplete = {
      labour: Decimal.sum(0, ...hours.map((one) => one.likely)),
      parts,
      paint: coats?.likely ?? new Decimal(0),
      space: space.likely,
    };
    return {
      jobId,
      purchase,
      bears,
      refunds,
      statement,
      sold: sold?.sale ?? null,
      warrantyJobs: warranty
        .filter(
          (one) =>
            sale &&
            one.machineId === job.machineId &&
            one.number > job.number &&
            one.openedDate <= (sale.returnedDate ?? one.openedDate),
        )
        .map((one) => one.number),
      margin: sold
        ? marginStatement(statement, sold.net, currency)
        : job.purpose === 'warranty'
          ? marginStatement(statement, '0', currency)
          : null,
      labourMinutes,
      spaceDays,
      remainingMinutes: tasks.reduce((sum, task) => sum + task.likely, 0),
      estimateToComplete,
      toPay: estimateToComplete.parts.plus(estimateToComplete.paint),
      estimate: estimateAtCompletion(
        statement.fullCost,
        [...hours, { what: 'parts', low: parts, likely: parts, high: parts }, ...(coats ? [coats] : []), space],
        currency,
      ),
      estimateToCompleteReasons: [
        ...(wait > 0 ? [`${wait} days of space are still to come, until it is finished about ${day}`] : []),
        ...(tasks.length > 0 && day === null
          ? ['space to come is not counted: no day is in sight on which it will be finished']
          : []),
        ...(coats ? [coats.reasons] : []),
        ...(unpriced.length > 0 ? [`parts without a known price are not counted: ${unpriced.join(', ')}`] : []),
      ],
    };
  };
  return new Map(
    jobIds.flatMap((jobId) => {
      const job = byId.get(jobId);
      return job ? [[jobId, orOutOfReach(job.number, () => reckon(job))] as const] : [];
    }),
  );
}

/** One job's amounts must not keep the others from being told: what the engine cannot take into account becomes words. */
function orOutOfReach<T>(jobNumber: number, work: () => T): T | Refused {
  try {
    return work();
  } catch (error) {
    if (error instanceof EngineError) return outOfReach(jobNumber, error.message);
    throw error;
  }
}

export const outOfReach = (jobNumber: number, fault: string): Refused =>
  new Refused(
    'out-of-reach',
    `Job ${jobNumber} cannot be counted: ${fault}. Look through its ledger, purchase and parts for an amount that was mistyped, and reverse or correct it.`,
  );

/** One in ten below low, one in ten above high. */
const rangeOf = (estimate: CompletionEstimate) => ({ low: estimate.p10, likely: estimate.p50, high: estimate.p90 });

/**
 * A sale as it was booked: its tax is that of its day, whatever the shop's scheme is now.
 * @param taxInside what the ledger has of tax within the price
 */
function soldFor(
  sale: { price: Figure; customerRefundTotal: Figure; taxCollected: Figure; returnedDate: Date | null },
  taxInside: Decimal,
  purchase: Purchase,
) {
  const price = toDecimal(sale.price);
  const customerRefundTotal = toDecimal(sale.customerRefundTotal);
  const net = price.minus(customerRefundTotal).minus(taxInside);
  const returnedDate = sale.returnedDate ? asDay(sale.returnedDate) : null;
  // A machine is sold once: what it brought is held against its purchase, whichever of its jobs bore that.
  return {
    net,
    sale: {
      price,
      customerRefundTotal,
      tax: toDecimal(sale.taxCollected),
      returnedDate,
      gainOnPurchase: returnedDate ? null : net.minus(purchase.left),
    },
  };
}

type Figure = Parameters<typeof toDecimal>[0];

/** The facts in the shape's words. */
export function presentCost(facts: JobCostFacts): Presentable {
  const { statement, purchase, bears, sold, margin } = facts;
  const reasons = [
    `${facts.labourMinutes} minutes of labour and ${facts.spaceDays} days in the shop`,
    ...(!bears && purchase.borneBy && purchase.share.greaterThan(0)
      ? [`job ${purchase.borneBy.number} bears the machine's purchase, so that it counts once`]
      : []),
    ...(bears && purchase.harvested.greaterThan(0)
      ? [`${purchase.harvested.toString()} of its purchase went over to parts taken off it`]
      : []),
    ...(facts.remainingMinutes > 0 ? [`${facts.remainingMinutes} minutes of work are still planned`] : []),
    ...facts.estimateToCompleteReasons,
    ...(sold?.customerRefundTotal.greaterThan(0)
      ? [`${sold.customerRefundTotal.toFixed()} of the ${sold.price.toFixed()} was paid back to the buyer`]
      : []),
    ...(sold?.returnedDate
      ? [`the machine came back on ${sold.returnedDate}: what it is sold for after that is on its next job`]
      : []),
    ...(margin ? [margin.reasons] : []),
    ...(facts.warrantyJobs.length > 0
      ? [
          `work under warranty followed, a loss of its own on job ${facts.warrantyJobs.join(', ')}; the machine's result has both`,
        ]
      : []),
  ];
  return {
    jobId: facts.jobId,
    purchase: bears ? purchase.share : 0,
    harvested: bears ? purchase.harvested : 0,
    parts: statement.parts,
    consumables: statement.consumables,
    selling: statement.selling,
    other: statement.other.plus(facts.refunds),
    refunds: facts.refunds,
    cashCost: statement.cashCost,
    labourMinutes: facts.labourMinutes,
    labour: statement.labour,
    spaceDays: facts.spaceDays,
    space: statement.space,
    fullCost: statement.fullCost,
    remainingLabourMinutes: facts.remainingMinutes,
    estimateToComplete: facts.estimateToComplete,
    estimateAtCompletion: rangeOf(facts.estimate),
    salePrice: sold?.price ?? null,
    customerRefundTotal: sold?.customerRefundTotal ?? null,
    taxDue: sold?.tax ?? null,
    cashMargin: margin?.cashMargin ?? null,
    fullMargin: margin?.fullMargin ?? null,
    marginPercentOfPrice: percent(margin?.marginOnPrice),
    markupPercentOnCost: percent(margin?.markupOnCost),
    gainOnPurchase: sold?.gainOnPurchase ?? null,
    earningsPerHour: margin?.earningsPerHour ?? null,
    reasons,
  };
}

const percent = (ratio: Decimal | null | undefined): number | null =>
  ratio ? ratio.times(100).toDecimalPlaces(2).toNumber() : null;

export const costQueries = [
  query({
    name: 'jobCost',
    summary: 'What a job has cost, will have cost, and has earned',
    roles: priceReaders,
    slow: true,
    rest: { method: 'GET', path: '/jobs/:id/cost' },
    input: z.strictObject({ id }),
    output: JobCost,
    async run(context, { id: jobId }) {
      const facts = (await computeCosts(context, [jobId])).get(jobId);
      if (!facts) throw new NotFound('job', jobId);
      if (facts instanceof Refused) throw facts;
      return presentCost(facts);
    },
  }),
];

export const costRelations = [
  computed({
    on: Job,
    field: 'cost',
    slow: true,
    to: JobCost,
    roles: priceReaders,
    description:
      'What it has cost, will have cost, and has earned; null beside an error of its own where its amounts are out of all reason.',
    async compute(context, jobs) {
      const facts = await computeCosts(
        context,
        jobs.map((job) => job.id as string),
      );
      return jobs.map((job) => {
        const one = facts.get(job.id);
        return one && !(one instanceof Refused) ? presentCost(one) : (one ?? null);
      });
    },
  }),
  children({
    on: Job,
    field: 'ledger',
    to: LedgerEntry,
    key: 'jobId',
    roles: priceReaders,
    description: 'Its amounts of money, oldest first.',
    find: (context, ids) =>
      context.tx.ledgerEntry.findMany({
        where: { jobId: { in: ids } },
        orderBy: [{ occurredDate: 'asc' }, { id: 'asc' }],
      }),
  }),
  parentOf({
    on: LedgerEntry,
    field: 'job',
    to: Job,
    key: 'jobId',
    roles: priceReaders,
    description: 'The job it belongs to.',
    find: jobsById,
  }),
];

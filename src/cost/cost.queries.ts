/** What jobs have cost and earned, from shares, ledger, labour, space and sales: a constant number of statements. */
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { dayNumber } from '../engine/days.js';
import { allocate, costStatement, estimateAtCompletion, labourValue, marginStatement, roundAmount, type CompletionEstimate, type CostStatement, type MarginStatement, type TaxScheme } from '../engine/money/index.js';
import { NotFound } from '../platform/errors.js';
import { figure } from '../platform/money.js';
import { children, computed, parentOf, priceReaders, query, type Call, type Presentable } from '../platform/operation/operation.js';
import { asDay } from '../platform/operation/records.js';
import { id } from '../platform/shapes.js';
import { readShop } from '../shop/shop.queries.js';
import { labourByJob } from '../work/labour.js';
import { Job } from '../work/work.shapes.js';
import { jobsById } from '../work/work.queries.js';
import { JobCost, LedgerEntry } from './cost.shapes.js';

export interface Purchase {
  /** What the machine was bought for, haul included. */
  share: Decimal;
  /** What went over to parts taken off it. */
  harvested: Decimal;
  /** The price alone, without the haul: what a margin scheme reckons from. */
  purchasePrice: Decimal;
  /** The day from which it has stood here for this job: a machine's first job begins with its purchase, a later one with itself. */
  standsFrom: string;
}

/** What each job's machine was bought for, by job id: as many statements for one as for a hundred. */
export async function purchaseOf(call: Call, jobIds: string[]): Promise<Map<string, Purchase>> {
  const jobs = await call.tx.job.findMany({
    where: { id: { in: jobIds } },
    select: {
      id: true,
      openedOn: true,
      machine: {
        select: {
          id: true,
          jobs: { where: { retiredAt: null }, orderBy: { number: 'asc' }, take: 1, select: { id: true } },
          acquisitionShare: true,
          acquisition: { select: { price: true, acquiredOn: true, machines: { select: { id: true, acquisitionShare: true }, orderBy: [{ createdAt: 'asc' }, { id: 'asc' }] } } },
          harvests: { select: { basisMoved: true } },
        },
      },
    },
  });
  return new Map(
    jobs.map(({ id: jobId, openedOn, machine }) => {
      const share = figure(machine.acquisitionShare);
      const { acquisition } = machine;
      const harvested = Decimal.sum(0, ...machine.harvests.map((one) => figure(one.basisMoved)));
      const isFirst = machine.jobs[0]?.id === jobId;
      return [jobId, { share, harvested, purchasePrice: acquisition ? priceShare(acquisition, machine.id, call.shop.currency) : share, standsFrom: asDay(acquisition && isFirst ? acquisition.acquiredOn : openedOn) }];
    }),
  );
}

/** A machine's part of the price, as its share is of the whole cost: to the minor unit, so that all machines' parts add up to the price. */
function priceShare(acquisition: { price: { toString(): string }; machines: { id: string; acquisitionShare: { toString(): string } }[] }, machineId: string, currency: string): Decimal {
  const shares = acquisition.machines.map((one) => figure(one.acquisitionShare));
  if (shares.every((share) => share.isZero())) return new Decimal(0);
  return allocate(figure(acquisition.price), shares, currency)[acquisition.machines.findIndex((one) => one.id === machineId)]!;
}

/** The shop's tax scheme as the engine takes it. */
export function taxSchemeOf(shop: { taxScheme: 'none' | 'salesTax' | 'marginScheme'; taxRatePercent: { toString(): string } }): TaxScheme {
  return shop.taxScheme === 'none' ? { kind: 'none' } : { kind: shop.taxScheme, ratePercent: figure(shop.taxRatePercent) };
}

export interface JobCostFacts {
  jobId: string;
  purchase: Purchase;
  refunds: Decimal;
  statement: CostStatement;
  /** Present once sold. */
  sold: { price: Decimal; tax: Decimal; margin: MarginStatement } | null;
  labourMinutes: number;
  spaceDays: number;
  remainingMinutes: number;
  /** Parts that its tasks need and that it has not been charged with yet. */
  toPay: Decimal;
  estimate: CompletionEstimate;
}

/** The cost of jobs, in their order. @throws nothing for ids that are not this shop's: they are left out */
export async function jobCosts(call: Call, jobIds: string[]): Promise<JobCostFacts[]> {
  if (jobIds.length === 0) return [];
  const shop = await readShop(call);
  const jobs = await call.tx.job.findMany({ where: { id: { in: jobIds } }, select: { id: true, closedOn: true } });
  const purchases = await purchaseOf(call, jobIds);
  const labour = await labourByJob(call, jobIds);
  const ledger = await call.tx.ledgerEntry.findMany({ where: { jobId: { in: jobIds } }, select: { jobId: true, kind: true, amount: true } });
  const sales = await call.tx.sale.findMany({ where: { jobId: { in: jobIds }, reversedOn: null } });
  const open = await call.tx.task.findMany({
    where: { jobId: { in: jobIds }, finishedAt: null, retiredAt: null },
    select: { jobId: true, name: true, leastMinutes: true, handsOnMinutes: true, mostMinutes: true, people: true, cureMinutes: true },
  });
  const needed = await neededPartsCost(call, jobIds);
  const byId = new Map(jobs.map((job) => [job.id, job]));
  return jobIds.flatMap((jobId) => {
    const job = byId.get(jobId);
    if (!job) return [];
    const purchase = purchases.get(jobId)!;
    const entries = ledger.filter((entry) => entry.jobId === jobId);
    const of = (...kinds: string[]) => entries.filter((entry) => kinds.includes(entry.kind)).map((entry) => figure(entry.amount));
    const refunds = Decimal.sum(0, ...of('refund'));
    const standsUntil = job.closedOn ? asDay(job.closedOn) : call.today;
    const spaceDays = Math.max(0, dayNumber(standsUntil) - dayNumber(purchase.standsFrom));
    const labourMinutes = labour.get(jobId)?.minutes ?? 0;
    const statement = costStatement(
      {
        acquisitionShare: Decimal.max(0, purchase.share.minus(purchase.harvested)),
        parts: of('part'),
        consumables: of('consumable'),
        selling: of('selling'),
        other: [...of('other'), refunds.negated()],
        labour: [{ minutes: labourMinutes, hourlyValue: figure(shop.hourlyValue) }],
        space: { days: spaceDays, costPerDay: figure(shop.spaceCostPerDay) },
      },
      call.shop.currency,
    );
    const sale = sales.find((one) => one.jobId === jobId);
    // What was left undone when a job was closed costs nothing any more.
    const tasks = job.closedOn ? [] : open.filter((task) => task.jobId === jobId);
    const toPay = job.closedOn ? new Decimal(0) : roundAmount(needed.get(jobId) ?? new Decimal(0), call.shop.currency);
    const remaining = tasks.map((task) => remainingOf(task, figure(shop.hourlyValue), figure(shop.spaceCostPerDay), call.shop.currency));
    const estimate = estimateAtCompletion(statement.fullCost, [...remaining, { what: 'parts', low: toPay, likely: toPay, high: toPay }], call.shop.currency);
    return [
      {
        jobId,
        purchase,
        refunds,
        statement,
        sold: sale ? soldFor(sale, Decimal.sum(0, ...of('tax')), statement, call.shop.currency) : null,
        labourMinutes,
        spaceDays,
        remainingMinutes: tasks.reduce((sum, task) => sum + task.handsOnMinutes * task.people, 0),
        toPay,
        estimate,
      },
    ];
  });
}

/**
 * What the parts still needed will cost: at the bin's cost, the order's landed cost, or the price last paid for such a
 * part; one whose price nobody knows counts nothing. One statement.
 */
async function neededPartsCost(call: Call, jobIds: string[]): Promise<Map<string, Decimal>> {
  const rows = await call.tx.$queryRaw<{ jobId: string; cost: { toString(): string } }[]>`
    SELECT t."jobId", sum(n.quantity * coalesce(
      s."unitCost",
      l."unitPrice" + (l."shippingShare" + l."taxShare") / l."quantityOrdered",
      (SELECT p."unitPrice" FROM "OrderLine" p WHERE p."shopId" = n."shopId" AND p."partId" = n."partId" ORDER BY p."createdAt" DESC LIMIT 1),
      0)) AS cost
    FROM "PartNeed" n JOIN "Task" t ON t."shopId" = n."shopId" AND t.id = n."taskId"
      LEFT JOIN "Stock" s ON s."shopId" = n."shopId" AND s.id = n."stockId"
      LEFT JOIN "OrderLine" l ON l."shopId" = n."shopId" AND l.id = n."orderLineId"
    WHERE t."jobId" = ANY(${jobIds}::uuid[]) AND n."usedOn" IS NULL AND n."retiredAt" IS NULL AND t."retiredAt" IS NULL
    GROUP BY t."jobId"`;
  return new Map(rows.map((row) => [row.jobId, figure(row.cost)]));
}

/** What a task will still cost: its hours at their value, and its cure in the space it takes. */
function remainingOf(task: { name: string; leastMinutes: number; handsOnMinutes: number; mostMinutes: number; people: number; cureMinutes: number }, hourlyValue: Decimal, spaceCostPerDay: Decimal, currency: string) {
  const space = roundAmount(spaceCostPerDay.times(task.cureMinutes).div(1440), currency);
  const of = (minutes: number) => labourValue(minutes * task.people, hourlyValue, currency).plus(space);
  return { what: task.name, low: of(task.leastMinutes), likely: of(task.handsOnMinutes), high: of(task.mostMinutes) };
}

/** One in ten below low, one in ten above high. */
export const rangeOf = (estimate: CompletionEstimate) => ({ low: estimate.p10, likely: estimate.p50, high: estimate.p90 });

/**
 * A sale as it was booked: its tax is that of its day, whatever the shop's scheme is now.
 * @param taxInside what the ledger has of tax within the price
 */
function soldFor(sale: { price: { toString(): string }; taxCollected: { toString(): string } }, taxInside: Decimal, statement: CostStatement, currency: string) {
  const price = figure(sale.price);
  return { price, tax: figure(sale.taxCollected), margin: marginStatement(statement, price.minus(taxInside), currency) };
}

/** The facts in the shape's words. */
export function presentCost(facts: JobCostFacts): Presentable {
  const { statement, purchase, sold } = facts;
  const why = [
    `${facts.labourMinutes} minutes of labour and ${facts.spaceDays} days in the shop`,
    ...(purchase.harvested.greaterThan(0) ? [`${purchase.harvested.toString()} of its purchase went over to parts taken off it`] : []),
    ...(facts.remainingMinutes > 0 ? [`${facts.remainingMinutes} minutes of work are still planned`] : []),
    ...(sold ? [sold.margin.why] : []),
  ];
  return {
    jobId: facts.jobId,
    purchase: purchase.share,
    harvested: purchase.harvested,
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
    estimateAtCompletion: rangeOf(facts.estimate),
    salePrice: sold?.price ?? null,
    taxDue: sold?.tax ?? null,
    cashMargin: sold?.margin.cashMargin ?? null,
    fullMargin: sold?.margin.fullMargin ?? null,
    marginPercentOfPrice: percent(sold?.margin.marginOnPrice),
    markupPercentOnCost: percent(sold?.margin.markupOnCost),
    gainOnPurchase: sold?.margin.overPurchase.amount ?? null,
    earningsPerHour: sold?.margin.earningsPerHour ?? null,
    why,
  };
}

const percent = (ratio: Decimal | null | undefined): number | null => (ratio ? ratio.times(100).toDecimalPlaces(2).toNumber() : null);

export const costQueries = [
  query({
    name: 'jobCost',
    summary: 'What a job has cost, will have cost, and has earned',
    roles: priceReaders,
    rest: { method: 'GET', path: '/jobs/:jobId/cost' },
    input: z.strictObject({ jobId: id }),
    output: JobCost,
    async run(call, { jobId }) {
      const [facts] = await jobCosts(call, [jobId]);
      if (!facts) throw new NotFound('job', jobId);
      return presentCost(facts);
    },
  }),
];

export const costRelations = [
  computed({
    on: Job,
    field: 'cost',
    to: JobCost,
    roles: priceReaders,
    description: 'What it has cost, will have cost, and has earned.',
    async compute(call, jobs) {
      const facts = new Map((await jobCosts(call, jobs.map((job) => job.id as string))).map((one) => [one.jobId, one]));
      return jobs.map((job) => (facts.has(job.id) ? presentCost(facts.get(job.id)!) : null));
    },
  }),
  children({
    on: Job,
    field: 'ledger',
    to: LedgerEntry,
    key: 'jobId',
    roles: priceReaders,
    description: 'Its amounts of money, oldest first.',
    find: (call, ids) => call.tx.ledgerEntry.findMany({ where: { jobId: { in: ids } }, orderBy: [{ occurredOn: 'asc' }, { id: 'asc' }] }),
  }),
  parentOf({ on: LedgerEntry, field: 'job', to: Job, key: 'jobId', roles: priceReaders, description: 'The job it belongs to.', find: jobsById }),
];

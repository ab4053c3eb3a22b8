/** What jobs have cost and earned, from shares, ledger, labour, space and sales: a constant number of statements. */
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { costStatement, estimateAtCompletion, marginStatement, roundAmount, type CompletionEstimate, type CostStatement, type MarginStatement, type TaxScheme } from '../engine/money/index.js';
import { daysBetween } from '../platform/days.js';
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
import { purchaseOf, type Purchase } from './purchase.queries.js';
import { neededPartsCost, remainingCost, tasksToDo } from './remaining.queries.js';

/** The shop's tax scheme as the engine takes it. */
export function taxSchemeOf(shop: { taxScheme: 'none' | 'salesTax' | 'marginScheme'; taxRatePercent: { toString(): string } }): TaxScheme {
  return shop.taxScheme === 'none' ? { kind: 'none' } : { kind: shop.taxScheme, ratePercent: figure(shop.taxRatePercent) };
}

export interface JobCostFacts {
  jobId: string;
  purchase: Purchase;
  /** What of the purchase this job bears: all that is left of it, or nothing. */
  bears: boolean;
  refunds: Decimal;
  statement: CostStatement;
  /** Present once sold. */
  sold: { price: Decimal; tax: Decimal; margin: MarginStatement; gainOnPurchase: Decimal } | null;
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
  const jobs = await call.tx.job.findMany({ where: { id: { in: jobIds } }, select: { id: true, closedOn: true, retiredAt: true } });
  const purchases = await purchaseOf(call, jobIds);
  const labour = await labourByJob(call, jobIds);
  const ledger = await call.tx.ledgerEntry.findMany({ where: { jobId: { in: jobIds } }, select: { jobId: true, kind: true, amount: true } });
  const sales = await call.tx.sale.findMany({ where: { jobId: { in: jobIds }, reversedOn: null } });
  const open = await tasksToDo(call, jobIds);
  const needed = await neededPartsCost(call, jobIds);
  const byId = new Map(jobs.map((job) => [job.id, job]));
  return jobIds.flatMap((jobId) => {
    const job = byId.get(jobId);
    if (!job) return [];
    const purchase = purchases.get(jobId)!;
    const entries = ledger.filter((entry) => entry.jobId === jobId);
    const of = (...kinds: string[]) => entries.filter((entry) => kinds.includes(entry.kind)).map((entry) => figure(entry.amount));
    const refunds = Decimal.sum(0, ...of('refund'));
    const bears = purchase.borneBy?.id === jobId;
    // One opened by mistake took no place.
    const standsUntil = job.retiredAt ? purchase.standsFrom : job.closedOn ? asDay(job.closedOn) : call.today;
    const spaceDays = Math.max(0, daysBetween(purchase.standsFrom, standsUntil));
    const labourMinutes = labour.get(jobId)?.minutes ?? 0;
    const statement = costStatement(
      {
        acquisitionShare: bears ? purchase.left : new Decimal(0),
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
    const isOver = job.closedOn !== null || job.retiredAt !== null;
    const tasks = isOver ? [] : (open.get(jobId) ?? []);
    const toPay = isOver ? new Decimal(0) : roundAmount(needed.get(jobId) ?? new Decimal(0), call.shop.currency);
    const remaining = tasks.map((task) => remainingCost(task, figure(shop.hourlyValue), figure(shop.spaceCostPerDay), call.shop.currency));
    const estimate = estimateAtCompletion(statement.fullCost, [...remaining, { what: 'parts', low: toPay, likely: toPay, high: toPay }], call.shop.currency);
    return [
      {
        jobId,
        purchase,
        bears,
        refunds,
        statement,
        sold: sale ? soldFor(sale, Decimal.sum(0, ...of('tax')), statement, purchase, call.shop.currency) : null,
        labourMinutes,
        spaceDays,
        remainingMinutes: tasks.reduce((sum, task) => sum + task.likely, 0),
        toPay,
        estimate,
      },
    ];
  });
}

/** One in ten below low, one in ten above high. */
export const rangeOf = (estimate: CompletionEstimate) => ({ low: estimate.p10, likely: estimate.p50, high: estimate.p90 });

/**
 * A sale as it was booked: its tax is that of its day, whatever the shop's scheme is now.
 * @param taxInside what the ledger has of tax within the price
 */
function soldFor(sale: { price: { toString(): string }; taxCollected: { toString(): string } }, taxInside: Decimal, statement: CostStatement, purchase: Purchase, currency: string) {
  const price = figure(sale.price);
  const net = price.minus(taxInside);
  // A machine is sold once: what it brought is held against its purchase, whichever of its jobs bore that.
  return { price, tax: figure(sale.taxCollected), margin: marginStatement(statement, net, currency), gainOnPurchase: net.minus(purchase.left) };
}

/** The facts in the shape's words. */
export function presentCost(facts: JobCostFacts): Presentable {
  const { statement, purchase, bears, sold } = facts;
  const why = [
    `${facts.labourMinutes} minutes of labour and ${facts.spaceDays} days in the shop`,
    ...(!bears && purchase.borneBy && purchase.share.greaterThan(0) ? [`job ${purchase.borneBy.number} bears the machine's purchase, so that it counts once`] : []),
    ...(bears && purchase.harvested.greaterThan(0) ? [`${purchase.harvested.toString()} of its purchase went over to parts taken off it`] : []),
    ...(facts.remainingMinutes > 0 ? [`${facts.remainingMinutes} minutes of work are still planned`] : []),
    ...(sold ? [sold.margin.why] : []),
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
    estimateAtCompletion: rangeOf(facts.estimate),
    salePrice: sold?.price ?? null,
    taxDue: sold?.tax ?? null,
    cashMargin: sold?.margin.cashMargin ?? null,
    fullMargin: sold?.margin.fullMargin ?? null,
    marginPercentOfPrice: percent(sold?.margin.marginOnPrice),
    markupPercentOnCost: percent(sold?.margin.markupOnCost),
    gainOnPurchase: sold?.gainOnPurchase ?? null,
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

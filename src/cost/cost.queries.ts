/** What jobs have cost and earned, from shares, ledger, labour, space and sales: a constant number of statements. */
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { minutesInWords, plural } from '../engine/durations.js';
import { EngineError } from '../engine/error.js';
import { at, lookUp } from '../engine/look-up.js';
import {
  type CompletionEstimate,
  type CostStatement,
  costStatement,
  estimateAtCompletion,
  labourValue,
  type MarginStatement,
  marginStatement,
  roundAmount,
} from '../engine/money/index.js';
import { LedgerEntry } from '../ledger/ledger.shapes.js';
import { daysBetween } from '../platform/days.js';
import { NotFound, Refused } from '../platform/errors.js';
import { toDecimal } from '../platform/money.js';
import { asDay } from '../platform/operation/columns.js';
import {
  children,
  computed,
  type OperationContext,
  parentOf,
  priceReaders,
  query,
} from '../platform/operation/operation.js';
import type { AnyDecimal } from '../platform/operation/row.js';
import { id } from '../platform/shapes.js';
import { readShop } from '../shop/shop.queries.js';
import { labourByJobAndDay } from '../work/labour.js';
import { jobsById } from '../work/work.queries.js';
import { Job } from '../work/work.shapes.js';
import { type ToComplete, toComplete } from './completion.js';
import { JobCost } from './cost.shapes.js';
import { expectedDates, type ExpectedDays, type FinishSpan, finishSpans } from './expected-days.js';
import { experienceWith } from './experience.queries.js';
import { foundSince } from './found-since.queries.js';
import { likelyWorkCosts } from './likely-work.queries.js';
import { paintEstimateToComplete } from './paint.queries.js';
import { type Purchase, purchaseOf } from './purchase.queries.js';
import { ratesOf } from './rates.queries.js';
import { partsEstimateToComplete, tasksToDo } from './remaining.queries.js';

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
  /** The days it stands here for, the last not counted. */
  stands: { from: string; to: string };
  remainingMinutes: number;
  /** What is still likely to come, by kind. */
  estimateToComplete: ToComplete['likely'] & { surprises: Decimal; committed: Decimal };
  firstEstimate: FirstEstimateRow | null;
  /** Of the hours and parts, those of tasks that came after the first estimate: worked, charged and to come. */
  foundWork: { labour: Decimal; parts: Decimal };
  /** What has been paid for work under warranty since the sale. */
  warrantyCost: Decimal;
  /** Parts and paint of it: what will still be paid out. */
  toPay: Decimal;
  estimate: CompletionEstimate;
  /** How what is to come was computed, and what of it is not counted. */
  estimateToCompleteReasons: string[];
}

/**
 * The cost of jobs, in their order; those that are not this shop's, or cannot be computed, are left out.
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
    select: {
      id: true,
      number: true,
      machineId: true,
      purpose: true,
      closedDate: true,
      archivedAt: true,
      machine: { select: { kind: true } },
      firstEstimate: true,
      _count: { select: { findings: { where: { archivedAt: null } } } },
    },
  });
  const purchases = await purchaseOf(context, jobIds);
  const labour = await labourByJobAndDay(context, jobIds);
  const rates = await ratesOf(context);
  const ledger = await context.tx.ledgerEntry.findMany({
    where: { jobId: { in: jobIds } },
    select: { jobId: true, kind: true, amount: true, occurredDate: true, reversesId: true },
    orderBy: [{ occurredDate: 'asc' }, { createdAt: 'asc' }, { id: 'asc' }],
  });
  const sales = await context.tx.sale.findMany({ where: { jobId: { in: jobIds }, reversedDate: null } });
  const warranty = await context.tx.job.findMany({
    where: {
      purpose: 'warranty',
      archivedAt: null,
      machine: { jobs: { some: { id: { in: sales.map((sale) => sale.jobId) } } } },
    },
    select: {
      number: true,
      machineId: true,
      openedDate: true,
      ledger: { select: { kind: true, amount: true } },
    },
    orderBy: { number: 'asc' },
  });
  // What was left undone when a job was closed costs nothing any more.
  const openIds = jobs.filter((job) => job.closedDate === null && job.archivedAt === null).map((job) => job.id);
  const open = await tasksToDo(context, openIds);
  const needed = await partsEstimateToComplete(context, openIds);
  const paint = await paintEstimateToComplete(context, open);
  const likelyWork = await likelyWorkCosts(context, openIds, toDecimal(shop.hourlyValue));
  const days = expected ?? (open.size > 0 ? await expectedDates(context) : new Map<string, string | null>());
  const spans = open.size > 0 ? await finishSpans(context) : new Map<string, FinishSpan>();
  const found = await foundSince(
    context,
    jobs.flatMap(({ id: jobId, firstEstimate }) => (firstEstimate ? [{ jobId, since: firstEstimate.createdAt }] : [])),
  );
  const byId = new Map(jobs.map((job) => [job.id, job]));
  const isUnseen = (job: (typeof jobs)[number]): boolean =>
    job.purpose === 'refurbish' && job._count.findings === 0 && !needed.has(job.id);
  const experience = await experienceWith(
    context,
    jobs.filter((job) => open.has(job.id) && isUnseen(job)).map((job) => job.machine.kind),
  );
  const costFactsOf = (job: (typeof jobs)[number]): JobCostFacts => {
    const jobId = job.id;
    const purchase = lookUp(purchases, jobId);
    const entries = ledger.filter((entry) => entry.jobId === jobId);
    const of = (...kinds: string[]) =>
      entries.filter((entry) => kinds.includes(entry.kind)).map((entry) => toDecimal(entry.amount));
    const refunds = Decimal.sum(0, ...of('supplierRefund'));
    const bears = purchase.borneBy?.id === jobId;
    // One opened by mistake took no place.
    const standsUntil = job.archivedAt ? purchase.standsFrom : job.closedDate ? asDay(job.closedDate) : context.today;
    const spaceDays = Math.max(0, daysBetween(purchase.standsFrom, standsUntil));
    const worked = lookUp(labour, jobId);
    const labourMinutes = worked.reduce((sum, { minutes }) => sum + minutes, 0);
    const statement = costStatement(
      {
        // What stands in the ledger, less what went over to parts taken off.
        acquisitionShare: bears
          ? Decimal.max(0, Decimal.sum(0, ...of('purchase')).minus(purchase.harvested))
          : new Decimal(0),
        parts: of('part'),
        consumables: of('consumable'),
        selling: of('selling'),
        other: [...of('other'), refunds.negated(), Decimal.sum(0, ...of('depositForfeited')).negated()],
        labour: rates.labour(worked),
        space: rates.space(purchase.standsFrom, standsUntil),
      },
      context.shop.currency,
    );
    const sale = sales.find((one) => one.jobId === jobId);
    const followed = warranty.filter(
      (one) =>
        sale &&
        one.machineId === job.machineId &&
        one.number > job.number &&
        one.openedDate <= (sale.returnedDate ?? one.openedDate),
    );
    const sold = sale && soldFor(sale, Decimal.sum(0, ...of('tax')), purchase);
    const { currency } = context.shop;
    const tasks = open.get(jobId) ?? [];
    const day = days.get(jobId) ?? null;
    const remaining = toComplete({
      currency,
      today: context.today,
      hourlyValue: toDecimal(shop.hourlyValue),
      spacePerDay: toDecimal(shop.spaceCostPerDay),
      tasks,
      isUnseen: isUnseen(job),
      history: tasks.length > 0 && isUnseen(job) ? experience(job.machine.kind).machines : [],
      workedMinutes: labourMinutes,
      spent: statement.parts.plus(statement.consumables),
      parts: needed.get(jobId) ?? { cost: new Decimal(0), committed: new Decimal(0), unpriced: [] },
      coats: paint.get(jobId) ?? null,
      likelyWork: likelyWork.get(jobId) ?? null,
      day,
      waitDays: tasks.length > 0 && day !== null ? Math.max(0, daysBetween(context.today, day)) : 0,
      simulatedDays: spanOf(spans.get(jobId), context.today),
    });
    const { likely } = remaining;
    const estimate = estimateAtCompletion(statement.fullCost, remaining.items, currency);
    const later = found.get(jobId);
    const perMinute = labourMinutes > 0 ? statement.labour.div(labourMinutes) : new Decimal(0);
    const laterHours = tasks
      .filter((task) => later?.taskIds.has(task.id))
      .map((task) => labourValue(task.likely, toDecimal(shop.hourlyValue), currency));
    const assumed = worked.filter(({ date }) => rates.isAssumedOn(date)).length > 0;
    return {
      jobId,
      purchase,
      bears,
      refunds,
      statement,
      sold: sold?.sale ?? null,
      warrantyJobs: followed.map((one) => one.number),
      warrantyCost: paidFor(followed.flatMap((one) => one.ledger)),
      margin: sold
        ? marginStatement(statement, sold.net, currency)
        : job.purpose === 'warranty'
          ? marginStatement(statement, '0', currency)
          : null,
      labourMinutes,
      spaceDays,
      stands: { from: purchase.standsFrom, to: standsUntil },
      remainingMinutes: tasks.reduce((sum, task) => sum + task.likely, 0),
      estimateToComplete: {
        ...likely,
        surprises: estimate.p50.minus(
          Decimal.sum(statement.fullCost, likely.labour, likely.parts, likely.paint, likely.space),
        ),
        committed: remaining.committed,
      },
      firstEstimate: job.firstEstimate,
      foundWork: {
        labour: roundAmount(perMinute.times(later?.minutes ?? 0), currency).plus(
          Decimal.min(likely.labour, Decimal.sum(0, ...laterHours)),
        ),
        parts: later?.parts ?? new Decimal(0),
      },
      toPay: likely.parts.plus(likely.paint),
      estimate,
      estimateToCompleteReasons: [
        ...correctionsOf(entries),
        ...remaining.reasons,
        ...(assumed ? ['labour from before the first recorded rate is counted at that rate'] : []),
      ],
    };
  };
  return new Map(
    jobIds.flatMap((jobId) => {
      const job = byId.get(jobId);
      return job ? [[jobId, orOutOfRange(job.number, () => costFactsOf(job))] as const] : [];
    }),
  );
}

/** One job's amounts must not keep the others from being told: what the engine cannot take into account becomes words. */
function orOutOfRange<T>(jobNumber: number, work: () => T): T | Refused {
  try {
    return work();
  } catch (error) {
    if (error instanceof EngineError) return outOfRange(jobNumber, error.message);
    throw error;
  }
}

export const outOfRange = (jobNumber: number, fault: string): Refused =>
  new Refused(
    'out-of-reach',
    `Job ${jobNumber} cannot be computed: ${fault}. Look through its ledger, purchase ` +
      `and parts for an amount that was mistyped, and reverse or correct it.`,
  );

/** Days from today to the ends of a span. */
function spanOf(span: FinishSpan | undefined, today: string): { soonest: number; latest: number | null } | null {
  if (!span?.p10Date) return null;
  const until = (day: string): number => Math.max(0, daysBetween(today, day));
  return { soonest: until(span.p10Date), latest: span.p95Date === null ? null : until(span.p95Date) };
}

/** Cash that entries took out of the shop, what suppliers gave back taken off. */
function paidFor(entries: readonly { kind: string; amount: Figure }[]): Decimal {
  const sum = (...kinds: string[]): Decimal =>
    Decimal.sum(0, ...entries.filter(({ kind }) => kinds.includes(kind)).map(({ amount }) => toDecimal(amount)));
  return sum('part', 'consumable', 'selling', 'other').minus(sum('supplierRefund'));
}

/** What the purchase was taken for before it was corrected, by the ledger's own dates. */
function correctionsOf(
  entries: readonly { kind: string; amount: Figure; occurredDate: Date; reversesId: string | null }[],
) {
  const booked = entries.filter(({ kind, reversesId }) => kind === 'purchase' && reversesId === null);
  return booked
    .slice(1)
    .map(
      ({ amount, occurredDate }, index) =>
        `the purchase was corrected on ${asDay(occurredDate)}, ` +
        `from ${toDecimal(at(booked, index).amount).toFixed(2)} to ${toDecimal(amount).toFixed(2)}`,
    );
}

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
/** As the first estimate was kept. */
export interface FirstEstimateRow {
  createdAt: Date;
  estimatedDate: Date;
  purchase: Figure;
  labour: Figure;
  parts: Figure;
  paint: Figure;
  space: Figure;
  other: Figure;
  surprises: Figure;
  low: AnyDecimal;
  likely: AnyDecimal;
  high: AnyDecimal;
}

/** The full cost in the end by cause, as it looks now: what is spent and what is still likely to come. */
export function costByCause({ statement, bears, purchase, estimateToComplete, foundWork }: JobCostFacts) {
  return {
    purchase: bears ? purchase.left : new Decimal(0),
    labour: statement.labour.plus(estimateToComplete.labour).minus(foundWork.labour),
    parts: statement.parts.plus(estimateToComplete.parts).minus(foundWork.parts),
    // Paint is charged with the coats, as a consumable.
    paint: statement.consumables.plus(estimateToComplete.paint),
    space: statement.space.plus(estimateToComplete.space),
    other: statement.selling.plus(statement.other),
    surprises: estimateToComplete.surprises,
  };
}

/** Now less first, by cause; null where no first estimate was kept. */
function varianceOf(facts: JobCostFacts) {
  const { firstEstimate: first } = facts;
  if (!first) return null;
  const now = costByCause(facts);
  const change = {
    purchase: now.purchase.minus(toDecimal(first.purchase)),
    labour: now.labour.minus(toDecimal(first.labour)),
    parts: now.parts.minus(toDecimal(first.parts)),
    paint: now.paint.minus(toDecimal(first.paint)),
    space: now.space.minus(toDecimal(first.space)),
    other: now.other.minus(toDecimal(first.other)),
    surprises: now.surprises.minus(toDecimal(first.surprises)),
    // There was none when the estimate was made.
    foundWork: facts.foundWork.labour.plus(facts.foundWork.parts),
  };
  return { ...change, total: Decimal.sum(...Object.values(change)) };
}

const firstEstimateOf = (first: FirstEstimateRow) => ({
  estimatedDate: first.estimatedDate,
  total: { low: first.low, likely: first.likely, high: first.high },
});

/** The facts in the shape's words. */
export function presentCost(facts: JobCostFacts) {
  const { statement, purchase, bears, sold, margin } = facts;
  const reasons = [
    `${minutesInWords(facts.labourMinutes)} of labour and ${plural(facts.spaceDays, 'day')} in the shop`,
    ...(!bears && purchase.borneBy && purchase.share.greaterThan(0)
      ? [`job ${purchase.borneBy.number} bears the machine's purchase, so that it counts once`]
      : []),
    ...(bears && purchase.harvested.greaterThan(0)
      ? [`${purchase.harvested.toString()} of its purchase went over to parts taken off it`]
      : []),
    ...(facts.remainingMinutes > 0 ? [`${minutesInWords(facts.remainingMinutes)} of work still planned`] : []),
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
    purchase: bears ? purchase.share : new Decimal(0),
    harvested: bears ? purchase.harvested : new Decimal(0),
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
    firstEstimate: facts.firstEstimate && firstEstimateOf(facts.firstEstimate),
    variance: varianceOf(facts),
    salePrice: sold?.price ?? null,
    customerRefundTotal: sold?.customerRefundTotal ?? null,
    taxDue: sold?.tax ?? null,
    cashMargin: margin?.cashMargin ?? null,
    warrantyCost: sold ? facts.warrantyCost : null,
    cashMarginAfterWarranty: sold && margin ? margin.cashMargin.minus(facts.warrantyCost) : null,
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

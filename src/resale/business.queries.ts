/** The shop as a business: what is tied up, what machines earned, what is due of tax. */
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { type JobCostFacts, jobCosts } from '../cost/cost.queries.js';
import { purchaseOfMachines } from '../cost/purchase.queries.js';
import { TAX_CAUTION } from '../cost/tax-scheme.js';
import { at, lookUp, required } from '../engine/look-up.js';
import { returnOnInvestment, roundAmount } from '../engine/money/index.js';
import { type AcquisitionSource, MachineKind } from '../machines/machines.shapes.js';
import { addDays, daysBetween } from '../platform/days.js';
import { Invalid } from '../platform/errors.js';
import { toDecimal } from '../platform/money.js';
import { asDate, asDay } from '../platform/operation/columns.js';
import { type OperationContext, priceReaders, query } from '../platform/operation/operation.js';
import { day } from '../platform/shapes.js';
import { BusinessReport } from './business.shapes.js';
import { priceAdviceFor } from './price.queries.js';
import { taxedSales, taxTotals } from './tax-periods.queries.js';

const AGES = [30, 90, 180, 365];
const ZERO = new Decimal(0);

interface Earned {
  facts: JobCostFacts;
  soldDate: string;
  kind: string;
  source: z.output<typeof AcquisitionSource> | null;
  isSale: boolean;
}

/** Sums over sold machines, with the work under warranty that followed. */
function marginsOf(all: readonly Earned[], currency: string) {
  const sum = (of: (one: JobCostFacts) => Decimal): Decimal => Decimal.sum(ZERO, ...all.map(({ facts }) => of(facts)));
  const marginOf = (one: JobCostFacts) => required(one.margin, 'margin of a sold machine');
  const cashMargin = sum((one) => marginOf(one).cashMargin);
  const minutes = all.reduce((total, { facts }) => total + facts.labourMinutes, 0);
  return {
    machines: all.filter((one) => one.isSale).length,
    netProceeds: sum((one) => marginOf(one).netProceeds),
    cashCost: sum((one) => one.statement.cashCost),
    cashMargin,
    fullMargin: sum((one) => marginOf(one).fullMargin),
    ownHours: Math.round((minutes / 60) * 100) / 100,
    earningsPerHour: minutes > 0 ? roundAmount(cashMargin.times(60).div(minutes), currency) : null,
  };
}

/** Sold in the period and not brought back; what warranty cost counts in the period in which its job was closed. */
async function earnedIn(context: OperationContext, from: string, to: string): Promise<Earned[]> {
  const within = { gte: asDate(from), lte: asDate(to) };
  const jobs = await context.tx.job.findMany({
    where: {
      archivedAt: null,
      OR: [
        { sales: { some: { reversedDate: null, returnedDate: null, soldDate: within } } },
        { purpose: 'warranty', closedDate: within },
      ],
    },
    select: {
      id: true,
      purpose: true,
      closedDate: true,
      sales: { where: { reversedDate: null, returnedDate: null }, select: { soldDate: true } },
      machine: { select: { kind: true, acquisition: { select: { source: true } } } },
    },
  });
  const facts = new Map(
    (
      await jobCosts(
        context,
        jobs.map((job) => job.id),
        new Map(),
      )
    ).map((one) => [one.jobId, one]),
  );
  return jobs.flatMap(({ id, purpose, closedDate, sales, machine }): Earned[] => {
    const its = facts.get(id);
    const date = sales[0]?.soldDate ?? closedDate;
    return its?.margin && date
      ? [
          {
            facts: its,
            soldDate: asDay(date),
            kind: machine.kind,
            source: machine.acquisition?.source ?? null,
            isSale: purpose !== 'warranty',
          },
        ]
      : [];
  });
}

function groupsOf<K>(all: readonly Earned[], by: (one: Earned) => K): [K, Earned[]][] {
  const groups = new Map<K, Earned[]>();
  for (const one of all) groups.set(by(one), [...(groups.get(by(one)) ?? []), one]);
  return [...groups];
}

async function tiedUp(context: OperationContext) {
  const { currency, today } = { currency: context.shop.currency, today: context.today };
  const machines = await context.tx.machine.findMany({
    where: {
      archivedAt: null,
      disposition: { in: ['sell', 'donor', 'keep'] },
      NOT: { jobs: { some: { archivedAt: null, outcome: { in: ['sold', 'partedOut', 'scrapped'] } } } },
    },
    select: {
      id: true,
      disposition: true,
      createdAt: true,
      acquisition: { select: { acquiredDate: true } },
      jobs: { where: { archivedAt: null }, select: { ledger: { select: { kind: true, amount: true } } } },
    },
  });
  const purchases = await purchaseOfMachines(
    context,
    machines.map((machine) => machine.id),
  );
  const paid = (machine: (typeof machines)[number]): Decimal => {
    // A machine without a job has no ledger yet, so that its purchase is taken from itself.
    const entries = machine.jobs.flatMap((job) => job.ledger).filter(({ kind }) => kind !== 'purchase');
    return lookUp(purchases, machine.id).left.plus(paidFor(entries));
  };
  const inStock = machines
    .filter((machine) => machine.disposition !== 'keep')
    .map((machine) => ({
      days: Math.max(0, daysBetween(asDay(machine.acquisition?.acquiredDate ?? machine.createdAt), today)),
      amount: paid(machine),
    }));
  const kept = machines.filter((machine) => machine.disposition === 'keep');
  const [{ parts }] = await context.tx.$queryRaw<[{ parts: { toString(): string } }]>`
    SELECT coalesce(sum(quantity * "unitCost"), 0) AS parts FROM "Stock" WHERE quantity > 0`;
  const deposits = await context.tx.buyerOffer.aggregate({ where: { depositStatus: 'held' }, _sum: { deposit: true } });
  return {
    machines: inStock.length,
    machinesAmount: Decimal.sum(ZERO, ...inStock.map((one) => one.amount)),
    byAge: [...AGES, null].map((maxDays, index) => {
      const minDays = index === 0 ? 0 : at(AGES, index - 1) + 1;
      const its = inStock.filter(({ days }) => days >= minDays && (maxDays === null || days <= maxDays));
      return { minDays, maxDays, machines: its.length, amount: Decimal.sum(ZERO, ...its.map((one) => one.amount)) };
    }),
    partsAmount: roundAmount(toDecimal(parts), currency),
    depositsHeld: deposits._sum.deposit ? toDecimal(deposits._sum.deposit) : ZERO,
    keptMachines: kept.length,
    keptAmount: Decimal.sum(ZERO, ...kept.map(paid)),
  };
}

interface Expected {
  kind: z.output<typeof MachineKind>;
  source: z.output<typeof AcquisitionSource> | null;
  month: string;
  margin: Decimal;
}

/** Each machine in the shop that is priced, in the month in which it is as likely sold as not. */
async function expectedMargins(context: OperationContext): Promise<Expected[]> {
  const open = await context.tx.job.findMany({
    where: { closedDate: null, archivedAt: null, purpose: 'refurbish', machine: { disposition: 'sell' } },
    select: { id: true, machine: { select: { kind: true, acquisition: { select: { source: true } } } } },
  });
  const advice = await priceAdviceFor(
    context,
    open.map((job) => job.id),
  );
  return open.flatMap(({ id, machine }): Expected[] => {
    const its = advice.get(id);
    if (!its) return [];
    const sold = its.probabilityOfSale.find(({ probability }) => probability >= 0.5)?.day ?? its.sellByDate;
    return [
      {
        kind: machine.kind,
        source: machine.acquisition?.source ?? null,
        month: sold.slice(0, 7),
        margin: its.expectedMargin,
      },
    ];
  });
}

/** Alike ones together, by month, then kind and source. */
function expectedGroups(all: readonly Expected[]) {
  const groups = new Map<string, Expected[]>();
  for (const one of all) {
    const key = `${one.month} ${one.kind} ${one.source ?? ''}`;
    groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  return [...groups]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([, its]) => {
      const { kind, source, month } = at(its, 0);
      return { kind, source, month, machines: its.length, margin: sumOf(its.map(({ margin }) => margin)) };
    });
}

const sumOf = (amounts: readonly Decimal[]): Decimal => Decimal.sum(ZERO, ...amounts);

/** What the money in machines earned: percents, or nulls where nothing was sold or stood in the shop. */
async function returnOnMachines(
  context: OperationContext,
  { netProceeds, cashMargin }: { netProceeds: Decimal; cashMargin: Decimal },
  from: string,
  to: string,
) {
  const openingAmount = await tiedUpOn(context, addDays(from, -1));
  const closingAmount = await tiedUpOn(context, to);
  const none = { openingAmount, closingAmount, marginPercent: null, turnover: null, returnPercent: null };
  if (!netProceeds.greaterThan(0) || !openingAmount.plus(closingAmount).greaterThan(0)) return none;
  const {
    margin,
    turnover,
    return: whole,
  } = returnOnInvestment(
    cashMargin,
    netProceeds,
    { opening: openingAmount, closing: closingAmount },
    context.shop.currency,
  );
  const percent = (value: Decimal): number => value.times(100).toDecimalPlaces(2).toNumber();
  return {
    ...none,
    marginPercent: percent(margin),
    turnover: turnover.toDecimalPlaces(4).toNumber(),
    returnPercent: percent(whole),
  };
}

/** What had been paid by the end of a day for the machines that then stood in the shop to be sold: as the ledger has it. */
async function tiedUpOn(context: OperationContext, date: string): Promise<Decimal> {
  const jobs = await context.tx.job.findMany({
    where: {
      archivedAt: null,
      purpose: 'refurbish',
      machine: { disposition: { in: ['sell', 'donor'] } },
      OR: [{ closedDate: null }, { closedDate: { gt: asDate(date) } }],
    },
    select: { ledger: { where: { occurredDate: { lte: asDate(date) } }, select: { kind: true, amount: true } } },
  });
  return Decimal.max(0, paidFor(jobs.flatMap((job) => job.ledger)));
}

const PAID = ['purchase', 'part', 'consumable', 'selling', 'other'];
const CAME_BACK = ['supplierRefund', 'depositForfeited'];
function paidFor(entries: readonly { kind: string; amount: Parameters<typeof toDecimal>[0] }[]): Decimal {
  const sum = (kinds: readonly string[]): Decimal =>
    sumOf(entries.filter(({ kind }) => kinds.includes(kind)).map(({ amount }) => toDecimal(amount)));
  return sum(PAID).minus(sum(CAME_BACK));
}

/** Machines whose job was closed as kept in the period, at what had been paid for them. */
async function withdrawnIn(context: OperationContext, from: string, to: string) {
  const kept = await context.tx.job.findMany({
    where: { archivedAt: null, outcome: 'kept', closedDate: { gte: asDate(from), lte: asDate(to) } },
    select: { id: true },
  });
  const facts = await jobCosts(
    context,
    kept.map(({ id }) => id),
    new Map(),
  );
  return { machines: facts.length, amount: sumOf(facts.map(({ statement }) => statement.cashCost)) };
}

export const businessQueries = [
  query({
    name: 'businessReport',
    slow: true,
    summary: 'What is tied up, and what a period earned by month, kind and source, with its tax',
    roles: priceReaders,
    rest: { method: 'GET', path: '/business' },
    input: z.strictObject({
      from: day.nullish().meta({ scalar: 'Day', description: 'A year before the last day unless given.' }),
      to: day.nullish().meta({ scalar: 'Day', description: 'Today unless given.' }),
    }),
    output: BusinessReport,
    async run(context, input) {
      const to = input.to ?? context.today;
      const from = input.from ?? addDays(to, -364);
      if (from > to) throw new Invalid([{ detail: 'lies after the last day', pointer: '/from' }]);
      const { currency } = context.shop;
      const earned = await earnedIn(context, from, to);
      const expected = await expectedMargins(context);
      const total = marginsOf(earned, currency);
      const byKind = new Map(groupsOf(earned, (one) => one.kind));
      return {
        from,
        to,
        tiedUp: await tiedUp(context),
        total,
        byMonth: groupsOf(earned, (one) => one.soldDate.slice(0, 7))
          .sort(([a], [b]) => (a < b ? -1 : 1))
          .map(([month, its]) => ({ month, ...marginsOf(its, currency) })),
        byKind: MachineKind.options
          .filter((kind) => byKind.has(kind) || expected.some((one) => one.kind === kind))
          .toSorted()
          .map((kind) => ({
            kind,
            ...marginsOf(byKind.get(kind) ?? [], currency),
            expectedMachines: expected.filter((one) => one.kind === kind).length,
            expectedMargin: sumOf(expected.filter((one) => one.kind === kind).map(({ margin }) => margin)),
          })),
        bySource: groupsOf(earned, (one) => one.source).map(([source, its]) => ({
          source,
          ...marginsOf(its, currency),
        })),
        expected: expectedGroups(expected),
        returnOnMachines: await returnOnMachines(context, total, from, to),
        withdrawn: await withdrawnIn(context, from, to),
        tax: taxTotals(await taxedSales(context), from, to),
        reasons: [
          'A sale counts in the month of its day; work under warranty counts in the period in which its job was closed',
          TAX_CAUTION,
        ],
      };
    },
  }),
];

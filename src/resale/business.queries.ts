/** The shop as a business: what is tied up, what machines earned, what is due of tax. */
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { type JobCostFacts, jobCosts } from '../cost/cost.queries.js';
import { purchaseOfMachines } from '../cost/purchase.queries.js';
import { at, lookUp, required } from '../engine/look-up.js';
import { marginSchemeGlobal, roundAmount } from '../engine/money/index.js';
import { type AcquisitionSource, MachineKind } from '../machines/machines.shapes.js';
import { addDays, daysBetween } from '../platform/days.js';
import { Invalid } from '../platform/errors.js';
import { toDecimal } from '../platform/money.js';
import { asDate, asDay } from '../platform/operation/columns.js';
import { type OperationContext, priceReaders, query } from '../platform/operation/operation.js';
import { day } from '../platform/shapes.js';
import { readShop } from '../shop/shop.queries.js';
import { BusinessReport } from './business.shapes.js';
import { priceAdviceFor } from './price.queries.js';

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
    const entries = machine.jobs.flatMap((job) => job.ledger);
    const sum = (...kinds: string[]): Decimal =>
      Decimal.sum(ZERO, ...entries.filter(({ kind }) => kinds.includes(kind)).map(({ amount }) => toDecimal(amount)));
    return lookUp(purchases, machine.id)
      .left.plus(sum('part', 'consumable', 'selling', 'other'))
      .minus(sum('supplierRefund', 'depositForfeited'));
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

/** By the scheme each sale was made under; part sales among them. */
async function taxIn(context: OperationContext, from: string, to: string) {
  const within = { gte: asDate(from), lte: asDate(to) };
  const { currency } = context.shop;
  const machineSales = await context.tx.sale.findMany({ where: { reversedDate: null, soldDate: within } });
  const partSales = await context.tx.partSale.findMany({ where: { reversedDate: null, soldDate: within } });
  const acquired = await context.tx.acquisition.findMany({
    where: { archivedAt: null, acquiredDate: within },
    select: { price: true },
  });
  const purchases = Decimal.sum(ZERO, ...acquired.map(({ price }) => toDecimal(price)));
  const sales = [
    ...machineSales.map((sale) => ({
      scheme: sale.taxScheme,
      rate: toDecimal(sale.taxRatePercent),
      amount: toDecimal(sale.price).minus(toDecimal(sale.customerRefundTotal)),
      tax: toDecimal(sale.taxCollected),
    })),
    ...partSales.map((sale) => ({
      scheme: sale.taxScheme,
      rate: null,
      amount: toDecimal(sale.price),
      tax: toDecimal(sale.taxCollected),
    })),
  ];
  const shop = await readShop(context);
  return (['none', 'salesTax', 'marginScheme'] as const).flatMap((scheme) => {
    const its = sales.filter((sale) => sale.scheme === scheme);
    if (its.length === 0) return [];
    const salesAmount = Decimal.sum(ZERO, ...its.map(({ amount }) => amount));
    const rate = its.find((sale) => sale.rate)?.rate ?? toDecimal(shop.taxRatePercent);
    const [global] =
      scheme === 'marginScheme' ? marginSchemeGlobal([{ sales: salesAmount, purchases }], rate, currency) : [];
    return [
      {
        scheme,
        sales: its.length,
        salesAmount,
        taxAmount: Decimal.sum(ZERO, ...its.map(({ tax }) => tax)),
        purchasesAmount: purchases,
        globalMarginTax: global?.tax ?? null,
        carriedForward: global?.carriedForward ?? null,
      },
    ];
  });
}

async function expectedByKind(context: OperationContext): Promise<Map<string, { machines: number; margin: Decimal }>> {
  const open = await context.tx.job.findMany({
    where: { closedDate: null, archivedAt: null, purpose: 'refurbish', machine: { disposition: 'sell' } },
    select: { id: true, machine: { select: { kind: true } } },
  });
  const advice = await priceAdviceFor(
    context,
    open.map((job) => job.id),
  );
  const byKind = new Map<string, { machines: number; margin: Decimal }>();
  for (const { id, machine } of open) {
    const its = advice.get(id);
    if (!its) continue;
    const sum = byKind.get(machine.kind) ?? { machines: 0, margin: ZERO };
    byKind.set(machine.kind, { machines: sum.machines + 1, margin: sum.margin.plus(its.expectedMargin) });
  }
  return byKind;
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
      const expected = await expectedByKind(context);
      const byKind = new Map(groupsOf(earned, (one) => one.kind));
      return {
        from,
        to,
        tiedUp: await tiedUp(context),
        total: marginsOf(earned, currency),
        byMonth: groupsOf(earned, (one) => one.soldDate.slice(0, 7))
          .sort(([a], [b]) => (a < b ? -1 : 1))
          .map(([month, its]) => ({ month, ...marginsOf(its, currency) })),
        byKind: MachineKind.options
          .filter((kind) => byKind.has(kind) || expected.has(kind))
          .toSorted()
          .map((kind) => ({
            kind,
            ...marginsOf(byKind.get(kind) ?? [], currency),
            expectedMachines: expected.get(kind)?.machines ?? 0,
            expectedMargin: expected.get(kind)?.margin ?? ZERO,
          })),
        bySource: groupsOf(earned, (one) => one.source).map(([source, its]) => ({
          source,
          ...marginsOf(its, currency),
        })),
        tax: await taxIn(context, from, to),
        reasons: [
          'A sale counts in the month of its day; work under warranty counts in the period in which its job was closed',
          'The tax figures help to fill in a return and are no advice: ask the authority or an accountant',
        ],
      };
    },
  }),
];

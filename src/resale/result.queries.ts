/** What machines have brought and cost over all of their jobs: one that was sold, and a donor by its parts. */
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { purchaseOfMachines } from '../cost/purchase.queries.js';
import { Machine } from '../machines/machines.shapes.js';
import { NotFound } from '../platform/errors.js';
import { toDecimal } from '../platform/money.js';
import { computed, type OperationContext, priceReaders, query } from '../platform/operation/operation.js';
import { id } from '../platform/shapes.js';
import { labourByJob } from '../work/labour.js';
import { MachineResult } from './after-sale.shapes.js';
import { basisOf, netOf } from './part-sales.js';

/** By machine id; as many statements for one as for a hundred. */
export async function resultsOf(context: OperationContext, machineIds: string[]) {
  const { currency } = context.shop;
  const purchases = await purchaseOfMachines(context, machineIds);
  const jobs = await context.tx.job.findMany({
    where: { machineId: { in: machineIds }, archivedAt: null },
    select: { id: true, machineId: true, ledger: { select: { kind: true, amount: true } } },
  });
  const labour = await labourByJob(
    context,
    jobs.map((job) => job.id),
  );
  const stocks = await context.tx.stock.findMany({
    where: { harvest: { machineId: { in: machineIds } } },
    select: {
      quantity: true,
      unitCost: true,
      harvest: { select: { machineId: true } },
      needs: { where: { usedDate: { not: null } }, select: { id: true } },
      sales: { where: { reversedDate: null } },
    },
  });
  const charges = new Map<string, Decimal>();
  const needIds = stocks.flatMap((stock) => stock.needs.map((need) => need.id));
  for (const { partNeedId, amount } of await context.tx.ledgerEntry.findMany({
    where: { partNeedId: { in: needIds } },
    select: { partNeedId: true, amount: true },
  })) {
    if (partNeedId !== null) charges.set(partNeedId, toDecimal(amount).plus(charges.get(partNeedId) ?? 0));
  }
  const scrapped = new Map(
    (await context.tx.scrapSale.findMany({ where: { machineId: { in: machineIds }, reversedDate: null } })).map(
      (sale) => [sale.machineId, toDecimal(sale.proceeds)],
    ),
  );
  return new Map(
    [...purchases].map(([machineId, { share, harvested }]) => {
      const own = jobs.filter((job) => job.machineId === machineId);
      const entries = own.flatMap((job) => job.ledger);
      const sum = (...kinds: string[]) =>
        Decimal.sum(0, ...entries.filter(({ kind }) => kinds.includes(kind)).map(({ amount }) => toDecimal(amount)));
      const parts = stocks.filter((stock) => stock.harvest?.machineId === machineId);
      const work = sum('part', 'consumable', 'selling', 'other').minus(sum('supplierRefund', 'depositForfeited'));
      const sold = sum('saleProceeds').minus(sum('customerRefund')).minus(sum('tax'));
      const partsTaken = Decimal.sum(
        0,
        ...parts.flatMap((stock) => stock.needs.map((need) => charges.get(need.id) ?? 0)),
      );
      const partSales = parts.flatMap((stock) =>
        stock.sales.map((sale) => ({ net: netOf(sale), basis: basisOf(stock.unitCost, sale.quantity, currency) })),
      );
      const partsSold = Decimal.sum(0, ...partSales.map(({ net }) => net));
      const partsOnHand = Decimal.sum(0, ...parts.map((stock) => basisOf(stock.unitCost, stock.quantity, currency)));
      const scrap = scrapped.get(machineId) ?? new Decimal(0);
      const left = share.minus(harvested);
      return [
        machineId,
        {
          machineId,
          purchase: share,
          work,
          sold,
          partsTaken,
          partsSold,
          partsOnHand,
          scrap,
          result: Decimal.sum(sold, partsTaken, partsSold, partsOnHand, scrap).minus(share).minus(work),
          labourMinutes: own.reduce((total, job) => total + (labour.get(job.id)?.minutes ?? 0), 0),
          reasons: [
            `${own.length} ${own.length === 1 ? 'job' : 'jobs'} on it`,
            ...(harvested.greaterThan(0)
              ? [
                  `${harvested.toFixed()} of its purchase went over to parts taken off it, ${left.toFixed()} stays with the rest of it`,
                ]
              : []),
            ...(partSales.length > 0
              ? [`the parts sold stood for ${Decimal.sum(0, ...partSales.map(({ basis }) => basis)).toFixed()} of that`]
              : []),
          ],
        },
      ];
    }),
  );
}

export const resultQueries = [
  query({
    name: 'machineResult',
    summary: 'What a machine has brought and cost over all of its jobs: sold, returned, taken apart or scrapped',
    roles: priceReaders,
    rest: { method: 'GET', path: '/machines/:id/result' },
    input: z.strictObject({ id }),
    output: MachineResult,
    async run(context, { id: machineId }) {
      const result = (await resultsOf(context, [machineId])).get(machineId);
      if (!result) throw new NotFound('machine', machineId);
      return result;
    },
  }),
];

export const resultRelations = [
  computed({
    on: Machine,
    field: 'result',
    to: MachineResult,
    roles: priceReaders,
    description: 'What it has brought and cost over all of its jobs.',
    async compute(context, machines) {
      const results = await resultsOf(
        context,
        machines.map((machine) => machine.id as string),
      );
      return machines.map((machine) => results.get(machine.id) ?? null);
    },
  }),
];

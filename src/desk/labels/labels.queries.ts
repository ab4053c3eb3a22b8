/** What is printed on the labels of bins and of a job's bags. */
import { z } from 'zod';
import { lookUp } from '../../engine/look-up.js';
import { machineName } from '../../machines/machine-name.js';
import { shopCode } from '../../platform/access/shop-code.js';
import { NotFound } from '../../platform/errors.js';
import { toDecimal } from '../../platform/money.js';
import { groupBy } from '../../platform/operation/group-by.js';
import { type OperationContext, query } from '../../platform/operation/operation.js';
import type { Row } from '../../platform/operation/row.js';
import { findOne } from '../../platform/operation/stored.js';
import { id } from '../../platform/shapes.js';
import { needsOfJobs } from '../../purchasing/needs.queries.js';
import { type Label, Labels, stockLabelIds } from './labels.shapes.js';

const whereOf = ({ shop }: OperationContext, kind: 'stock' | 'job' | 'part-need', rowId: string) => ({
  urn: `urn:frostwright:${kind}:${rowId}`,
  path: `/shop/${shopCode(shop.id)}/thing/${kind}/${rowId}`,
});

/** One label a bin, in the order asked for. @throws NotFound for the first id that is no stock of the shop */
async function labelsOfStock(context: OperationContext, ids: readonly string[]): Promise<Row<typeof Label>[]> {
  const rows = new Map(
    (
      await context.tx.stock.findMany({
        where: { id: { in: [...ids] } },
        include: { part: { select: { name: true } } },
      })
    ).map((row) => [row.id, row]),
  );
  const holding = groupBy(
    await context.tx.partNeed.findMany({
      where: { stockId: { in: [...ids] }, usedDate: null, archivedAt: null },
      select: { stockId: true, task: { select: { job: { select: { number: true } } } } },
    }),
    (need) => need.stockId,
  );
  return ids.map((stockId) => {
    const row = rows.get(stockId);
    if (!row) throw new NotFound('stock', stockId);
    const jobNumbers = [...new Set((holding.get(stockId) ?? []).map((need) => need.task.job.number))].sort(
      (a, b) => a - b,
    );
    return {
      kind: 'stock',
      ...whereOf(context, 'stock', row.id),
      title: row.part.name,
      bin: row.bin,
      quantity: toDecimal(row.quantity),
      jobNumbers,
      note: row.condition,
    };
  });
}

/** One label for the job's own bag, then one for each part that its tasks still need or have had fitted. */
async function labelsOfJob(context: OperationContext, jobId: string): Promise<Row<typeof Label>[]> {
  const job = await findOne(context.tx.job, 'job', jobId, { machine: true });
  const needs = await needsOfJobs(context, [jobId]);
  const stockIds = needs.map((need) => need.stockId).filter((one) => one !== null);
  const bins = new Map(
    (
      await context.tx.stock.findMany({
        where: { id: { in: stockIds } },
        select: { id: true, bin: true, partId: true },
      })
    ).map((stock) => [stock.id, stock]),
  );
  const parts = new Map(
    (
      await context.tx.part.findMany({
        where: { id: { in: [...needs, ...bins.values()].map((one) => one.partId) } },
        select: { id: true, name: true },
      })
    ).map((part) => [part.id, part.name]),
  );
  const tasks = new Map(
    (
      await context.tx.task.findMany({
        where: { id: { in: needs.map((need) => need.taskId) } },
        select: { id: true, name: true },
      })
    ).map((task) => [task.id, task.name]),
  );
  const jobNumbers = [job.number];
  return [
    {
      kind: 'job',
      ...whereOf(context, 'job', job.id),
      title: job.title,
      bin: null,
      quantity: null,
      jobNumbers,
      note: machineName(job.machine),
    },
    ...needs.map((need) => {
      const bin = need.stockId === null ? undefined : bins.get(need.stockId);
      // What lies in the bag is what came out of the bin, whatever was asked for.
      const lies = bin?.partId ?? need.partId;
      const note = lookUp(tasks, need.taskId);
      return {
        kind: 'partNeed' as const,
        ...whereOf(context, 'part-need', need.id),
        title: lookUp(parts, lies),
        bin: bin?.bin ?? null,
        quantity: toDecimal(need.quantity),
        jobNumbers,
        note: lies === need.partId ? note : `${note}, in place of ${lookUp(parts, need.partId)}`,
      };
    }),
  ];
}

export const stockLabelsQuery = query({
  name: 'stockLabels',
  summary: 'What is printed on the labels of some bins',
  rest: { method: 'GET', path: '/stock/labels' },
  input: z.strictObject({ ids: stockLabelIds }),
  output: Labels,
  run: async (context, { ids }) => ({ labels: await labelsOfStock(context, ids) }),
});

export const jobLabelsQuery = query({
  name: 'jobLabels',
  summary: "What is printed on the labels of a job's bags: its own, and one for each part it needs",
  rest: { method: 'GET', path: '/jobs/:id/labels' },
  input: z.strictObject({ id }),
  output: Labels,
  run: async (context, { id: jobId }) => ({ labels: await labelsOfJob(context, jobId) }),
});

export const labelQueries = [stockLabelsQuery, jobLabelsQuery];

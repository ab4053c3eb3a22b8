/** What tasks need, and how far each need is met: computed from stock, order lines and promises, never stored. */
import { Decimal } from 'decimal.js';
import { toDecimal } from '../platform/money.js';
import type { OperationContext, Presentable } from '../platform/operation/operation.js';
import { groupBy } from '../platform/operation/rows.js';
import { linesByIds } from './orders.queries.js';

/**
 * How much of each bin is held for which need. Needs that were reserved from what was there come first, then those
 * that wait for the rest of an order line, oldest first; a need of a partly received line holds what has come.
 * @param stock rows with id and quantity
 * @returns by need id
 */
function coverOf(stock: readonly Presentable[], needs: readonly Presentable[]): Map<string, Decimal> {
  const cover = new Map<string, Decimal>();
  const byStock = groupBy(needs, (need) => need.stockId as string | null);
  for (const bin of stock) {
    let left = toDecimal(bin.quantity);
    const waiting = [...(byStock.get(bin.id) ?? [])].sort(
      (a, b) =>
        Number(a.orderLineId !== null) - Number(b.orderLineId !== null) ||
        a.createdAt - b.createdAt ||
        (a.id < b.id ? -1 : 1),
    );
    for (const need of waiting) {
      const held = Decimal.min(left, toDecimal(need.quantity));
      cover.set(need.id, held);
      left = left.minus(held);
    }
  }
  return cover;
}

/** The standing needs on some bins: reserved and not used up. */
const needsOnStock = (context: OperationContext, stockIds: string[]) =>
  context.tx.partNeed.findMany({ where: { stockId: { in: stockIds }, usedDate: null, archivedAt: null } });

/** Stock rows with what is held of them and what is free. */
export async function completeStock(context: OperationContext, rows: Presentable[]): Promise<Presentable[]> {
  const needs =
    rows.length === 0
      ? []
      : await needsOnStock(
          context,
          rows.map((row) => row.id),
        );
  const cover = coverOf(rows, needs);
  const byStock = groupBy(needs, (need) => need.stockId);
  return rows.map((row) => {
    const reserved = Decimal.sum(0, ...(byStock.get(row.id) ?? []).map((need) => cover.get(need.id) ?? 0));
    return { ...row, quantityReserved: reserved, quantityFree: toDecimal(row.quantity).minus(reserved) };
  });
}

/** Part needs with what is held for them and how they stand. */
export async function completeNeeds(context: OperationContext, rows: Presentable[]): Promise<Presentable[]> {
  const open = rows.filter((row) => row.usedDate === null);
  const stockIds = [
    ...new Set(open.map((row) => row.stockId as string | null).filter((id): id is string => id !== null)),
  ];
  const lineIds = [
    ...new Set(open.map((row) => row.orderLineId as string | null).filter((id): id is string => id !== null)),
  ];
  const stock =
    stockIds.length === 0
      ? []
      : await context.tx.stock.findMany({ where: { id: { in: stockIds } }, select: { id: true, quantity: true } });
  const cover = coverOf(stock, stockIds.length === 0 ? [] : await needsOnStock(context, stockIds));
  const lines = new Map((await linesByIds(context, lineIds)).map((line) => [line.id as string, line]));
  return rows.map((row) => {
    const quantityCovered = row.usedDate ? toDecimal(row.quantity) : (cover.get(row.id) ?? new Decimal(0));
    return { ...row, quantityCovered, status: statusOf(row, quantityCovered, lines.get(row.orderLineId)) };
  });
}

function statusOf(need: Presentable, covered: Decimal, line: Presentable | undefined): string {
  if (need.usedDate) return 'used';
  if (covered.greaterThanOrEqualTo(toDecimal(need.quantity))) return 'onHand';
  if (covered.greaterThan(0)) return 'partlyReceived';
  if (!line || line.quantityOutstanding.lessThanOrEqualTo(0)) return 'unordered';
  return line.backOrdered ? 'backOrdered' : 'onOrder';
}

/** The needs of some tasks, complete. */
export async function needsOfTasks(context: OperationContext, taskIds: string[]): Promise<Presentable[]> {
  return completeNeeds(
    context,
    await context.tx.partNeed.findMany({
      where: { taskId: { in: taskIds }, archivedAt: null },
      orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
    }),
  );
}

/** The needs of some jobs, complete, each with its `jobId`. */
export async function needsOfJobs(context: OperationContext, jobIds: string[]): Promise<Presentable[]> {
  const rows = await context.tx.partNeed.findMany({
    where: { archivedAt: null, task: { jobId: { in: jobIds }, archivedAt: null } },
    include: { task: { select: { jobId: true } } },
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
  });
  return completeNeeds(
    context,
    rows.map(({ task, ...row }) => ({ ...row, jobId: task.jobId })),
  );
}

/** What tasks need, and how far each need is met: computed from stock, order lines and promises, never stored. */
import { Decimal } from 'decimal.js';
import { toDecimal } from '../platform/money.js';
import type { OperationContext, Presentable } from '../platform/operation/operation.js';
import { needOrder } from '../stock/reservations.js';
import { coverOf, needsOnStock } from '../stock/reservations.js';
import { linesByIds } from './orders.queries.js';

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
      orderBy: needOrder,
    }),
  );
}

/** The needs of some jobs, complete, each with its `jobId`. */
export async function needsOfJobs(context: OperationContext, jobIds: string[]): Promise<Presentable[]> {
  const rows = await context.tx.partNeed.findMany({
    where: { archivedAt: null, task: { jobId: { in: jobIds }, archivedAt: null } },
    include: { task: { select: { jobId: true } } },
    orderBy: needOrder,
  });
  return completeNeeds(
    context,
    rows.map(({ task, ...row }) => ({ ...row, jobId: task.jobId })),
  );
}

/** What tasks need, and how far each need is met: computed from stock, order lines and promises, never stored. */
import { Decimal } from 'decimal.js';
import type { z } from 'zod';
import { toDecimal } from '../platform/money.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';
import { needOrder } from '../stock/reservations.js';
import { coverOf, needsOnStock } from '../stock/reservations.js';
import type { PartNeedStatus } from '../stock/stock.shapes.js';
import { type CompleteLine, linesByIds } from './orders.queries.js';

interface NeedStanding {
  fittedPartId: string | null;
  quantityCovered: Decimal;
  status: z.output<typeof PartNeedStatus>;
}
/** A part need with what is held for it and how it stands. */
export type CompleteNeed = Stored<'partNeed'> & NeedStanding;

/** Part needs with what is held for them and how they stand. */
export async function completeNeeds<R extends Stored<'partNeed'>>(
  context: OperationContext,
  rows: readonly R[],
): Promise<(R & NeedStanding)[]> {
  const open = rows.filter((row) => row.usedDate === null);
  const stockIds = [...new Set(open.map((row) => row.stockId).filter((id) => id !== null))];
  const usedIds = [...new Set(rows.flatMap((row) => (row.usedDate && row.stockId ? [row.stockId] : [])))];
  const usedStock =
    usedIds.length === 0
      ? []
      : await context.tx.stock.findMany({ where: { id: { in: usedIds } }, select: { id: true, partId: true } });
  const fitted = new Map(usedStock.map((stock) => [stock.id, stock.partId]));
  const lineIds = [...new Set(open.map((row) => row.orderLineId).filter((id) => id !== null))];
  const stock =
    stockIds.length === 0
      ? []
      : await context.tx.stock.findMany({ where: { id: { in: stockIds } }, select: { id: true, quantity: true } });
  const cover = coverOf(stock, stockIds.length === 0 ? [] : await needsOnStock(context, stockIds));
  const lines = new Map((await linesByIds(context, lineIds)).map((line) => [line.id, line]));
  return rows.map((row) => {
    const quantityCovered = row.usedDate ? toDecimal(row.quantity) : (cover.get(row.id) ?? new Decimal(0));
    const line = row.orderLineId === null ? undefined : lines.get(row.orderLineId);
    const fittedPartId = row.usedDate ? ((row.stockId && fitted.get(row.stockId)) ?? row.partId) : null;
    return { ...row, fittedPartId, quantityCovered, status: statusOf(row, quantityCovered, line) };
  });
}

function statusOf(
  need: Stored<'partNeed'>,
  covered: Decimal,
  line: CompleteLine | undefined,
): z.output<typeof PartNeedStatus> {
  if (need.usedDate) return 'used';
  if (covered.greaterThanOrEqualTo(toDecimal(need.quantity))) return 'onHand';
  if (covered.greaterThan(0)) return 'partlyReceived';
  if (!line || line.quantityOutstanding.lessThanOrEqualTo(0)) return 'unordered';
  return line.backOrdered ? 'backOrdered' : 'onOrder';
}

/** The needs of some tasks, complete. */
export async function needsOfTasks(context: OperationContext, taskIds: string[]): Promise<CompleteNeed[]> {
  return completeNeeds(
    context,
    await context.tx.partNeed.findMany({
      where: { taskId: { in: taskIds }, archivedAt: null },
      orderBy: needOrder,
    }),
  );
}

/** The needs of some jobs, complete, each with its `jobId`. */
export async function needsOfJobs(
  context: OperationContext,
  jobIds: string[],
): Promise<(CompleteNeed & { jobId: string })[]> {
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

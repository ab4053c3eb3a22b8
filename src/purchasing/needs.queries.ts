/** What tasks need, and how far each need is met: computed from stock, order lines and promises, never stored. */
import { Decimal } from 'decimal.js';
import { figure } from '../platform/money.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { linesByIds } from './orders.queries.js';
import { groupBy } from '../platform/operation/rows.js';

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
    let left = figure(bin.quantity);
    const waiting = [...(byStock.get(bin.id) ?? [])].sort(
      (a, b) =>
        Number(a.orderLineId !== null) - Number(b.orderLineId !== null) ||
        a.createdAt - b.createdAt ||
        (a.id < b.id ? -1 : 1),
    );
    for (const need of waiting) {
      const held = Decimal.min(left, figure(need.quantity));
      cover.set(need.id, held);
      left = left.minus(held);
    }
  }
  return cover;
}

/** The standing needs on some bins: reserved and not used up. */
const needsOnStock = (call: Call, stockIds: string[]) =>
  call.tx.partNeed.findMany({ where: { stockId: { in: stockIds }, usedOn: null, retiredAt: null } });

/** Stock rows with what is held of them and what is free. */
export async function completeStock(call: Call, rows: Presentable[]): Promise<Presentable[]> {
  const needs =
    rows.length === 0
      ? []
      : await needsOnStock(
          call,
          rows.map((row) => row.id),
        );
  const cover = coverOf(rows, needs);
  const byStock = groupBy(needs, (need) => need.stockId);
  return rows.map((row) => {
    const reserved = Decimal.sum(0, ...(byStock.get(row.id) ?? []).map((need) => cover.get(need.id) ?? 0));
    return { ...row, quantityReserved: reserved, quantityFree: figure(row.quantity).minus(reserved) };
  });
}

/** Part needs with what is held for them and how they stand. */
export async function completeNeeds(call: Call, rows: Presentable[]): Promise<Presentable[]> {
  const open = rows.filter((row) => row.usedOn === null);
  const stockIds = [
    ...new Set(open.map((row) => row.stockId as string | null).filter((id): id is string => id !== null)),
  ];
  const lineIds = [
    ...new Set(open.map((row) => row.orderLineId as string | null).filter((id): id is string => id !== null)),
  ];
  const stock =
    stockIds.length === 0
      ? []
      : await call.tx.stock.findMany({ where: { id: { in: stockIds } }, select: { id: true, quantity: true } });
  const cover = coverOf(stock, stockIds.length === 0 ? [] : await needsOnStock(call, stockIds));
  const lines = new Map((await linesByIds(call, lineIds)).map((line) => [line.id as string, line]));
  return rows.map((row) => {
    const quantityCovered = row.usedOn ? figure(row.quantity) : (cover.get(row.id) ?? new Decimal(0));
    return { ...row, quantityCovered, standing: standingOf(row, quantityCovered, lines.get(row.orderLineId)) };
  });
}

function standingOf(need: Presentable, covered: Decimal, line: Presentable | undefined): string {
  if (need.usedOn) return 'used';
  if (covered.greaterThanOrEqualTo(figure(need.quantity))) return 'onHand';
  if (covered.greaterThan(0)) return 'partlyReceived';
  if (!line || line.quantityOutstanding.lessThanOrEqualTo(0)) return 'unordered';
  return line.backOrdered ? 'backOrdered' : 'onOrder';
}

/** The needs of some tasks, complete. */
export async function needsOfTasks(call: Call, taskIds: string[]): Promise<Presentable[]> {
  return completeNeeds(
    call,
    await call.tx.partNeed.findMany({
      where: { taskId: { in: taskIds }, retiredAt: null },
      orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
    }),
  );
}

/** The needs of some jobs, complete, each with its `jobId`. */
export async function needsOfJobs(call: Call, jobIds: string[]): Promise<Presentable[]> {
  const rows = await call.tx.partNeed.findMany({
    where: { retiredAt: null, task: { jobId: { in: jobIds }, retiredAt: null } },
    include: { task: { select: { jobId: true } } },
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
  });
  return completeNeeds(
    call,
    rows.map(({ task, ...row }) => ({ ...row, jobId: task.jobId })),
  );
}

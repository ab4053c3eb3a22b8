/** What open jobs will still cost: the hours of their tasks, and the parts they have not been charged with. */
import { Decimal } from 'decimal.js';
import { labourValue, type RemainingCost } from '../engine/money/index.js';
import { MIN_REMAINING_MINUTES } from '../plan/model/task-lengths.js';
import type { TaskKind } from '../platform/database/client/enums.js';
import { toDecimal } from '../platform/money.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { landedUnitCost, supplierRefundsOn } from '../purchasing/orders.queries.js';
import { labourByTask } from '../work/labour.js';

export interface RemainingTask {
  id: string;
  what: string;
  kind: TaskKind;
  /** A coat has been recorded on it. */
  coated: boolean;
  /** Hands-on minutes of all people together. */
  low: number;
  likely: number;
  high: number;
}

/** The tasks still to be done, by job id. What was worked on one that is begun is paid for already. Three statements. */
export async function tasksToDo(context: OperationContext, jobIds: string[]): Promise<Map<string, RemainingTask[]>> {
  const tasks = await context.tx.task.findMany({
    where: { jobId: { in: jobIds }, finishedAt: null, archivedAt: null },
    select: {
      id: true,
      jobId: true,
      name: true,
      kind: true,
      minMinutes: true,
      handsOnMinutes: true,
      maxMinutes: true,
      people: true,
      startedAt: true,
      coats: { where: { archivedAt: null }, select: { id: true }, take: 1 },
    },
    orderBy: [{ position: 'asc' }, { id: 'asc' }],
  });
  const worked = await labourByTask(
    context,
    tasks.filter((task) => task.startedAt).map((task) => task.id),
  );
  const byJob = new Map<string, RemainingTask[]>();
  for (const task of tasks) {
    const done = worked.get(task.id)?.minutes ?? 0;
    // As the plan takes it: one that has used up its hours and is not finished needs a little more.
    const least = task.startedAt ? Math.min(MIN_REMAINING_MINUTES, task.handsOnMinutes) * task.people : 0;
    const likely = Math.max(least, task.handsOnMinutes * task.people - done);
    const one: RemainingTask = {
      id: task.id,
      what: task.name,
      kind: task.kind,
      coated: task.coats.length > 0,
      low: Math.min(likely, Math.max(0, task.minMinutes * task.people - done)),
      likely,
      high: Math.max(likely, task.maxMinutes * task.people - done),
    };
    byJob.set(task.jobId, [...(byJob.get(task.jobId) ?? []), one]);
  }
  return byJob;
}

/** What a task's hours will still cost. */
export function hoursEstimateToComplete(
  { what, low, likely, high }: RemainingTask,
  hourlyValue: Decimal,
  currency: string,
): RemainingCost & { likely: Decimal } {
  const of = (minutes: number) => labourValue(minutes, hourlyValue, currency);
  return { what, low: of(low), likely: of(likely), high: of(high) };
}

export interface PartsEstimateToComplete {
  cost: Decimal;
  /** Of it, what is ordered and not received: owed already. */
  committed: Decimal;
  /** What nobody knows a price of. */
  unpriced: string[];
}

/**
 * What the parts still needed will cost, by job id: at the bin's cost, the order's landed cost, the price last paid for
 * such a part, or else what one is expected to cost; one whose price nobody knows is named instead. A core charge counts,
 * for the job bears it until the old part is sent back. Four statements.
 */
export async function partsEstimateToComplete(
  context: OperationContext,
  jobIds: string[],
): Promise<Map<string, PartsEstimateToComplete>> {
  const needs = await context.tx.partNeed.findMany({
    where: { usedDate: null, archivedAt: null, task: { jobId: { in: jobIds }, archivedAt: null } },
    select: {
      partId: true,
      quantity: true,
      orderLineId: true,
      orderLine: true,
      part: { select: { name: true } },
      stock: { select: { unitCost: true } },
      task: { select: { jobId: true } },
    },
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
  });
  const backOn = await supplierRefundsOn(
    context,
    needs.flatMap((need) => need.orderLineId ?? []),
  );
  const likely = await likelyPrices(context, [...new Set(needs.map((need) => need.partId))]);
  const byJob = new Map<string, PartsEstimateToComplete>();
  for (const { partId, quantity, orderLine, part, stock, task } of needs) {
    const landed = orderLine && landedUnitCost(orderLine, backOn(orderLine.id).supplierRefundTotal);
    // A bin keeps what a piece costs to four decimals.
    const each = stock
      ? toDecimal(stock.unitCost)
      : (landed ?? likely.get(partId))?.toDecimalPlaces(4, Decimal.ROUND_HALF_UP);
    const sum = byJob.get(task.jobId) ?? { cost: new Decimal(0), committed: new Decimal(0), unpriced: [] };
    byJob.set(
      task.jobId,
      each
        ? {
            ...sum,
            cost: sum.cost.plus(each.times(toDecimal(quantity))),
            committed: orderLine ? sum.committed.plus(each.times(toDecimal(quantity))) : sum.committed,
          }
        : { ...sum, unpriced: [...sum.unpriced, `${toDecimal(quantity).toString()} × ${part.name}`] },
    );
  }
  return byJob;
}

/** By part id: price and core charge of its latest order line, else what one is expected to cost; none where neither is known. */
export async function likelyPrices(
  context: OperationContext,
  partIds: readonly string[],
): Promise<Map<string, Decimal>> {
  if (partIds.length === 0) return new Map();
  const rows = await context.tx.$queryRaw<{ partId: string; price: { toString(): string } }[]>`
    SELECT DISTINCT ON (p.id) p.id AS "partId", coalesce(l."unitPrice" + l."coreCharge", p."expectedPrice") AS price
    FROM "Part" p LEFT JOIN "OrderLine" l ON l."partId" = p.id
    WHERE p.id = ANY(${[...partIds]}::uuid[]) AND (l.id IS NOT NULL OR p."expectedPrice" IS NOT NULL)
    ORDER BY p.id, l."createdAt" DESC, l.id DESC`;
  return new Map(rows.map((row) => [row.partId, toDecimal(row.price)]));
}

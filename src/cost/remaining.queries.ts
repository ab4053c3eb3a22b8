/** What open jobs will still cost: the hours and cures of their tasks, and the parts they have not been charged with. */
import { Decimal } from 'decimal.js';
import { labourValue, roundAmount, type RemainingCost } from '../engine/money/index.js';
import { figure } from '../platform/money.js';
import type { Call } from '../platform/operation/operation.js';
import { coresOf, landedUnitCost } from '../parts/orders.queries.js';
import { LEAST_REMAINING_MINUTES } from '../plan/problem.js';
import { labourByTask } from '../work/labour.js';

export interface RemainingTask {
  what: string;
  /** Hands-on minutes of all people together, and minutes of cure that have not passed yet. */
  low: number;
  likely: number;
  high: number;
  cureMinutes: number;
}

/** The tasks still to be done, by job id. What was worked on one that is begun is paid for already. Two statements. */
export async function tasksToDo(call: Call, jobIds: string[]): Promise<Map<string, RemainingTask[]>> {
  const tasks = await call.tx.task.findMany({
    where: { jobId: { in: jobIds }, finishedAt: null, retiredAt: null },
    select: { id: true, jobId: true, name: true, leastMinutes: true, handsOnMinutes: true, mostMinutes: true, people: true, cureMinutes: true, startedAt: true },
    orderBy: [{ position: 'asc' }, { id: 'asc' }],
  });
  const worked = await labourByTask(call, tasks.filter((task) => task.startedAt).map((task) => task.id));
  const byJob = new Map<string, RemainingTask[]>();
  for (const task of tasks) {
    const done = worked.get(task.id)?.minutes ?? 0;
    // As the plan takes it: one that has used up its hours and is not finished needs a little more.
    const least = task.startedAt ? Math.min(LEAST_REMAINING_MINUTES, task.handsOnMinutes) * task.people : 0;
    const likely = Math.max(least, task.handsOnMinutes * task.people - done);
    const passed = task.startedAt ? Math.floor((call.now.getTime() - task.startedAt.getTime()) / 60_000) : 0;
    const one: RemainingTask = {
      what: task.name,
      low: Math.min(likely, Math.max(0, task.leastMinutes * task.people - done)),
      likely,
      high: Math.max(likely, task.mostMinutes * task.people - done),
      cureMinutes: Math.max(0, task.cureMinutes - passed),
    };
    byJob.set(task.jobId, [...(byJob.get(task.jobId) ?? []), one]);
  }
  return byJob;
}

/** What a task will still cost: its hours at their value, and its cure in the space it takes. */
export function remainingCost(task: RemainingTask, hourlyValue: Decimal, spaceCostPerDay: Decimal, currency: string): RemainingCost {
  const space = roundAmount(spaceCostPerDay.times(task.cureMinutes).div(1440), currency);
  const of = (minutes: number) => labourValue(minutes, hourlyValue, currency).plus(space);
  return { what: task.what, low: of(task.low), likely: of(task.likely), high: of(task.high) };
}

/**
 * What the parts still needed will cost, by job id: at the bin's cost, the order's landed cost, or the price last paid
 * for such a part; one whose price nobody knows counts nothing. A core charge counts, for the job bears it until the old
 * part is sent back. Three statements.
 */
export async function neededPartsCost(call: Call, jobIds: string[]): Promise<Map<string, Decimal>> {
  const needs = await call.tx.partNeed.findMany({
    where: { usedOn: null, retiredAt: null, task: { jobId: { in: jobIds }, retiredAt: null } },
    select: { partId: true, quantity: true, orderLineId: true, orderLine: true, stock: { select: { unitCost: true } }, task: { select: { jobId: true } } },
  });
  const cores = await coresOf(call, [...new Set(needs.flatMap((need) => need.orderLineId ?? []))]);
  const lastPaid = await lastPrices(call, [...new Set(needs.map((need) => need.partId))]);
  const sums = new Map<string, Decimal>();
  for (const { partId, quantity, orderLineId, orderLine, stock, task } of needs) {
    const landed = orderLine && landedUnitCost(orderLine, cores.get(orderLineId!)?.refunded ?? new Decimal(0));
    // A bin keeps what a piece costs to four decimals.
    const each = stock ? figure(stock.unitCost) : (landed ?? lastPaid.get(partId) ?? new Decimal(0)).toDecimalPlaces(4, Decimal.ROUND_HALF_UP);
    sums.set(task.jobId, (sums.get(task.jobId) ?? new Decimal(0)).plus(each.times(figure(quantity))));
  }
  return sums;
}

/** Price and core charge of the latest line for each part, by part id. */
async function lastPrices(call: Call, partIds: string[]): Promise<Map<string, Decimal>> {
  if (partIds.length === 0) return new Map();
  const rows = await call.tx.$queryRaw<{ partId: string; price: { toString(): string } }[]>`
    SELECT DISTINCT ON ("partId") "partId", "unitPrice" + "coreCharge" AS price
    FROM "OrderLine" WHERE "partId" = ANY(${partIds}::uuid[]) ORDER BY "partId", "createdAt" DESC, id DESC`;
  return new Map(rows.map((row) => [row.partId, figure(row.price)]));
}

/** Taking a way out: everything that it implies, in the caller's transaction. */
import { writeEntry } from '../../ledger/ledger.operations.js';
import { allocate } from '../../engine/money/index.js';
import { checkAmount, figure } from '../../platform/money.js';
import type { Call, Presentable } from '../../platform/operation/operation.js';
import { settleJob } from '../../work/jobs.js';
import { taskToWorkOn } from '../../work/tasks.js';
import { harvest } from '../../stock/harvest.operations.js';
import { checkFree } from '../../purchasing/needs.operations.js';
import { placeOrder } from '../../purchasing/orders.js';
import type { Candidate, Shortage } from './candidates.js';
import { lock } from '../../platform/operation/rows.js';

/** What taking an option needs to be told beside the option itself. */
export interface Terms {
  unitPrice?: string | null | undefined;
  shippingCost?: string | null | undefined;
  taxCost?: string | null | undefined;
  promisedDay?: string | null | undefined;
  unitValue?: string | null | undefined;
  restValue?: string | null | undefined;
  bin?: string | null | undefined;
  reworkMinutes?: number | null | undefined;
  reworkCost?: string | null | undefined;
}

export interface Taken {
  /** The needs that were helped. */
  needIds: string[];
  /** The tasks that make or repair the part, in the order of the needs. */
  taskIds: string[];
}

/**
 * Makes an option so: the needs get their parts from the bin, the donor or the other supplier, or give way to tasks that
 * make them. A need that is met in part keeps what it has, and a need of its own stands for the rest.
 */
export async function take(call: Call, shortage: Shortage, option: Candidate, terms: Terms): Promise<Taken> {
  if (option.stockId) await lock(call, 'Stock', [option.stockId]);
  const needIds = await splitNeeds(call, shortage.needs);
  if (option.kind === 'rework') return { needIds: [], taskIds: await makeHere(call, shortage, needIds, terms) };
  if (option.kind === 'otherSupplier') {
    await placeOrder(call, {
      supplierId: option.supplierId,
      shippingCost: terms.shippingCost ?? '0',
      taxCost: terms.taxCost ?? '0',
      spreadMethod: 'byValue',
      lines: [
        {
          partId: shortage.part.id,
          quantity: shortage.quantity.toNumber(),
          unitPrice: terms.unitPrice,
          promisedDay: terms.promisedDay,
          partNeedIds: needIds,
        },
      ],
    });
    return { needIds, taskIds: [] };
  }
  const stockId = option.kind === 'donor' ? await takeOffDonor(call, shortage, option, terms) : option.stockId!;
  for (const needId of needIds) {
    const need = await call.tx.partNeed.findFirstOrThrow({ where: { id: needId } });
    // The option was found allowed, by a claim or by the rules for fasteners; what is left to see to is that it is free.
    await checkFree(call, stockId, { ...need, partId: option.partId! }, '/stockId');
    await call.tx.partNeed.update({
      where: { id: needId },
      data: { stockId, orderLineId: null, version: { increment: 1 } },
    });
  }
  return { needIds, taskIds: [] };
}

async function splitNeeds(call: Call, needs: readonly Presentable[]): Promise<string[]> {
  await lock(
    call,
    'PartNeed',
    needs.map((need) => need.id),
  );
  const missing: string[] = [];
  for (const need of needs) {
    if (need.quantityCovered.isZero()) {
      await call.tx.partNeed.update({
        where: { id: need.id },
        data: { stockId: null, orderLineId: null, version: { increment: 1 } },
      });
      missing.push(need.id);
      continue;
    }
    await call.tx.partNeed.update({
      where: { id: need.id },
      data: { quantity: need.quantityCovered.toString(), orderLineId: null, version: { increment: 1 } },
    });
    const rest = await call.tx.partNeed.create({
      data: {
        shopId: call.shop.id,
        taskId: need.taskId,
        partId: need.partId,
        quantity: figure(need.quantity).minus(need.quantityCovered).toString(),
      },
    });
    missing.push(rest.id);
  }
  return missing;
}

async function takeOffDonor(
  call: Call,
  { part, quantity }: Shortage,
  option: Candidate,
  terms: Terms,
): Promise<string> {
  const { stock } = await harvest(call, {
    machineId: option.machineId,
    restValue: terms.restValue,
    parts: [{ partId: part.id, quantity: quantity.toNumber(), unitValue: terms.unitValue, bin: terms.bin }],
  });
  return stock[0].id;
}

/**
 * A task before each that waits, for its share of the time; what the parts were to be is now work, so the needs go. The
 * material is charged to the jobs, shared out by quantity.
 */
async function makeHere(
  call: Call,
  { part, quantity }: Shortage,
  needIds: readonly string[],
  terms: Terms,
): Promise<string[]> {
  const material = checkAmount(terms.reworkCost ?? '0', call.shop.currency, '/reworkCost');
  const needs = await call.tx.partNeed.findMany({
    where: { id: { in: [...needIds] } },
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
  });
  const costs = allocate(
    material,
    needs.map((need) => figure(need.quantity)),
    call.shop.currency,
    'reworkCost',
  );
  const taskIds: string[] = [];
  for (const [index, need] of needs.entries()) {
    const { task, job } = await taskToWorkOn(call, need.taskId);
    const minutes = Math.ceil(figure(need.quantity).times(terms.reworkMinutes!).div(quantity).toNumber());
    const what = `${figure(need.quantity)} × ${part.name as string}`;
    const made = await call.tx.task.create({
      data: {
        shopId: call.shop.id,
        jobId: job.id,
        ...(await nextInJob(call, job.id)),
        name: `Make or repair ${what}`,
        kind: 'repair',
        handsOnMinutes: minutes,
        leastMinutes: minutes,
        mostMinutes: minutes,
        cautions: [],
      },
    });
    await call.tx.taskLink.create({
      data: {
        shopId: call.shop.id,
        taskId: task.id,
        predecessorId: made.id,
        leastWaitMinutes: 0,
        forbiddenMinutes: [],
        reason: `needs ${what}`,
      },
    });
    await settleJob(call, job.id);
    await call.tx.partNeed.update({ where: { id: need.id }, data: { retiredAt: call.now, version: { increment: 1 } } });
    if (costs[index]!.greaterThan(0)) {
      await writeEntry(call, {
        jobId: job.id,
        kind: 'part',
        amount: costs[index]!.toFixed(),
        occurredOn: call.today,
        description: `Material to make or repair ${what}`,
        sourceId: made.id,
      });
    }
    taskIds.push(made.id);
  }
  return taskIds;
}

/** A code that the job has not used, and the place after its last task. */
async function nextInJob(call: Call, jobId: string): Promise<{ code: string; position: number }> {
  const there = await call.tx.task.findMany({ where: { jobId }, select: { code: true, position: true } });
  let code = 'rework';
  for (let n = 2; there.some((task) => task.code === code); n += 1) code = `rework-${n}`;
  return { code, position: Math.max(0, ...there.map((task) => task.position)) + 1 };
}

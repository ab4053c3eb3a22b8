/** Taking a way out: everything that it implies, in the caller's transaction. */
import { at } from '../../engine/look-up.js';
import { allocate } from '../../engine/money/index.js';
import { writeEntry } from '../../ledger/ledger.operations.js';
import { Invalid } from '../../platform/errors.js';
import { checkAmount, toDecimal } from '../../platform/money.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { lock } from '../../platform/operation/rows.js';
import { checkFree } from '../../purchasing/needs.operations.js';
import { placeOrder } from '../../purchasing/orders.js';
import { harvest } from '../../stock/harvest.operations.js';
import { needOrder } from '../../stock/reservations.js';
import { settleJob } from '../../work/jobs.js';
import { taskToWorkOn } from '../../work/tasks.js';
import type { Candidate, Shortage } from './candidates.js';
import { reworkName, reworkShare } from './rework.js';

/** What taking an option needs to be told beside the option itself. */
export interface Terms {
  unitPrice?: string | null | undefined;
  shippingCost?: string | null | undefined;
  taxCost?: string | null | undefined;
  promisedDate?: string | null | undefined;
  unitValue?: string | null | undefined;
  restValue?: string | null | undefined;
  bin?: string | null | undefined;
  reworkMinutes?: number | null | undefined;
  reworkCost?: string | null | undefined;
}

interface Taken {
  /** The needs that were helped. */
  needIds: string[];
}

/**
 * Makes an option so: the needs get their parts from the bin, the donor or the other supplier, or give way to tasks that
 * make them. A need that is met in part keeps what it has, and a need of its own stands for the rest.
 */
export async function take(
  context: OperationContext,
  shortage: Shortage,
  option: Candidate,
  terms: Terms,
): Promise<Taken> {
  if (option.stockId) await lock(context, 'Stock', [option.stockId]);
  const needIds = await splitNeeds(context, shortage.needs);
  if (option.kind === 'rework') {
    await makeHere(context, shortage, needIds, terms);
    return { needIds: [] };
  }
  if (option.kind === 'otherSupplier') {
    await placeOrder(context, {
      supplierId: given(option.supplierId, '/supplierId'),
      shippingCost: terms.shippingCost ?? '0',
      taxCost: terms.taxCost ?? '0',
      spreadMethod: 'byValue',
      lines: [
        {
          partId: shortage.part.id,
          quantity: shortage.quantity.toNumber(),
          unitPrice: given(terms.unitPrice, '/unitPrice'),
          coreCharge: '0',
          promisedDate: terms.promisedDate,
          partNeedIds: needIds,
        },
      ],
    });
    return { needIds };
  }
  const stockId =
    option.kind === 'donor' ? await takeOffDonor(context, shortage, option, terms) : given(option.stockId, '/stockId');
  for (const needId of needIds) {
    const need = await context.tx.partNeed.findFirstOrThrow({ where: { id: needId } });
    // The option was found allowed, by a claim or by the rules for fasteners; what is left to see to is that it is free.
    await checkFree(context, stockId, { ...need, partId: given(option.partId, '/stockId') }, '/stockId');
    await context.tx.partNeed.update({
      where: { id: needId },
      data: { stockId, orderLineId: null, version: { increment: 1 } },
    });
  }
  return { needIds };
}

/** What an option of this kind must be told or name. @throws Invalid when it is not */
function given<T>(value: T | null | undefined, pointer: string): T {
  if (value === null || value === undefined) throw new Invalid([{ detail: 'is needed for this option', pointer }]);
  return value;
}

async function splitNeeds(context: OperationContext, needs: Shortage['needs']): Promise<string[]> {
  await lock(
    context,
    'PartNeed',
    needs.map((need) => need.id),
  );
  const missing: string[] = [];
  for (const need of needs) {
    if (need.quantityCovered.isZero()) {
      await context.tx.partNeed.update({
        where: { id: need.id },
        data: { stockId: null, orderLineId: null, version: { increment: 1 } },
      });
      missing.push(need.id);
      continue;
    }
    await context.tx.partNeed.update({
      where: { id: need.id },
      data: { quantity: need.quantityCovered.toString(), orderLineId: null, version: { increment: 1 } },
    });
    const rest = await context.tx.partNeed.create({
      data: {
        shopId: context.shop.id,
        taskId: need.taskId,
        partId: need.partId,
        quantity: toDecimal(need.quantity).minus(need.quantityCovered).toString(),
      },
    });
    missing.push(rest.id);
  }
  return missing;
}

async function takeOffDonor(
  context: OperationContext,
  { part, quantity }: Shortage,
  option: Candidate,
  terms: Terms,
): Promise<string> {
  const { stock } = await harvest(context, {
    machineId: given(option.machineId, '/machineId'),
    restValue: given(terms.restValue, '/restValue'),
    parts: [
      {
        partId: part.id,
        quantity: quantity.toNumber(),
        unitValue: given(terms.unitValue, '/unitValue'),
        bin: given(terms.bin, '/bin'),
      },
    ],
  });
  return at(stock, 0).id;
}

/**
 * A task before each that waits, for its share of the time; what the parts were to be is now work, so the needs go. The
 * material is charged to the jobs, shared out by quantity.
 */
async function makeHere(
  context: OperationContext,
  { part, quantity }: Shortage,
  needIds: readonly string[],
  terms: Terms,
): Promise<void> {
  const material = checkAmount(terms.reworkCost ?? '0', context.shop.currency, '/reworkCost');
  const needs = await context.tx.partNeed.findMany({
    where: { id: { in: [...needIds] } },
    orderBy: needOrder,
  });
  const costs = allocate(
    material,
    needs.map((need) => toDecimal(need.quantity)),
    context.shop.currency,
    'reworkCost',
  );
  for (const [index, need] of needs.entries()) {
    const { task, job } = await taskToWorkOn(context, need.taskId);
    const minutes = reworkShare(toDecimal(need.quantity), given(terms.reworkMinutes, '/reworkMinutes'), quantity);
    const what = `${toDecimal(need.quantity)} × ${part.name}`;
    const made = await context.tx.task.create({
      data: {
        shopId: context.shop.id,
        jobId: job.id,
        ...(await nextInJob(context, job.id)),
        name: reworkName(toDecimal(need.quantity), part.name),
        kind: 'repair',
        handsOnMinutes: minutes,
        minMinutes: minutes,
        maxMinutes: minutes,
        cautions: [],
      },
    });
    await context.tx.taskLink.create({
      data: {
        shopId: context.shop.id,
        taskId: task.id,
        predecessorId: made.id,
        minWaitMinutes: 0,
        forbiddenIntervals: [],
        reason: `needs ${what}`,
      },
    });
    await settleJob(context, job.id);
    await context.tx.partNeed.update({
      where: { id: need.id },
      data: { archivedAt: context.now, version: { increment: 1 } },
    });
    const cost = at(costs, index);
    if (cost.greaterThan(0)) {
      await writeEntry(context, {
        jobId: job.id,
        kind: 'part',
        amount: cost.toFixed(),
        occurredDate: context.today,
        description: `Material to make or repair ${what}`,
        cause: { taskId: made.id },
      });
    }
  }
}

/** A code that the job has not used, and the place after its last task. */
async function nextInJob(context: OperationContext, jobId: string): Promise<{ code: string; position: number }> {
  const there = await context.tx.task.findMany({ where: { jobId }, select: { code: true, position: true } });
  let code = 'rework';
  for (let n = 2; there.some((task) => task.code === code); n += 1) code = `rework-${n}`;
  return { code, position: Math.max(0, ...there.map((task) => task.position)) + 1 };
}

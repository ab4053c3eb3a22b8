import { z } from 'zod';
import { otherPart } from '../catalogue/kits.queries.js';
import { substituteVerdict } from '../catalogue/substitutes.queries.js';
import { at } from '../engine/look-up.js';
import { withCompletionEffects } from '../platform/completion/completion-effects.js';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { toDecimal } from '../platform/money.js';
import { asDate } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { command, type OperationContext, workers } from '../platform/operation/operation.js';
import { lock, requireActiveParts, requirePastDate } from '../platform/operation/rows.js';
import { changeRow, findOne, type Stored } from '../platform/operation/stored.js';
import { day, id, quantity, version } from '../platform/shapes.js';
import { completeStock } from '../stock/reservations.js';
import { addMovement } from '../stock/stock.operations.js';
import { PartNeed, PartNeedCreate, PartNeedStep } from '../stock/stock.shapes.js';
import { taskToWorkOn } from '../work/tasks.js';
import { completeNeeds } from './needs.queries.js';
import { checkRoom } from './orders.js';
import { chargePart, costOfTaking, uncharge } from './part-charges.js';

/** A need with its open job. */
export type OpenNeed = Stored<'partNeed'> & { job: Stored<'job'> };

/** Locks a need and gives it with its open job. @throws Conflict when it was used or archived, or the job is closed */
export async function openNeed(context: OperationContext, needId: string): Promise<OpenNeed> {
  await lock(context, 'PartNeed', [needId]);
  const need = await findOne(context.tx.partNeed, 'part need', needId);
  if (need.usedDate) throw new Conflict('already-used', 'This part has been used; take it back first.');
  if (need.archivedAt) throw new Conflict('archived', 'This need was taken back and is only kept for history.');
  return { ...need, job: (await taskToWorkOn(context, need.taskId)).job };
}

type Figure = { toString(): string };

/**
 * Is there enough in the bin that is held for nobody else? The bin must be locked, so that two tasks cannot both
 * find the last one free.
 * @throws NotFound, Invalid for another part's bin, Conflict when too few are free
 */
export async function checkFree(
  context: OperationContext,
  stockId: string,
  need: { partId: string; quantity: Figure },
  pointer: string,
): Promise<void> {
  const row = await context.tx.stock.findFirst({ where: { id: stockId, archivedAt: null } });
  if (!row) throw new NotFound('stock', stockId);
  if (row.partId !== need.partId && !(await substituteVerdict(context, row.partId, need.partId))) {
    throw new Invalid([
      { detail: 'that bin holds another part, and no interchange claim says that it serves', pointer },
    ]);
  }
  const stock = at(await completeStock(context, [row]), 0);
  const wanted = toDecimal(need.quantity);
  if (stock.quantityFree.lessThan(wanted)) {
    throw new Conflict(
      'not-free',
      `Only ${stock.quantityFree} in bin ${row.bin} are held for nobody, and ${wanted} are needed; take another bin or order more.`,
    );
  }
}

/** Does the order line bring this part, and enough of it beside what others expect? The line must be locked. */
async function checkLine(
  context: OperationContext,
  orderLineId: string,
  need: { partId: string; quantity: Figure },
): Promise<void> {
  const line = await findOne(context.tx.orderLine, 'order line', orderLineId);
  if (line.partId !== need.partId)
    throw new Invalid([
      { detail: await otherPart(context, line.partId, need.partId, 'line'), pointer: '/orderLineId' },
    ]);
  await checkRoom(context, line, toDecimal(need.quantity));
}

const stepOf = async (context: OperationContext, work: () => Promise<string>) => {
  const { result, effects } = await withCompletionEffects(context, work);
  const needs = await completeNeeds(context, [await findOne(context.tx.partNeed, 'part need', result)]);
  return { id: result, need: at(needs, 0), effects };
};

const idAndVersion = { id, version };
const step = { roles: workers, creates: false, output: PartNeedStep } as const;

export const needOperations = [
  ...crudOperations({
    name: 'partNeed',
    plural: 'partNeeds',
    table: 'partNeed',
    shape: PartNeed,
    filters: { taskId: id.nullish(), partId: id.nullish(), jobId: id.nullish(), orderLineId: id.nullish() },
    where: ({ jobId, taskId, partId, orderLineId }) => ({
      ...(taskId ? { taskId } : {}),
      ...(partId ? { partId } : {}),
      ...(orderLineId ? { orderLineId } : {}),
      ...(jobId ? { task: { jobId } } : {}),
    }),
    complete: completeNeeds,
  }),
  command({
    name: 'createPartNeed',
    summary: 'Say that a task needs a part, and where it is to come from if that is known',
    roles: workers,
    rest: { method: 'POST', path: '/part-needs', status: 201 },
    input: PartNeedCreate,
    output: PartNeedStep,
    run: (context, input) =>
      stepOf(context, async () => {
        await taskToWorkOn(context, input.taskId);
        await requireActiveParts(context, [input.partId]);
        if (input.stockId && input.orderLineId)
          throw new Invalid([
            { detail: 'a need comes from stock or from an order line, not from both', pointer: '/stockId' },
          ]);
        if (input.stockId) {
          await lock(context, 'Stock', [input.stockId]);
          await checkFree(context, input.stockId, input, '/stockId');
        }
        if (input.orderLineId) {
          await lock(context, 'OrderLine', [input.orderLineId]);
          await checkLine(context, input.orderLineId, input);
        }
        const { taskId, partId, stockId, orderLineId } = input;
        const made = await context.tx.partNeed.create({
          data: {
            shopId: context.shop.id,
            taskId,
            partId,
            quantity: input.quantity,
            stockId: stockId ?? null,
            orderLineId: orderLineId ?? null,
          },
        });
        return made.id;
      }),
  }),
  command({
    ...step,
    name: 'changePartNeed',
    summary: 'Change how many a task needs; a reserved need may only shrink',
    rest: { method: 'PATCH', path: '/part-needs/:id' },
    input: z.strictObject({ ...idAndVersion, quantity }),
    run: (context, input) =>
      stepOf(context, async () => {
        const need = await openNeed(context, input.id);
        if ((need.stockId || need.orderLineId) && toDecimal(need.quantity).lessThan(input.quantity)) {
          throw new Conflict(
            'reserved',
            'Parts are held or expected for this need; release them before you ask for more.',
          );
        }
        await changeRow(context.tx.partNeed, 'part need', input.id, input.version, { quantity: input.quantity });
        return input.id;
      }),
  }),
  command({
    ...step,
    name: 'reservePart',
    summary: 'Hold parts of a bin for a task',
    rest: { method: 'POST', path: '/part-needs/:id/reserve', status: 200 },
    input: z.strictObject({ ...idAndVersion, stockId: id }),
    run: (context, input) =>
      stepOf(context, async () => {
        await lock(context, 'Stock', [input.stockId]);
        const need = await openNeed(context, input.id);
        if (need.stockId)
          throw new Conflict('already-reserved', 'Parts are already held for this need; release them first.');
        await checkFree(context, input.stockId, need, '/stockId');
        await changeRow(context.tx.partNeed, 'part need', input.id, input.version, {
          stockId: input.stockId,
          orderLineId: null,
        });
        return input.id;
      }),
  }),
  command({
    ...step,
    name: 'allocatePart',
    summary: "Say which order line a task's part is to come from",
    rest: { method: 'POST', path: '/part-needs/:id/allocate', status: 200 },
    input: z.strictObject({ ...idAndVersion, orderLineId: id }),
    run: (context, input) =>
      stepOf(context, async () => {
        await lock(context, 'OrderLine', [input.orderLineId]);
        const need = await openNeed(context, input.id);
        if (need.stockId)
          throw new Conflict('already-reserved', 'Parts are already held for this need; release them first.');
        if (need.orderLineId === input.orderLineId) return input.id;
        await checkLine(context, input.orderLineId, need);
        await changeRow(context.tx.partNeed, 'part need', input.id, input.version, { orderLineId: input.orderLineId });
        return input.id;
      }),
  }),
  command({
    ...step,
    name: 'releasePart',
    summary: "Let go of what is held or expected for a task's need",
    rest: { method: 'POST', path: '/part-needs/:id/release', status: 200 },
    creates: false,
    input: z.strictObject(idAndVersion),
    run: (context, input) =>
      stepOf(context, async () => {
        await openNeed(context, input.id);
        await changeRow(context.tx.partNeed, 'part need', input.id, input.version, {
          stockId: null,
          orderLineId: null,
        });
        return input.id;
      }),
  }),
  command({
    ...step,
    name: 'usePart',
    summary: 'Fit the parts held for a need: they leave the bin, and the job bears their cost',
    rest: { method: 'POST', path: '/part-needs/:id/use', status: 200 },
    input: z.strictObject({
      ...idAndVersion,
      usedDate: day.nullish().meta({ scalar: 'Day', description: 'Today unless said.' }),
    }),
    run: (context, input) => stepOf(context, () => usePart(context, input)),
  }),
  command({
    ...step,
    name: 'returnPartToStock',
    summary:
      'Take a used part back into its bin: the cost is reversed on the job, and the part stays held for the need',
    rest: { method: 'POST', path: '/part-needs/:id/return-to-stock', status: 200 },
    creates: false,
    input: z.strictObject(idAndVersion),
    run: (context, input) => stepOf(context, () => returnPartToStock(context, input)),
  }),
  command({
    ...step,
    name: 'archivePartNeed',
    summary: 'Take back that a task needs a part; what was held for it is free again',
    rest: { method: 'DELETE', path: '/part-needs/:id' },
    input: z.strictObject(idAndVersion),
    run: (context, input) =>
      stepOf(context, async () => {
        await openNeed(context, input.id);
        await changeRow(context.tx.partNeed, 'part need', input.id, input.version, {
          archivedAt: context.now,
          stockId: null,
          orderLineId: null,
        });
        return input.id;
      }),
  }),
];

async function usePart(
  context: OperationContext,
  input: { id: string; version: number; usedDate?: string | null | undefined },
): Promise<string> {
  const { stockId } = await findOne(context.tx.partNeed, 'part need', input.id);
  if (stockId) await lock(context, 'Stock', [stockId]);
  const need = await openNeed(context, input.id);
  const complete = at(await completeNeeds(context, [need]), 0);
  if (stockId === null || need.stockId !== stockId || complete.status !== 'onHand') {
    throw new Conflict(
      'not-on-hand',
      `${complete.quantityCovered} of ${toDecimal(need.quantity)} are on hand for ` +
        `this need; reserve or receive the rest, or lower what is needed.`,
    );
  }
  const usedDate = requirePastDate(context, input.usedDate, '/usedDate');
  const stock = await context.tx.stock.findFirstOrThrow({
    where: { id: stockId },
    include: { part: { select: { name: true } } },
  });
  const wanted = toDecimal(need.quantity);
  const amount = await costOfTaking(context, stock, wanted);
  await changeRow(context.tx.partNeed, 'part need', input.id, input.version, { usedDate: asDate(usedDate) });
  await changeRow(context.tx.stock, 'stock', stock.id, stock.version, {
    quantity: toDecimal(stock.quantity).minus(wanted).toString(),
  });
  await addMovement(context, {
    stockId: stock.id,
    change: wanted.negated(),
    reason: 'used',
    taskId: need.taskId,
    movedDate: usedDate,
  });
  await chargePart(context, {
    jobId: need.job.id,
    amount,
    description: `${wanted} × ${stock.part.name}`,
    partNeedId: need.id,
    occurredDate: usedDate,
  });
  return input.id;
}

async function returnPartToStock(context: OperationContext, input: { id: string; version: number }): Promise<string> {
  const before = await findOne(context.tx.partNeed, 'part need', input.id);
  if (!before.usedDate || !before.stockId) throw new Conflict('not-used', 'This part has not been used.');
  await lock(context, 'Stock', [before.stockId]);
  await taskToWorkOn(context, before.taskId);
  await changeRow(context.tx.partNeed, 'part need', input.id, input.version, { usedDate: null });
  const stock = await context.tx.stock.findFirstOrThrow({ where: { id: before.stockId } });
  await changeRow(context.tx.stock, 'stock', stock.id, stock.version, {
    quantity: toDecimal(stock.quantity).plus(toDecimal(before.quantity)).toString(),
    archivedAt: null,
  });
  await addMovement(context, {
    stockId: stock.id,
    change: toDecimal(before.quantity),
    reason: 'returned',
    taskId: before.taskId,
  });
  await uncharge(context, before.id);
  return input.id;
}

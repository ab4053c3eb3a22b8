import { z } from 'zod';
import { withCompletionEffects } from '../platform/completion/completion-effects.js';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { figure } from '../platform/money.js';
import { derived } from '../platform/operation/derive.js';
import { type Call, command, type Presentable, workers } from '../platform/operation/operation.js';
import { asDate, changeRow, findOne, records } from '../platform/operation/crud-operations.js';
import { day, id } from '../platform/shapes.js';
import { taskToWorkOn } from '../work/tasks.js';
import { servesFor } from '../catalogue/substitutes.queries.js';
import { otherPart } from '../catalogue/kits.queries.js';
import { chargePart, costOfTaking, uncharge } from './part-charges.js';
import { completeNeeds, completeStock } from './needs.queries.js';
import { checkRoom } from './orders.js';
import { lock, needParts, pastDay } from '../platform/operation/rows.js';
import { addMovement } from '../stock/stock.operations.js';
import { PartNeed, PartNeedCreate, PartNeedStep, quantity, version } from '../stock/stock.shapes.js';

/** Locks a need and gives it with its open job. @throws Conflict when it was used or retired, or the job is closed */
export async function openNeed(call: Call, needId: string): Promise<Presentable> {
  await lock(call, 'PartNeed', [needId]);
  const need = await findOne(call.tx.partNeed, 'part need', needId);
  if (need.usedOn) throw new Conflict('already-used', 'This part has been used; take it back first.');
  if (need.retiredAt) throw new Conflict('retired', 'This need was taken back and is only kept for history.');
  return { ...need, job: (await taskToWorkOn(call, need.taskId)).job };
}

/**
 * Is there enough in the bin that is held for nobody else? The bin must be locked, so that two tasks cannot both
 * find the last one free.
 * @throws NotFound, Invalid for another part's bin, Conflict when too few are free
 */
export async function checkFree(
  call: Call,
  stockId: string,
  need: { id?: string; partId: string; quantity: unknown },
  pointer: string,
): Promise<void> {
  const row = await call.tx.stock.findFirst({ where: { id: stockId, retiredAt: null } });
  if (!row) throw new NotFound('stock', stockId);
  if (row.partId !== need.partId && !(await servesFor(call, row.partId, need.partId))) {
    throw new Invalid([
      { detail: 'that bin holds another part, and no interchange claim says that it serves', pointer },
    ]);
  }
  const [stock] = await completeStock(call, [row]);
  const wanted = figure(need.quantity as string);
  if (stock.quantityFree.lessThan(wanted)) {
    throw new Conflict(
      'not-free',
      `Only ${stock.quantityFree} in bin ${row.bin} are held for nobody, and ${wanted} are needed; take another bin or order more.`,
    );
  }
}

/** Does the order line bring this part, and enough of it beside what others expect? The line must be locked. */
async function checkLine(call: Call, orderLineId: string, need: { partId: string; quantity: unknown }): Promise<void> {
  const line = await findOne(call.tx.orderLine, 'order line', orderLineId);
  if (line.partId !== need.partId)
    throw new Invalid([{ detail: await otherPart(call, line.partId, need.partId, 'line'), pointer: '/orderLineId' }]);
  await checkRoom(call, line, figure(need.quantity as string));
}

const stepOf = (call: Call, work: () => Promise<string>): Promise<Presentable> =>
  withCompletionEffects(call, work).then(async ({ result, effects }) => ({
    id: result,
    need: (await completeNeeds(call, [await findOne(call.tx.partNeed, 'part need', result)]))[0],
    effects,
  }));

const idAndVersion = { id, version };
const step = { roles: workers, creates: false, output: PartNeedStep } as const;

export const needOperations = [
  ...derived(
    records({
      name: 'partNeed',
      plural: 'partNeeds',
      rows: (tx) => tx.partNeed,
      shape: PartNeed,
      filters: { taskId: id.nullish(), partId: id.nullish(), jobId: id.nullish(), orderLineId: id.nullish() },
      where: ({ jobId, ...columns }) => ({
        ...Object.fromEntries(
          ['taskId', 'partId', 'orderLineId'].filter((key) => columns[key]).map((key) => [key, columns[key]]),
        ),
        ...(jobId ? { task: { jobId } } : {}),
      }),
    }),
    completeNeeds,
  ),
  command({
    name: 'createPartNeed',
    summary: 'Say that a task needs a part, and where it is to come from if that is known',
    roles: workers,
    rest: { method: 'POST', path: '/part-needs', status: 201 },
    input: PartNeedCreate,
    output: PartNeedStep,
    run: (call, input) =>
      stepOf(call, async () => {
        await taskToWorkOn(call, input.taskId);
        await needParts(call, [input.partId]);
        if (input.stockId && input.orderLineId)
          throw new Invalid([
            { detail: 'a need comes from stock or from an order line, not from both', pointer: '/stockId' },
          ]);
        if (input.stockId) {
          await lock(call, 'Stock', [input.stockId]);
          await checkFree(call, input.stockId, input, '/stockId');
        }
        if (input.orderLineId) {
          await lock(call, 'OrderLine', [input.orderLineId]);
          await checkLine(call, input.orderLineId, input);
        }
        const { taskId, partId, stockId, orderLineId } = input;
        const made = await call.tx.partNeed.create({
          data: {
            shopId: call.shop.id,
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
    run: (call, input) =>
      stepOf(call, async () => {
        const need = await openNeed(call, input.id);
        if ((need.stockId || need.orderLineId) && figure(need.quantity).lessThan(input.quantity)) {
          throw new Conflict(
            'reserved',
            'Parts are held or expected for this need; release them before you ask for more.',
          );
        }
        await changeRow(call.tx.partNeed, 'part need', input.id, input.version, { quantity: input.quantity });
        return input.id;
      }),
  }),
  command({
    ...step,
    name: 'reservePart',
    summary: 'Hold parts of a bin for a task',
    rest: { method: 'POST', path: '/part-needs/:id/reservation', status: 200 },
    input: z.strictObject({ ...idAndVersion, stockId: id }),
    run: (call, input) =>
      stepOf(call, async () => {
        await lock(call, 'Stock', [input.stockId]);
        const need = await openNeed(call, input.id);
        if (need.stockId)
          throw new Conflict('already-reserved', 'Parts are already held for this need; release them first.');
        await checkFree(call, input.stockId, need, '/stockId');
        await changeRow(call.tx.partNeed, 'part need', input.id, input.version, {
          stockId: input.stockId,
          orderLineId: null,
        });
        return input.id;
      }),
  }),
  command({
    ...step,
    name: 'expectPart',
    summary: "Say which order line a task's part is to come from",
    rest: { method: 'POST', path: '/part-needs/:id/expectation', status: 200 },
    input: z.strictObject({ ...idAndVersion, orderLineId: id }),
    run: (call, input) =>
      stepOf(call, async () => {
        await lock(call, 'OrderLine', [input.orderLineId]);
        const need = await openNeed(call, input.id);
        if (need.stockId)
          throw new Conflict('already-reserved', 'Parts are already held for this need; release them first.');
        if (need.orderLineId === input.orderLineId) return input.id;
        await checkLine(call, input.orderLineId, need);
        await changeRow(call.tx.partNeed, 'part need', input.id, input.version, { orderLineId: input.orderLineId });
        return input.id;
      }),
  }),
  command({
    ...step,
    name: 'releasePart',
    summary: "Let go of what is held or expected for a task's need",
    rest: { method: 'DELETE', path: '/part-needs/:id/reservation' },
    input: z.strictObject(idAndVersion),
    run: (call, input) =>
      stepOf(call, async () => {
        await openNeed(call, input.id);
        await changeRow(call.tx.partNeed, 'part need', input.id, input.version, { stockId: null, orderLineId: null });
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
      usedOn: day.nullish().meta({ scalar: 'Day', description: 'Today unless said.' }),
    }),
    run: (call, input) => stepOf(call, () => usePart(call, input)),
  }),
  command({
    ...step,
    name: 'takeBackPart',
    summary:
      'Take a used part back into its bin: the cost is reversed on the job, and the part stays held for the need',
    rest: { method: 'DELETE', path: '/part-needs/:id/use' },
    input: z.strictObject(idAndVersion),
    run: (call, input) => stepOf(call, () => takeBackPart(call, input)),
  }),
  command({
    ...step,
    name: 'retirePartNeed',
    summary: 'Take back that a task needs a part; what was held for it is free again',
    rest: { method: 'DELETE', path: '/part-needs/:id' },
    input: z.strictObject(idAndVersion),
    run: (call, input) =>
      stepOf(call, async () => {
        await openNeed(call, input.id);
        await changeRow(call.tx.partNeed, 'part need', input.id, input.version, {
          retiredAt: call.now,
          stockId: null,
          orderLineId: null,
        });
        return input.id;
      }),
  }),
];

async function usePart(
  call: Call,
  input: { id: string; version: number; usedOn?: string | null | undefined },
): Promise<string> {
  const { stockId } = await findOne(call.tx.partNeed, 'part need', input.id);
  if (stockId) await lock(call, 'Stock', [stockId]);
  const need = await openNeed(call, input.id);
  const [complete] = await completeNeeds(call, [need]);
  if (need.stockId !== stockId || complete.standing !== 'onHand') {
    throw new Conflict(
      'not-on-hand',
      `${complete.quantityCovered} of ${figure(need.quantity)} are on hand for this need; reserve or receive the rest, or lower what is needed.`,
    );
  }
  const usedOn = pastDay(call, input.usedOn, '/usedOn');
  const stock = await call.tx.stock.findFirstOrThrow({
    where: { id: stockId },
    include: { part: { select: { name: true } } },
  });
  const wanted = figure(need.quantity);
  const amount = await costOfTaking(call, stock, wanted);
  await changeRow(call.tx.partNeed, 'part need', input.id, input.version, { usedOn: asDate(usedOn) });
  await changeRow(call.tx.stock, 'stock', stock.id, stock.version, {
    quantity: figure(stock.quantity).minus(wanted).toString(),
  });
  await addMovement(call, {
    stockId: stock.id,
    change: wanted.negated(),
    reason: 'used',
    taskId: need.taskId,
    movedOn: usedOn,
  });
  await chargePart(call, {
    jobId: need.job.id,
    amount,
    description: `${wanted} × ${stock.part.name}`,
    sourceId: need.id,
    occurredOn: usedOn,
  });
  return input.id;
}

async function takeBackPart(call: Call, input: { id: string; version: number }): Promise<string> {
  const before = await findOne(call.tx.partNeed, 'part need', input.id);
  if (!before.usedOn || !before.stockId) throw new Conflict('not-used', 'This part has not been used.');
  await lock(call, 'Stock', [before.stockId]);
  await taskToWorkOn(call, before.taskId);
  await changeRow(call.tx.partNeed, 'part need', input.id, input.version, { usedOn: null });
  const stock = await call.tx.stock.findFirstOrThrow({ where: { id: before.stockId } });
  await changeRow(call.tx.stock, 'stock', stock.id, stock.version, {
    quantity: figure(stock.quantity).plus(figure(before.quantity)).toString(),
    retiredAt: null,
  });
  await addMovement(call, {
    stockId: stock.id,
    change: figure(before.quantity),
    reason: 'returned',
    taskId: before.taskId,
  });
  await uncharge(call, before.id);
  return input.id;
}

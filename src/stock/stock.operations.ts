import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { at } from '../engine/look-up.js';
import { Conflict, Invalid } from '../platform/errors.js';
import { checkAmount, toDecimal } from '../platform/money.js';
import { asDate } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { command, type OperationContext, workers } from '../platform/operation/operation.js';
import { lock, requireActiveParts } from '../platform/operation/rows.js';
import { changeRow, findOne, type Stored } from '../platform/operation/stored.js';
import { id, text } from '../platform/shapes.js';
import { type CompleteStock, completeStock } from './reservations.js';
import {
  MovementReason,
  Stock,
  StockChange,
  StockCorrect,
  StockCount,
  StockCreate,
  StockMovement,
} from './stock.shapes.js';

export interface Movement {
  stockId: string;
  change: Decimal;
  reason: z.output<typeof MovementReason>;
  taskId?: string | null;
  movedDate?: string;
  note?: string | null | undefined;
}

/** Writes why a bin's quantity changed. */
export const addMovement = (
  context: OperationContext,
  { stockId, change, reason, taskId, movedDate, note }: Movement,
) =>
  context.tx.stockMovement.create({
    data: {
      shopId: context.shop.id,
      stockId,
      change: change.toString(),
      reason,
      taskId: taskId ?? null,
      movedDate: asDate(movedDate ?? context.today),
      note: note ?? null,
    },
  });

/** Puts parts into a bin as a row of their own. */
export async function putInBin(
  context: OperationContext,
  stock: {
    partId: string;
    bin: string;
    quantity: Decimal.Value;
    unitCost: Decimal;
    condition?: string | null | undefined;
    source: z.output<typeof Stock>['source'];
    harvestId?: string | undefined;
  },
  movement: Omit<Movement, 'stockId' | 'change'>,
): Promise<Stored<'stock'>> {
  const row = await context.tx.stock.create({
    data: {
      shopId: context.shop.id,
      partId: stock.partId,
      bin: stock.bin,
      quantity: stock.quantity.toString(),
      unitCost: stock.unitCost.toDecimalPlaces(4, Decimal.ROUND_HALF_UP).toString(),
      condition: stock.condition ?? null,
      source: stock.source,
      harvestId: stock.harvestId ?? null,
    },
  });
  await addMovement(context, { ...movement, stockId: row.id, change: new Decimal(stock.quantity) });
  return row;
}

/**
 * Takes from a bin or adds to it; the row must be locked.
 * @param refilledBy an order line that will bring the missing ones again: needs that wait for it give way
 * @throws Conflict when that would leave less than nothing, or less than is held for tasks
 */
export async function changeQuantity(
  context: OperationContext,
  row: Stored<'stock'>,
  version: number,
  change: Decimal,
  movement: Omit<Movement, 'stockId' | 'change'>,
  refilledBy?: string,
): Promise<void> {
  const after = toDecimal(row.quantity).plus(change);
  if (after.lessThan(0))
    throw new Conflict('not-in-stock', `There are only ${toDecimal(row.quantity)} in bin ${row.bin}.`);
  if (change.lessThan(0)) {
    const needs = await context.tx.partNeed.findMany({ where: { stockId: row.id, usedDate: null, archivedAt: null } });
    const firm = Decimal.min(
      toDecimal(row.quantity),
      Decimal.sum(
        0,
        ...needs
          .filter((need) => !refilledBy || need.orderLineId !== refilledBy)
          .map((need) => toDecimal(need.quantity)),
      ),
    );
    if (after.lessThan(firm))
      throw new Conflict(
        'reserved',
        `${firm} of bin ${row.bin} are held for tasks; release as many of them as are missing first.`,
      );
  }
  await changeRow(context.tx.stock, 'stock', row.id, version, { quantity: after.toString() });
  if (!change.isZero()) await addMovement(context, { ...movement, stockId: row.id, change });
}

const lockedStock = async (context: OperationContext, stockId: string): Promise<Stored<'stock'>> => {
  await lock(context, 'Stock', [stockId]);
  return findOne(context.tx.stock, 'stock', stockId);
};
const completeOne = async (context: OperationContext, stockId: string): Promise<CompleteStock> =>
  at(await completeStock(context, [await findOne(context.tx.stock, 'stock', stockId)]), 0);

export const stockOperations = [
  ...crudOperations({
    name: 'stock',
    plural: 'stocks',
    path: '/stock',
    what: 'stock in a bin',
    table: 'stock',
    shape: Stock,
    create: StockCreate,
    change: StockChange,
    writers: workers,
    filters: {
      partId: id.nullish(),
      bin: text(60).nullish(),
      emptyToo: z.boolean().nullish().meta({ description: 'Also bins that were used up.' }),
    },
    where: ({ partId, bin, emptyToo }) => ({
      ...(partId ? { partId } : {}),
      ...(bin ? { bin } : {}),
      ...(emptyToo ? {} : { quantity: { gt: 0 } }),
    }),
    sorts: ['bin', 'createdAt'],
    async onCreate(context, input) {
      await requireActiveParts(context, [input.partId]);
      const unitCost = checkAmount(input.unitCost, context.shop.currency, '/unitCost');
      return putInBin(context, { ...input, unitCost, source: 'found' }, { reason: 'counted', note: input.note });
    },
    async onArchive(_call, before) {
      if (toDecimal(before.quantity).greaterThan(0))
        throw new Conflict('not-empty', 'There is still something in this bin; count or discard it first.');
    },
    complete: completeStock,
  }),
  command({
    name: 'countStock',
    summary: 'Record what a count of a bin found',
    roles: workers,
    rest: { method: 'POST', path: '/stock/:id/count', status: 200 },
    creates: false,
    input: StockCount,
    output: Stock,
    async run(context, input) {
      const row = await lockedStock(context, input.id);
      await changeQuantity(context, row, input.version, new Decimal(input.quantity).minus(toDecimal(row.quantity)), {
        reason: 'counted',
        note: input.note,
      });
      return completeOne(context, input.id);
    },
  }),
  command({
    name: 'correctStock',
    summary: 'Add to a bin or take from it, saying why',
    roles: workers,
    rest: { method: 'POST', path: '/stock/:id/correct', status: 200 },
    creates: false,
    input: StockCorrect,
    output: Stock,
    async run(context, input) {
      const change = new Decimal(input.change);
      if (change.isZero()) throw new Invalid([{ detail: 'must not be nothing', pointer: '/change' }]);
      if (input.reason === 'discarded' && change.greaterThan(0))
        throw new Invalid([{ detail: 'what is discarded is taken away: give a negative change', pointer: '/change' }]);
      const row = await lockedStock(context, input.id);
      await changeQuantity(context, row, input.version, change, { reason: input.reason, note: input.note });
      return completeOne(context, input.id);
    },
  }),
  ...crudOperations({
    name: 'stockMovement',
    plural: 'stockMovements',
    table: 'stockMovement',
    shape: StockMovement,
    archives: false,
    filters: { stockId: id.nullish(), taskId: id.nullish(), reason: MovementReason.nullish() },
    standardSort: '-createdAt',
  }),
];

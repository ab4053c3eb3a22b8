import { MachineKind } from '../machines/machines.shapes.js';
import { Invalid } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import { asColumns, asDate, asDay, records } from '../platform/operation/crud-operations.js';
import type { OperationContext, Presentable } from '../platform/operation/operation.js';
import { day, text } from '../platform/shapes.js';
import { Comparable, ComparableChange, ComparableCreate, PriceKind } from './resale.shapes.js';

function checkComparable(context: OperationContext, columns: { price?: unknown; seenDate?: unknown }): void {
  if (
    columns.price !== undefined &&
    !checkAmount(String(columns.price), context.shop.currency, '/price').greaterThan(0)
  ) {
    throw new Invalid([{ detail: 'must be above zero', pointer: '/price' }]);
  }
  const seenDate = columns.seenDate instanceof Date ? asDay(columns.seenDate) : columns.seenDate;
  if (typeof seenDate === 'string' && seenDate > context.today)
    throw new Invalid([{ detail: 'lies in the future', pointer: '/seenDate' }]);
}

export const comparableOperations = records({
  name: 'comparable',
  plural: 'comparables',
  rows: (tx) => tx.comparable,
  shape: Comparable,
  create: ComparableCreate,
  change: ComparableChange,
  filters: {
    kind: MachineKind.nullish(),
    maker: text(80).nullish(),
    priceKind: PriceKind.nullish(),
    seenFrom: day.nullish(),
  },
  where: ({ seenFrom, ...columns }) => ({
    ...Object.fromEntries(
      Object.entries(columns).filter(
        ([key, value]) => ['kind', 'maker', 'priceKind'].includes(key) && value !== null && value !== undefined,
      ),
    ),
    ...(seenFrom ? { seenDate: { gte: asDate(seenFrom as string) } } : {}),
  }),
  sorts: ['seenDate', 'price', 'createdAt'],
  standardSort: '-seenDate',
  async onCreate(context: OperationContext, input: Presentable) {
    checkComparable(context, input);
    return context.tx.comparable.create({
      data: { shopId: context.shop.id, ...asColumns(ComparableCreate, input) } as never,
    });
  },
  async onChange(context, _before, columns) {
    checkComparable(context, columns);
    return columns;
  },
});

import { MachineKind } from '../machines/machines.shapes.js';
import { Invalid } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { asColumns, asDate, asDay, records } from '../platform/operation/crud-operations.js';
import { day, text } from '../platform/shapes.js';
import { Comparable, ComparableChange, ComparableCreate, PriceKind } from './resale.shapes.js';

function checkComparable(call: Call, columns: { price?: unknown; seenOn?: unknown }): void {
  if (columns.price !== undefined && !checkAmount(String(columns.price), call.shop.currency, '/price').greaterThan(0)) {
    throw new Invalid([{ detail: 'must be above zero', pointer: '/price' }]);
  }
  const seenOn = columns.seenOn instanceof Date ? asDay(columns.seenOn) : columns.seenOn;
  if (typeof seenOn === 'string' && seenOn > call.today)
    throw new Invalid([{ detail: 'lies in the future', pointer: '/seenOn' }]);
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
    ...(seenFrom ? { seenOn: { gte: asDate(seenFrom as string) } } : {}),
  }),
  sorts: ['seenOn', 'price', 'createdAt'],
  standardSort: '-seenOn',
  async onCreate(call: Call, input: Presentable) {
    checkComparable(call, input);
    return call.tx.comparable.create({
      data: { shopId: call.shop.id, ...asColumns(ComparableCreate, input) } as never,
    });
  },
  async onChange(call, _before, columns) {
    checkComparable(call, columns);
    return columns;
  },
});

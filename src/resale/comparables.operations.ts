import type { z } from 'zod';
import { type MachineTraits, surpriseOf } from '../engine/price/index.js';
import { MachineKind } from '../machines/machines.shapes.js';
import { daysBetween } from '../platform/days.js';
import { Invalid } from '../platform/errors.js';
import { checkAmount, toDecimal } from '../platform/money.js';
import { asColumns, asDate, asDay } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { day, text } from '../platform/shapes.js';
import { marketModelOf } from './market.js';
import { readMarket, traitsOf } from './market.queries.js';
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

const equipmentRows = (given: z.output<typeof ComparableCreate>['equipment'] | undefined) =>
  (given ?? []).map((one) => ({ name: one.name, status: one.status, note: one.note ?? null }));

type Entered = Omit<MachineTraits, 'equipmentBalance'> & {
  equipment: unknown;
  priceKind: 'asking' | 'sold';
  price: { toString(): string };
  seenDate: string;
};

/** Seen again within so many days at nearly the same price, it is likely the same machine. */
const SAME_WITHIN_DAYS = 21;
const SAME_PRICE = 0.01;
/** A price so many standard deviations from what the others say is odd, once there are enough of them. */
const FAR = 3;
const ENOUGH = 6;

/** What seems odd about a comparable: it is said when it is recorded, and it counts all the same. */
async function oddities(context: OperationContext, entered: Entered, ownId?: string): Promise<string[]> {
  const market = await readMarket(context);
  const others = market.comparables.filter((one) => one.kind === entered.kind && one.id !== ownId);
  const price = Number(entered.price);
  const twin = others.find(
    (one) =>
      one.maker?.trim().toLowerCase() === entered.maker?.trim().toLowerCase() &&
      (one.model ?? '').trim().toLowerCase() === (entered.model ?? '').trim().toLowerCase() &&
      one.priceKind === entered.priceKind &&
      Math.abs(Number(one.price) / price - 1) <= SAME_PRICE &&
      Math.abs(daysBetween(one.seenDate, entered.seenDate)) <= SAME_WITHIN_DAYS,
  );
  const warnings = twin
    ? [
        `A ${entered.maker ?? 'machine'} at ${Number(twin.price)} was seen on ` +
          `${twin.seenDate} already; archive this one if it is the same machine.`,
      ]
    : [];
  if (others.length < ENOUGH) return warnings;
  const model = marketModelOf({ ...market, comparables: others }, entered.kind);
  const deviations = surpriseOf(model, {
    // Its equipment has been brought into the form of the stored column.
    ...traitsOf(entered as never),
    priceKind: entered.priceKind,
    price: toDecimal(entered.price),
    seenDate: entered.seenDate,
  });
  if (Math.abs(deviations) > FAR)
    warnings.push(
      `The price is far ${deviations > 0 ? 'above' : 'below'} what ${others.length} others lead one to ` +
        `expect (${Math.abs(deviations).toFixed(1)} standard deviations); check it for a slip.`,
    );
  return warnings;
}

export const comparableOperations = crudOperations({
  name: 'comparable',
  plural: 'comparables',
  table: 'comparable',
  shape: Comparable,
  create: ComparableCreate,
  change: ComparableChange,
  filters: {
    kind: MachineKind.nullish(),
    maker: text(80).nullish(),
    priceKind: PriceKind.nullish(),
    seenFrom: day.nullish(),
  },
  where: ({ kind, maker, priceKind, seenFrom }) => ({
    ...(kind ? { kind } : {}),
    ...(maker ? { maker } : {}),
    ...(priceKind ? { priceKind } : {}),
    ...(seenFrom ? { seenDate: { gte: asDate(seenFrom) } } : {}),
  }),
  sorts: ['seenDate', 'price', 'createdAt'],
  standardSort: '-seenDate',
  async onCreate(context, input) {
    checkComparable(context, input);
    const equipment = equipmentRows(input.equipment);
    return context.tx.comparable.create({
      data: {
        shopId: context.shop.id,
        ...asColumns(ComparableCreate, input),
        equipment,
        warnings: await oddities(context, { ...input, equipment } as Entered),
      },
    });
  },
  async onChange(context, before, columns) {
    checkComparable(context, columns);
    if (columns.equipment) columns.equipment = equipmentRows(columns.equipment);
    const after = { ...before, ...columns };
    return {
      ...columns,
      warnings: await oddities(
        context,
        { ...after, seenDate: after.seenDate instanceof Date ? asDay(after.seenDate) : after.seenDate } as Entered,
        before.id,
      ),
    };
  },
});

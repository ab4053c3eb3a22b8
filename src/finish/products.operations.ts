/** Coating products and the systems built of them. */
import { type Fault, Invalid } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import { asColumns } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { findOne } from '../platform/operation/stored.js';
import { text } from '../platform/shapes.js';
import {
  CoatingProduct,
  CoatingProductChange,
  CoatingProductCreate,
  CoatingSystem,
  CoatingSystemChange,
  CoatingSystemCreate,
  CoatRole,
} from './finish.shapes.js';
import { requireRecoatWindows, withRecoatWindows, writeRecoatTable, writeRecoatWindows } from './recoat-windows.js';

/** What one field's own check cannot see: limits and stages in their order. */
const stages = ['touchMinutes', 'handleMinutes', 'assembleMinutes', 'fullMinutes'] as const;
type Figure = { toString(): string } | number;
function checkProduct(
  product: Record<'minCelsius' | 'maxCelsius' | 'referenceCelsius', Figure> & Record<(typeof stages)[number], number>,
): void {
  const validationErrors: Fault[] = [];
  if (Number(product.minCelsius) >= Number(product.maxCelsius))
    validationErrors.push({ detail: 'must be warmer than minCelsius', pointer: '/maxCelsius' });
  if (
    Number(product.referenceCelsius) < Number(product.minCelsius) ||
    Number(product.referenceCelsius) > Number(product.maxCelsius)
  ) {
    validationErrors.push({ detail: 'must lie between minCelsius and maxCelsius', pointer: '/referenceCelsius' });
  }
  stages.forEach((stage, index) => {
    const earlier = stages[index - 1];
    if (earlier && product[stage] < product[earlier])
      validationErrors.push({ detail: `must not come before ${earlier}`, pointer: `/${stage}` });
  });
  if (validationErrors.length > 0) throw new Invalid(validationErrors);
}

const productOperations = crudOperations({
  name: 'coatingProduct',
  plural: 'coatingProducts',
  table: 'coatingProduct',
  include: withRecoatWindows,
  shape: CoatingProduct,
  create: CoatingProductCreate,
  change: CoatingProductChange,
  filters: { role: CoatRole.nullish(), family: text(60).nullish() },
  sorts: ['name', 'createdAt'],
  async onCreate(context, input) {
    checkProduct(input);
    checkAmount(input.containerPrice, context.shop.currency, '/containerPrice');
    const { recoatMinutes, recoatTable, ...columns } = asColumns(CoatingProductCreate, input);
    const windows = requireRecoatWindows(recoatMinutes, recoatTable, input.referenceCelsius);
    const { id } = await context.tx.coatingProduct.create({ data: { shopId: context.shop.id, ...columns } });
    await writeRecoatWindows(context, id, windows);
    await writeRecoatTable(context, id, recoatTable);
    return findOne(context.tx.coatingProduct, 'coating product', id, withRecoatWindows);
  },
  async onChange(context, before, { recoatMinutes, recoatTable, ...columns }) {
    if (recoatMinutes || recoatTable) {
      const stored = before.recoatTable.map((row) => ({
        ...row,
        minCelsius: Number(row.minCelsius),
        maxCelsius: Number(row.maxCelsius),
      }));
      // A new table brings its own windows at reference, unless they are sent with it.
      const windows = recoatMinutes ?? (recoatTable && recoatTable.length > 0 ? undefined : before.recoatMinutes);
      const reference = Number(columns.referenceCelsius ?? before.referenceCelsius);
      await writeRecoatWindows(context, before.id, requireRecoatWindows(windows, recoatTable ?? stored, reference));
    }
    if (recoatTable) await writeRecoatTable(context, before.id, recoatTable);
    checkProduct({ ...before, ...columns });
    if (columns.containerPrice !== undefined)
      checkAmount(columns.containerPrice, context.shop.currency, '/containerPrice');
    return columns;
  },
});

/** A system's coats from the metal outward, always fetched with it. */
export const withCoats = { coats: { orderBy: { position: 'asc' as const } } };

interface SystemCoatInput {
  productId: string;
  dryFilmMicrometres?: number | null | undefined;
}

async function writeCoats(context: OperationContext, systemId: string, coats: SystemCoatInput[]): Promise<void> {
  const known = await context.tx.coatingProduct.findMany({
    where: { id: { in: coats.map((coat) => coat.productId) } },
    select: { id: true },
  });
  const ids = new Set(known.map((product) => product.id));
  const validationErrors = coats.flatMap((coat, index) =>
    ids.has(coat.productId)
      ? []
      : [{ detail: `there is no coating product with id ${coat.productId}`, pointer: `/coats/${index}/productId` }],
  );
  if (validationErrors.length > 0) throw new Invalid(validationErrors);
  await context.tx.systemCoat.deleteMany({ where: { systemId } });
  await context.tx.systemCoat.createMany({
    data: coats.map((coat, index) => ({
      shopId: context.shop.id,
      systemId,
      position: index + 1,
      productId: coat.productId,
      dryFilmMicrometres: coat.dryFilmMicrometres ?? null,
    })),
  });
}

const systemOperations = crudOperations({
  name: 'coatingSystem',
  plural: 'coatingSystems',
  table: 'coatingSystem',
  shape: CoatingSystem,
  create: CoatingSystemCreate,
  change: CoatingSystemChange,
  sorts: ['name', 'createdAt'],
  include: withCoats,
  async onCreate(context, input) {
    const made = await context.tx.coatingSystem.create({
      data: { shopId: context.shop.id, name: input.name, notes: input.notes ?? null },
    });
    await writeCoats(context, made.id, input.coats);
    return context.tx.coatingSystem.findUniqueOrThrow({ where: { id: made.id }, include: withCoats });
  },
  // The coats sent replace all there were; should the version turn out to be outdated, the transaction undoes it.
  async onChange(context, before, { coats, ...columns }) {
    if (coats) await writeCoats(context, before.id, coats);
    return columns;
  },
});

export const coatingOperations = [...productOperations, ...systemOperations];

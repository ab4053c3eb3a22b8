/** Coating products and the systems built of them. */
import { type Fault, Invalid } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { asColumns, records } from '../platform/operation/crud-operations.js';
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

/** What one field's own check cannot see: limits and stages in their order. */
function checkProduct(product: Presentable): void {
  const faults: Fault[] = [];
  if (Number(product.leastCelsius) >= Number(product.mostCelsius))
    faults.push({ detail: 'must be warmer than leastCelsius', pointer: '/mostCelsius' });
  if (
    Number(product.referenceCelsius) < Number(product.leastCelsius) ||
    Number(product.referenceCelsius) > Number(product.mostCelsius)
  ) {
    faults.push({ detail: 'must lie between leastCelsius and mostCelsius', pointer: '/referenceCelsius' });
  }
  const stages = ['touchMinutes', 'handleMinutes', 'assembleMinutes', 'fullMinutes'];
  stages.forEach((stage, index) => {
    const earlier = stages[index - 1];
    if (earlier && product[stage] < product[earlier])
      faults.push({ detail: `must not come before ${earlier}`, pointer: `/${stage}` });
  });
  if (faults.length > 0) throw new Invalid(faults);
}

const productOperations = records({
  name: 'coatingProduct',
  plural: 'coatingProducts',
  rows: (tx) => tx.coatingProduct,
  shape: CoatingProduct,
  create: CoatingProductCreate,
  change: CoatingProductChange,
  filters: { role: CoatRole.nullish(), family: text(60).nullish() },
  sorts: ['name', 'createdAt'],
  async onCreate(call, input) {
    checkProduct(input);
    checkAmount(input.containerPrice, call.shop.currency, '/containerPrice');
    return call.tx.coatingProduct.create({
      data: { shopId: call.shop.id, ...asColumns(CoatingProductCreate, input) } as never,
    });
  },
  async onChange(call, before, columns) {
    checkProduct({ ...before, ...columns });
    if (columns.containerPrice !== undefined)
      checkAmount(columns.containerPrice as string, call.shop.currency, '/containerPrice');
    return columns;
  },
});

/** A system's coats from the metal outward, always fetched with it. */
export const withCoats = { coats: { orderBy: { position: 'asc' as const } } };

interface SystemCoatInput {
  productId: string;
  dryFilmMicrometres?: number | null;
}

async function writeCoats(call: Call, systemId: string, coats: SystemCoatInput[]): Promise<void> {
  const known = await call.tx.coatingProduct.findMany({
    where: { id: { in: coats.map((coat) => coat.productId) } },
    select: { id: true },
  });
  const ids = new Set(known.map((product) => product.id));
  const faults = coats.flatMap((coat, index) =>
    ids.has(coat.productId)
      ? []
      : [{ detail: `there is no coating product with id ${coat.productId}`, pointer: `/coats/${index}/productId` }],
  );
  if (faults.length > 0) throw new Invalid(faults);
  await call.tx.systemCoat.deleteMany({ where: { systemId } });
  await call.tx.systemCoat.createMany({
    data: coats.map((coat, index) => ({
      shopId: call.shop.id,
      systemId,
      position: index + 1,
      productId: coat.productId,
      dryFilmMicrometres: coat.dryFilmMicrometres ?? null,
    })),
  });
}

const systemOperations = records({
  name: 'coatingSystem',
  plural: 'coatingSystems',
  rows: (tx) => tx.coatingSystem,
  shape: CoatingSystem,
  create: CoatingSystemCreate,
  change: CoatingSystemChange,
  sorts: ['name', 'createdAt'],
  include: withCoats,
  async onCreate(call, input) {
    const made = await call.tx.coatingSystem.create({
      data: { shopId: call.shop.id, name: input.name, notes: input.notes ?? null },
    });
    await writeCoats(call, made.id, input.coats);
    return call.tx.coatingSystem.findUniqueOrThrow({ where: { id: made.id }, include: withCoats });
  },
  // The coats sent replace all there were; should the version turn out to be outdated, the transaction undoes it.
  async onChange(call, before, { coats, ...columns }) {
    if (coats) await writeCoats(call, before.id, coats as SystemCoatInput[]);
    return columns;
  },
});

export const coatingOperations = [...productOperations, ...systemOperations];

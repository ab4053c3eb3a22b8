import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { kitOf, kitQuery } from '../catalogue/kits.queries.js';
import { Kit, KitSet, KitUnpack } from '../catalogue/kits.shapes.js';
import { findCycle } from '../engine/graph.js';
import { at, lookUp } from '../engine/look-up.js';
import { allocateEqually, harvestBasis, roundAmount } from '../engine/money/index.js';
import { withCompletionEffects } from '../platform/completion/completion-effects.js';
import { Conflict, Invalid, Refused } from '../platform/errors.js';
import { checkAmount, toDecimal } from '../platform/money.js';
import { command, type OperationContext, workers } from '../platform/operation/operation.js';
import { lock, requireActiveParts } from '../platform/operation/rows.js';
import { changeRow, findOne, type Stored } from '../platform/operation/stored.js';
import { id, version } from '../platform/shapes.js';
import { completeStock } from '../stock/reservations.js';
import { changeQuantity, putInBin } from '../stock/stock.operations.js';
import { KitNeedExpanded, KitUnpacked } from './kit-steps.shapes.js';
import { type OpenNeed, openNeed } from './needs.operations.js';
import { type CompleteNeed, completeNeeds } from './needs.queries.js';

async function setKit(context: OperationContext, { id: kitId, version: read, contents }: z.output<typeof KitSet>) {
  // Told one at a time, so that two changes cannot close a circle between them.
  await context.tx.$queryRaw`select pg_advisory_xact_lock(hashtextextended(${`kits ${context.shop.id}`}, 0))::text`;
  await requireActiveParts(context, [kitId]);
  await requireActiveParts(
    context,
    contents.map((one) => one.partId),
  );
  for (const [index, one] of contents.entries()) {
    if (contents.findIndex((other) => other.partId === one.partId) !== index)
      throw new Invalid([{ detail: 'stands in the list already', pointer: `/contents/${index}/partId` }]);
    await refuseCircle(context, kitId, one.partId, `/contents/${index}/partId`);
  }
  await changeRow(context.tx.part, 'part', kitId, read, {});
  await context.tx.kitPart.deleteMany({ where: { kitId } });
  await context.tx.kitPart.createMany({
    data: contents.map((one, index) => ({
      shopId: context.shop.id,
      kitId,
      ...one,
      position: index + 1,
    })),
  });
  return { id: kitId, ...(await kitOf(context, kitId)) };
}

/** @throws Invalid naming the way by which a kit would hold itself */
async function refuseCircle(context: OperationContext, kitId: string, partId: string, pointer: string): Promise<void> {
  const rows = await context.tx.kitPart.findMany({ select: { kitId: true, partId: true } });
  const cycle = findCycle([[kitId, partId] as const, ...rows.map((row) => [row.kitId, row.partId] as const)]);
  if (!cycle) return;
  const names = new Map(
    (await context.tx.part.findMany({ where: { id: { in: cycle } }, select: { id: true, name: true } })).map((part) => [
      part.id,
      part.name,
    ]),
  );
  throw new Invalid(
    [{ detail: `the kit would hold itself: ${cycle.map((one) => names.get(one)).join(' → ')}`, pointer }],
    'kit-circle',
  );
}

/** @throws Refused when the part is no kit */
async function contentsOf(
  context: OperationContext,
  partId: string,
): Promise<{ partId: string; partName: string; quantity: Decimal }[]> {
  const { contents } = await kitOf(context, partId);
  if (contents.length === 0)
    throw new Refused('not-a-kit', 'That part consists of no others; say first what is in the kit.');
  return contents;
}

/** The needs for a kit's parts in place of one for the kit. @param bins by part, what they hold at once */
async function replaceNeed(
  context: OperationContext,
  need: OpenNeed,
  contents: readonly { partId: string; quantity: Decimal }[],
  bins?: ReadonlyMap<string, string>,
): Promise<string[]> {
  await context.tx.partNeed.update({
    where: { id: need.id },
    data: { archivedAt: context.now, stockId: null, orderLineId: null, version: { increment: 1 } },
  });
  const made: string[] = [];
  for (const [index, one] of contents.entries()) {
    const row = await context.tx.partNeed.create({
      data: {
        shopId: context.shop.id,
        taskId: need.taskId,
        partId: one.partId,
        quantity: one.quantity.times(toDecimal(need.quantity)).toDecimalPlaces(3, Decimal.ROUND_UP).toString(),
        stockId: bins?.get(one.partId) ?? null,
        position: index + 1,
      },
    });
    made.push(row.id);
  }
  return made;
}

const needsByIds = async (context: OperationContext, ids: readonly string[]): Promise<CompleteNeed[]> => {
  const needs = await completeNeeds(context, await context.tx.partNeed.findMany({ where: { id: { in: [...ids] } } }));
  const byId = new Map(needs.map((need) => [need.id, need]));
  return ids.map((one) => lookUp(byId, one));
};

async function expandNeed(context: OperationContext, input: { id: string; version: number }): Promise<string[]> {
  const need = await openNeed(context, input.id);
  if (need.stockId || need.orderLineId)
    throw new Conflict(
      'reserved',
      'Kits are held or expected for this need; release them first, or name the need when the kit is unpacked.',
    );
  const contents = await contentsOf(context, need.partId);
  await changeRow(context.tx.partNeed, 'part need', input.id, input.version, {});
  return replaceNeed(context, need, contents);
}

/**
 * Takes kits apart. Their cost goes with the parts, by what each is worth or the same to each kind, to the minor unit
 * (largest remainder). Several unpackings of one bin together move what the kits cost, however they follow.
 */
async function unpack(
  context: OperationContext,
  input: z.output<typeof KitUnpack>,
): Promise<{ parts: Stored<'stock'>[]; needIds: string[] }> {
  await lock(context, 'Stock', [input.id]);
  const row = await findOne(context.tx.stock, 'stock', input.id);
  const contents = await contentsOf(context, row.partId);
  const given = checkParts(input.parts, contents);
  const quantities = contents.map((one) => one.quantity.times(input.quantity));
  const basis = await basisOf(context, row, new Decimal(input.quantity));
  const shares = splitBasis(context, basis, given, quantities);
  const needs = await needsOnKits(context, input);
  // The needs give the kits up before these leave the bin: nothing else may be held there.
  for (const need of needs) await context.tx.partNeed.update({ where: { id: need.id }, data: { stockId: null } });
  await changeQuantity(context, row, input.version, new Decimal(input.quantity).negated(), {
    reason: 'unpacked',
    note: input.note,
  });
  const parts: Stored<'stock'>[] = [];
  for (const [index, one] of contents.entries()) {
    const quantity = at(quantities, index);
    const { bin, condition } = at(given, index);
    if (quantity.decimalPlaces() > 3)
      throw new Invalid([
        { detail: `would make ${quantity} × ${one.partName}, finer than thousandths`, pointer: '/quantity' },
      ]);
    parts.push(
      await putInBin(
        context,
        {
          partId: one.partId,
          bin,
          condition: condition ?? row.condition,
          quantity,
          unitCost: at(shares, index).div(quantity),
          source: row.source,
          harvestId: row.harvestId ?? undefined,
        },
        { reason: 'unpacked', note: input.note },
      ),
    );
  }
  const bins = new Map(parts.map((stock) => [stock.partId, stock.id]));
  const needIds: string[] = [];
  for (const need of needs) needIds.push(...(await replaceNeed(context, need, contents, bins)));
  return { parts, needIds };
}

type Given = z.output<typeof KitUnpack>['parts'][number];

/**
 * What was given of each part of the kit, in the kit's order.
 * @throws Invalid for one that is missing, double, foreign, or valued alone
 */
function checkParts(parts: readonly Given[], contents: readonly { partId: string; partName: string }[]): Given[] {
  const validationErrors = parts.flatMap((one, index) => {
    if (!contents.some((content) => content.partId === one.partId))
      return [{ detail: 'is no part of this kit', pointer: `/parts/${index}/partId` }];
    return parts.findIndex((other) => other.partId === one.partId) === index
      ? []
      : [{ detail: 'stands in the list already', pointer: `/parts/${index}/partId` }];
  });
  for (const content of contents)
    if (!parts.some((one) => one.partId === content.partId))
      validationErrors.push({ detail: `says nothing of ${content.partName}`, pointer: '/parts' });
  const valued = parts.filter((one) => typeof one.unitValue === 'string').length;
  if (valued > 0 && valued < parts.length)
    validationErrors.push({ detail: 'a value is stated for all parts or for none', pointer: '/parts' });
  if (validationErrors.length > 0) throw new Invalid(validationErrors);
  const byPart = new Map(parts.map((one) => [one.partId, one]));
  return contents.map((content) => lookUp(byPart, content.partId));
}

async function basisOf(context: OperationContext, row: Stored<'stock'>, quantity: Decimal): Promise<Decimal> {
  const moved = await context.tx.stockMovement.findMany({
    where: { stockId: row.id, reason: 'unpacked', change: { lt: 0 } },
    select: { change: true },
  });
  const before = Decimal.sum(0, ...moved.map((one) => toDecimal(one.change).negated()));
  const upTo = (some: Decimal): Decimal => roundAmount(toDecimal(row.unitCost).times(some), context.shop.currency);
  return upTo(before.plus(quantity)).minus(upTo(before));
}

function splitBasis(
  context: OperationContext,
  basis: Decimal,
  given: readonly Given[],
  quantities: readonly Decimal[],
): Decimal[] {
  const { currency } = context.shop;
  const valued = given.flatMap(({ unitValue }, index) =>
    typeof unitValue === 'string'
      ? [
          {
            quantity: at(quantities, index),
            valueEach: checkAmount(unitValue, currency, `/parts/${index}/unitValue`),
          },
        ]
      : [],
  );
  // A value is stated for all or for none: checkParts sees to that.
  if (valued.length === 0) return allocateEqually(basis, given.length, currency);
  if (valued.every((one) => one.valueEach.isZero()))
    throw new Invalid([{ detail: 'some part must be worth something', pointer: '/parts' }]);
  return harvestBasis(basis, valued, '0', currency).parts.map((part) => part.basis);
}

/** @throws Invalid for a need that does not hold this bin, Conflict when the needs are for more than is unpacked */
async function needsOnKits(context: OperationContext, input: z.output<typeof KitUnpack>): Promise<OpenNeed[]> {
  const needs: OpenNeed[] = [];
  for (const [index, needId] of [...new Set(input.partNeedIds)].entries()) {
    const need = await openNeed(context, needId);
    if (need.stockId !== input.id)
      throw new Invalid([{ detail: 'that need does not hold these kits', pointer: `/partNeedIds/${index}` }]);
    needs.push(need);
  }
  const wanted = Decimal.sum(0, ...needs.map((need) => toDecimal(need.quantity)));
  if (wanted.greaterThan(input.quantity))
    throw new Conflict('too-few-unpacked', `These needs are for ${wanted} kits; unpack as many.`);
  return needs;
}

export const kitOperations = [
  kitQuery,
  command({
    name: 'setKit',
    summary: 'Say what a kit consists of, all of it at once',
    roles: workers,
    rest: { method: 'PUT', path: '/parts/:id/kit' },
    input: KitSet,
    output: Kit,
    run: setKit,
  }),
  command({
    name: 'unpackKit',
    summary: "Take kits of a bin apart: the parts go into bins of their own and share the kit's cost",
    roles: workers,
    rest: { method: 'POST', path: '/stock/:id/unpack', status: 200 },
    creates: false,
    input: KitUnpack,
    output: KitUnpacked,
    async run(context, input) {
      const { result, effects } = await withCompletionEffects(context, () => unpack(context, input));
      const stock = await completeStock(context, [await findOne(context.tx.stock, 'stock', input.id)]);
      const parts = await completeStock(context, result.parts);
      return { id: input.id, stock: at(stock, 0), parts, needs: await needsByIds(context, result.needIds), effects };
    },
  }),
  command({
    name: 'expandPartNeed',
    summary: "Put needs for a kit's parts in place of the need for the kit",
    roles: workers,
    rest: { method: 'POST', path: '/part-needs/:id/expand', status: 200 },
    creates: false,
    input: z.strictObject({ id, version }),
    output: KitNeedExpanded,
    async run(context, input) {
      const { result, effects } = await withCompletionEffects(context, () => expandNeed(context, input));
      return { id: input.id, needs: await needsByIds(context, result), effects };
    },
  }),
];

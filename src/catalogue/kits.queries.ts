/** Kits: parts that consist of others. */
import { z } from 'zod';
import { at } from '../engine/look-up.js';
import { toDecimal } from '../platform/money.js';
import { groupBy } from '../platform/operation/group-by.js';
import { type OperationContext, query } from '../platform/operation/operation.js';
import { findOne } from '../platform/operation/stored.js';
import { id } from '../platform/shapes.js';
import { Kit } from './kits.shapes.js';

/** What some parts consist of, in the order in which it was given; an empty list for one that is no kit. */
export async function kitsOf(context: OperationContext, parts: readonly { id: string; version: number }[]) {
  const rows = await context.tx.kitPart.findMany({
    where: { kitId: { in: parts.map((part) => part.id) } },
    include: { part: { select: { name: true } } },
    orderBy: { position: 'asc' },
  });
  const byKit = groupBy(rows, (row) => row.kitId);
  return parts.map((part) => ({
    partId: part.id,
    version: part.version,
    contents: (byKit.get(part.id) ?? []).map((row) => ({
      partId: row.partId,
      partName: row.part.name,
      quantity: toDecimal(row.quantity),
    })),
  }));
}

export async function kitOf(context: OperationContext, partId: string) {
  return at(await kitsOf(context, [await findOne(context.tx.part, 'part', partId)]), 0);
}

/** Why an order line is none for a need of another part, and what to do where its part is a kit that holds the other. */
export async function otherPart(
  context: OperationContext,
  lineOf: string,
  needOf: string,
  asked: 'line' | 'need',
): Promise<string> {
  const isInKit = (await context.tx.kitPart.count({ where: { kitId: lineOf, partId: needOf } })) > 0;
  return isInKit
    ? 'the line is for a kit that holds this part: have the task need the kit; once it has ' +
        'come, unpack it for that need, and needs for its parts stand in its place'
    : `that ${asked} is for another part`;
}

export const kitQuery = query({
  name: 'kit',
  summary: 'What a kit consists of',
  rest: { method: 'GET', path: '/parts/:id/kit' },
  input: z.strictObject({ id }),
  output: Kit,
  run: (context, { id: partId }) => kitOf(context, partId),
});

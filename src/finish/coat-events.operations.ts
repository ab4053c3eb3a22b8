/** What happens to a coat once it is on: it is sanded, or moved to another place. Taken back by archiving. */
import { Conflict, Invalid } from '../platform/errors.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { type OperationContext, workers } from '../platform/operation/operation.js';
import { findOne } from '../platform/operation/stored.js';
import { id } from '../platform/shapes.js';
import { CoatMove, CoatMoveCreate, CoatSanding, CoatSandingCreate } from './finish.shapes.js';

/** @throws NotFound, Conflict `archived`, Invalid for a moment to come or one before the coat went on */
async function momentOn(
  context: OperationContext,
  coatId: string,
  given: string | null | undefined,
  field: string,
): Promise<Date> {
  const coat = await findOne(context.tx.coat, 'coat', coatId);
  if (coat.archivedAt) throw new Conflict('archived', 'This coat was taken back; nothing happens to it any more.');
  const at = given ? new Date(given) : context.now;
  if (at > context.now) throw new Invalid([{ detail: 'lies in the future', pointer: `/${field}` }]);
  if (at < coat.appliedAt)
    throw new Invalid([
      { detail: `lies before the coat went on, at ${coat.appliedAt.toISOString()}`, pointer: `/${field}` },
    ]);
  return at;
}

export const coatEventOperations = [
  ...crudOperations({
    name: 'coatSanding',
    plural: 'coatSandings',
    table: 'coatSanding',
    shape: CoatSanding,
    create: CoatSandingCreate,
    writers: workers,
    filters: { coatId: id.nullish() },
    sorts: ['sandedAt', 'createdAt'],
    async onCreate(context, { coatId, sandedAt, note }) {
      const at = await momentOn(context, coatId, sandedAt, 'sandedAt');
      return context.tx.coatSanding.create({
        data: { shopId: context.shop.id, coatId, sandedAt: at, note: note ?? null },
      });
    },
  }),
  ...crudOperations({
    name: 'coatMove',
    plural: 'coatMoves',
    table: 'coatMove',
    shape: CoatMove,
    create: CoatMoveCreate,
    writers: workers,
    filters: { coatId: id.nullish(), placeId: id.nullish() },
    sorts: ['movedAt', 'createdAt'],
    async onCreate(context, { coatId, placeId, movedAt }) {
      const at = await momentOn(context, coatId, movedAt, 'movedAt');
      if (placeId) await findOne(context.tx.place, 'place', placeId);
      const same = await context.tx.coatMove.findFirst({ where: { coatId, movedAt: at, archivedAt: null } });
      if (same)
        throw new Conflict('moved-already', 'A move of this coat at the same moment is recorded; archive it first.');
      return context.tx.coatMove.create({
        data: { shopId: context.shop.id, coatId, placeId: placeId ?? null, movedAt: at },
      });
    },
  }),
];

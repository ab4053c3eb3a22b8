/** Coats as they stand, and where they hang on other records. */
import { z } from 'zod';
import { systemWarnings } from '../engine/cure/index.js';
import { at } from '../engine/look-up.js';
import { children, computed, parentOf, query } from '../platform/operation/operation.js';
import { findOne } from '../platform/operation/stored.js';
import { id } from '../platform/shapes.js';
import { Job } from '../work/work.shapes.js';
import { asLayer } from './coat-warnings.js';
import { statusesOf } from './curing.queries.js';
import { Coat, CoatingProduct, CoatingSystem, CoatStatus, FinishWarning } from './finish.shapes.js';
import { withRecoatWindows } from './recoat-windows.js';

export const coatStatusQuery = query({
  name: 'coatStatus',
  summary:
    'Where a coat stands: the stage it has reached, when the next are likely, and whether the next coat may go on now',
  rest: { method: 'GET', path: '/coats/:id/status' },
  input: z.strictObject({ id }),
  output: CoatStatus,
  async run(context, input) {
    const coat = await findOne(context.tx.coat, 'coat', input.id);
    return at(await statusesOf(context, [coat]), 0);
  },
});

export const finishRelations = [
  children({
    on: Job,
    field: 'coats',
    to: Coat,
    key: 'jobId',
    description: 'The coats on it, from the metal outward.',
    find: (context, jobIds) =>
      context.tx.coat.findMany({
        where: { jobId: { in: jobIds }, archivedAt: null },
        orderBy: [{ surface: 'asc' }, { coatNumber: 'asc' }, { appliedAt: 'asc' }],
      }),
  }),
  parentOf({
    on: Coat,
    field: 'product',
    to: CoatingProduct,
    key: 'productId',
    description: 'The can it came from.',
    find: (context, ids) =>
      context.tx.coatingProduct.findMany({ where: { id: { in: ids } }, include: withRecoatWindows }),
  }),
  computed({
    on: Coat,
    field: 'status',
    to: CoatStatus,
    description: 'Where it stands now.',
    compute: statusesOf,
  }),
  children({
    on: CoatingSystem,
    field: 'products',
    to: CoatingProduct,
    key: 'systemId',
    description: 'The products of its coats, from the metal outward, each as often as it is used.',
    async find(context, systemIds) {
      const coats = await context.tx.systemCoat.findMany({
        where: { systemId: { in: systemIds } },
        orderBy: { position: 'asc' },
        include: { product: { include: withRecoatWindows } },
      });
      return coats.map((coat) => ({ ...coat.product, systemId: coat.systemId }));
    },
  }),
  children({
    on: CoatingSystem,
    field: 'warnings',
    to: FinishWarning,
    key: 'systemId',
    description: 'Coats in it that do not belong on each other, by what their products declare.',
    async find(context, systemIds) {
      const coats = await context.tx.systemCoat.findMany({
        where: { systemId: { in: systemIds } },
        orderBy: { position: 'asc' },
        include: { product: true },
      });
      return systemIds.flatMap((systemId) =>
        systemWarnings(coats.filter((coat) => coat.systemId === systemId).map((coat) => asLayer(coat.product))).map(
          (warning) => ({ ...warning, systemId }),
        ),
      );
    },
  }),
];

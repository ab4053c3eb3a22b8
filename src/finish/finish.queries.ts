/** Coats as they stand, and where they hang on other records. */
import { z } from 'zod';
import { systemWarnings } from '../engine/cure/index.js';
import { children, computed, parentOf, query } from '../platform/operation/operation.js';
import { findOne } from '../platform/operation/crud-operations.js';
import { id } from '../platform/shapes.js';
import { Job } from '../work/work.shapes.js';
import { asLayer } from './coat-warnings.js';
import { standingsOf } from './curing.queries.js';
import { Coat, CoatingProduct, CoatingSystem, CoatStanding, FinishWarning } from './finish.shapes.js';

export const coatStandingQuery = query({
  name: 'coatStanding',
  summary:
    'Where a coat stands: the stage it has reached, when the next are likely, and whether the next coat may go on now',
  rest: { method: 'GET', path: '/coats/:id/standing' },
  input: z.strictObject({ id }),
  output: CoatStanding,
  async run(call, input) {
    const coat = await findOne(call.tx.coat, 'coat', input.id);
    const [standing] = await standingsOf(call, [coat]);
    return standing;
  },
});

export const finishRelations = [
  children({
    on: Job,
    field: 'coats',
    to: Coat,
    key: 'jobId',
    description: 'The coats on it, from the metal outward.',
    find: (call, jobIds) =>
      call.tx.coat.findMany({
        where: { jobId: { in: jobIds }, retiredAt: null },
        orderBy: [{ surface: 'asc' }, { coatNumber: 'asc' }, { appliedAt: 'asc' }],
      }),
  }),
  parentOf({
    on: Coat,
    field: 'product',
    to: CoatingProduct,
    key: 'productId',
    description: 'The can it came from.',
    find: (call, ids) => call.tx.coatingProduct.findMany({ where: { id: { in: ids } } }),
  }),
  computed({
    on: Coat,
    field: 'standing',
    to: CoatStanding,
    description: 'Where it stands now.',
    compute: standingsOf,
  }),
  children({
    on: CoatingSystem,
    field: 'products',
    to: CoatingProduct,
    key: 'systemId',
    description: 'The products of its coats, from the metal outward, each as often as it is used.',
    async find(call, systemIds) {
      const coats = await call.tx.systemCoat.findMany({
        where: { systemId: { in: systemIds } },
        orderBy: { position: 'asc' },
        include: { product: true },
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
    async find(call, systemIds) {
      const coats = await call.tx.systemCoat.findMany({
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

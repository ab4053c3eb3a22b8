import { batchOf, previewOf } from '../platform/batch/batch.js';
import type { Area } from '../platform/operation/area.js';
import { catalogueOperations } from './catalogue.operations.js';
import { catalogueRelations } from './catalogue.relations.js';
import { substituteQueries } from './substitutes.queries.js';

export const catalogue: Area = {
  name: 'catalogue',
  description: 'Parts, what can take the place of what, kits and fasteners.',
  operations: [
    ...catalogueOperations,
    batchOf(catalogueOperations, 'createPart', {
      name: 'createParts',
      summary: 'Record many parts at once, all or none',
      path: '/parts/batch',
    }),
    previewOf(catalogueOperations, 'createPart', {
      name: 'previewParts',
      summary: 'Try parts before recording them: what each would be, and what stands against it',
      path: '/parts/preview',
    }),
    ...substituteQueries,
  ],
  relations: catalogueRelations,
};

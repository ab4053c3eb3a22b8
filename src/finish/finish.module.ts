import { batchOf } from '../platform/batch/batch.js';
import type { Area } from '../platform/operation/area.js';
import { coatOperations } from './coats.operations.js';
import { coatStatusQuery, finishRelations } from './finish.queries.js';
import { sprayDecisionQuery } from './may-spray.queries.js';
import { paintNeededQuery } from './paint-needed.js';
import { coatingOperations } from './products.operations.js';

export const finish: Area = {
  name: 'finish',
  description: 'Paints, the order of coats, each coat with its cure.',
  operations: [
    ...coatingOperations,
    ...coatOperations,
    batchOf(coatOperations, 'createCoat', {
      name: 'createCoats',
      summary: 'Record many coats at once, all or none',
      path: '/coats/batch',
    }),
    coatStatusQuery,
    sprayDecisionQuery,
    paintNeededQuery,
  ],
  relations: finishRelations,
};

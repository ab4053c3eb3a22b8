import type { Area } from '../platform/operation/area.js';
import { catalogueOperations } from './catalogue.operations.js';
import { catalogueRelations } from './catalogue.relations.js';
import { substituteQueries } from './substitutes.queries.js';

export const catalogue: Area = {
  name: 'catalogue',
  description: 'Parts, what can take the place of what, kits and fasteners.',
  operations: [...catalogueOperations, ...substituteQueries],
  relations: catalogueRelations,
};

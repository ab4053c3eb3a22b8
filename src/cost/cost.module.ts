import type { Area } from '../platform/operation/area.js';
import { costOperations } from './cost.operations.js';
import { costQueries, costRelations } from './cost.queries.js';

export const cost: Area = {
  name: 'cost',
  description: 'What each job has cost and will have cost.',
  operations: [...costQueries, ...costOperations],
  relations: costRelations,
};

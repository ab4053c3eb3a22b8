import type { Area } from '../platform/operation/area.js';
import { harvestOperations } from './harvest.operations.js';
import { stockOperations } from './stock.operations.js';
import { stockRelations } from './stock.relations.js';

export const stock: Area = {
  name: 'stock',
  description: 'Parts on hand: bins, movements, and what was taken off donors.',
  operations: [...stockOperations, ...harvestOperations],
  relations: stockRelations,
};

import type { Area } from '../platform/area.js';
import { arrivalQueries } from './arrivals.queries.js';
import { catalogueOperations } from './catalogue.operations.js';
import { harvestOperations } from './harvest.operations.js';
import { interchangeQueries } from './interchange.queries.js';
import { needOperations } from './needs.operations.js';
import { orderOperations } from './orders.operations.js';
import { partsRelations } from './parts.relations.js';
import { reorderQueries } from './reorder.queries.js';
import { rescueOperations } from './rescue.operations.js';
import { stockOperations } from './stock.operations.js';

export const parts: Area = {
  name: 'parts',
  operations: [...catalogueOperations, ...interchangeQueries, ...stockOperations, ...harvestOperations, ...needOperations, ...orderOperations, ...arrivalQueries, ...reorderQueries, ...rescueOperations],
  relations: partsRelations,
};

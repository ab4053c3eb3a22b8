import type { Area } from '../platform/operation/area.js';
import { arrivalQueries } from './arrivals.queries.js';
import { kitOperations } from './kits.operations.js';
import { needOperations } from './needs.operations.js';
import { orderOperations } from './orders.operations.js';
import { purchasingRelations } from './purchasing.relations.js';
import { reorderQueries } from './reorder.queries.js';

export const purchasing: Area = {
  name: 'purchasing',
  description: 'Part needs, suppliers, orders, promises, receipts, and when what is on order will arrive.',
  operations: [...kitOperations, ...needOperations, ...orderOperations, ...arrivalQueries, ...reorderQueries],
  relations: purchasingRelations,
};

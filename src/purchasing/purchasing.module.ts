import { batchOf } from '../platform/batch/batch.js';
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
  operations: [
    ...kitOperations,
    ...needOperations,
    ...orderOperations,
    batchOf(orderOperations, 'recordReceipt', {
      name: 'recordReceipts',
      summary: 'Record many receipts at once, all or none',
      path: '/receipts/batch',
    }),
    ...arrivalQueries,
    ...reorderQueries,
  ],
  relations: purchasingRelations,
};

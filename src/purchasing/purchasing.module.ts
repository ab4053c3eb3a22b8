import { catalogueOperations } from '../catalogue/catalogue.operations.js';
import { substituteQueries } from '../catalogue/substitutes.queries.js';
import { PartsController } from '../desk/labels/labels.controller.js';
import { labelQueries } from '../desk/labels/labels.queries.js';
import { shortageOperations } from '../desk/shortage/shortage.operations.js';
import type { Area } from '../platform/area.js';
import { harvestOperations } from '../stock/harvest.operations.js';
import { stockOperations } from '../stock/stock.operations.js';
import { arrivalQueries } from './arrivals.queries.js';
import { kitOperations } from './kits.operations.js';
import { needOperations } from './needs.operations.js';
import { orderOperations } from './orders.operations.js';
import { partsRelations } from './purchasing.relations.js';
import { reorderQueries } from './reorder.queries.js';

const paper = { name: 'paper', description: 'a4, unless it is to be letter.' };

export const parts: Area = {
  name: 'parts',
  // A label's path before a record's id.
  operations: [
    ...labelQueries,
    ...catalogueOperations,
    ...substituteQueries,
    ...stockOperations,
    ...harvestOperations,
    ...kitOperations,
    ...needOperations,
    ...orderOperations,
    ...arrivalQueries,
    ...reorderQueries,
    ...shortageOperations,
  ],
  relations: partsRelations,
  controllers: [PartsController],
  files: [
    {
      name: 'stockLabelSheet',
      summary: 'Labels for bins, to print and cut, each with its QR code',
      method: 'GET',
      path: '/stock/labels.pdf',
      query: [{ name: 'ids', description: 'The bins, with commas between.', required: true }, paper],
      gives: 'application/pdf',
    },
    {
      name: 'jobLabelSheet',
      summary: "Labels for a job's bags, to print and cut, each with its QR code",
      method: 'GET',
      path: '/jobs/:jobId/labels.pdf',
      query: [paper],
      gives: 'application/pdf',
    },
  ],
};

import type { Area } from '../platform/area.js';
import { comparableOperations } from './comparables.operations.js';
import { priceQueries, resaleRelations } from './price.queries.js';
import { saleOperations } from './sale.operations.js';

export const resale: Area = { name: 'resale', operations: [...comparableOperations, ...saleOperations, ...priceQueries], relations: resaleRelations };

import type { Area } from '../platform/operation/area.js';
import { shopOperations } from './shop.operations.js';
import { shopQueries } from './shop.queries.js';

export const shop: Area = { name: 'shop', operations: [...shopQueries, ...shopOperations] };

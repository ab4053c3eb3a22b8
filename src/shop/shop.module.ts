import type { Area } from '../platform/operation/area.js';
import { shopOperations } from './shop.operations.js';
import { shopQueries } from './shop.queries.js';

export const shop: Area = {
  name: 'shop',
  description: 'The shop itself: its settings, people, places, days off, keys, and who did what.',
  operations: [...shopQueries, ...shopOperations],
};

/** What to take on and what to change. */
import type { Area } from '../platform/operation/area.js';
import { changesQueries } from './changes/changes.queries.js';
import { chooseQueries } from './choose/choose.queries.js';

export const choice: Area = {
  name: 'choice',
  description: 'Which machines seen for sale to buy, and what to change about the shop and its open jobs.',
  operations: [...chooseQueries, ...changesQueries],
};

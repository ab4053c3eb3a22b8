import { children, computed, parentOf } from '../platform/operation/operation.js';
import { Stock } from '../stock/stock.shapes.js';
import { partsByIds, stockOfParts } from './catalogue.queries.js';
import { Interchange, Part } from './catalogue.shapes.js';
import { kitsOf } from './kits.queries.js';
import { Kit } from './kits.shapes.js';

const partOf = (on: typeof Stock | typeof Interchange) =>
  parentOf({ on, field: 'part', to: Part, key: 'partId', description: 'The catalogue entry.', find: partsByIds });

export const catalogueRelations = [
  partOf(Stock),
  partOf(Interchange),
  parentOf({
    on: Interchange,
    field: 'servesForPart',
    to: Part,
    key: 'servesForId',
    description: 'The part that it serves for.',
    find: partsByIds,
  }),
  children({
    on: Part,
    field: 'stock',
    to: Stock,
    key: 'partId',
    description: 'What is on hand, fullest bins first.',
    find: stockOfParts,
  }),
  computed({
    on: Part,
    field: 'kit',
    to: Kit,
    description: 'What it consists of; null for a part that is no kit.',
    compute: async (context, parts) =>
      (await kitsOf(context, parts)).map((kit) => (kit.contents.length > 0 ? kit : null)),
  }),
];

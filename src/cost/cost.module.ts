import { ledgerOperations } from '../ledger/ledger.operations.js';
import type { Area } from '../platform/area.js';
import { costQueries, costRelations } from './cost.queries.js';

export const cost: Area = { name: 'cost', operations: [...costQueries, ...ledgerOperations], relations: costRelations };

import type { Area } from '../platform/operation/area.js';
import { ledgerOperations } from './ledger.operations.js';

export const ledger: Area = { name: 'ledger', operations: ledgerOperations };

import type { Area } from '../platform/operation/area.js';
import { ledgerOperations } from './ledger.operations.js';

export const ledger: Area = {
  name: 'ledger',
  description: 'The amounts of money against each job, corrected by reversal and never by edit.',
  operations: ledgerOperations,
};

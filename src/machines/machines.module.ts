import type { Area } from '../platform/operation/area.js';
import { machineOperations } from './machines.operations.js';
import { machineRelations } from './machines.queries.js';

export const machines: Area = {
  name: 'machines',
  description: 'What came in, and each machine of it.',
  operations: machineOperations,
  relations: machineRelations,
};

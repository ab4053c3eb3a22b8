import type { Area } from '../platform/operation/area.js';
import { machineOperations } from './machines.operations.js';
import { machineRelations } from './machines.queries.js';

export const machines: Area = {
  name: 'machines',
  operations: machineOperations,
  relations: machineRelations,
};

import { takeInOperations } from '../desk/intake/record-intake.operations.js';
import type { Area } from '../platform/area.js';
import { intakeOperations } from './machines.operations.js';
import { intakeRelations } from './machines.queries.js';

export const intake: Area = {
  name: 'intake',
  operations: [...intakeOperations, ...takeInOperations],
  relations: intakeRelations,
};

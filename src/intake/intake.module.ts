import type { Area } from '../platform/area.js';
import { intakeOperations } from './intake.operations.js';
import { intakeRelations } from './intake.queries.js';
import { takeInOperations } from './take-in.operations.js';

export const intake: Area = {
  name: 'intake',
  operations: [...intakeOperations, ...takeInOperations],
  relations: intakeRelations,
};

import type { Area } from '../platform/operation/area.js';
import { findingOperations, safetyCheckOperations } from './diagnosis.operations.js';
import { diagnosisQueries, diagnosisRelations } from './diagnosis.queries.js';

export const diagnosis: Area = {
  name: 'diagnosis',
  description: 'Findings against a limit, and safety checks before a sale.',
  operations: [...findingOperations, ...safetyCheckOperations, ...diagnosisQueries],
  relations: diagnosisRelations,
};

import { batchOf } from '../platform/batch/batch.js';
import type { Area } from '../platform/operation/area.js';
import { componentQueries } from './components/components.queries.js';
import { findingOperations, safetyCheckOperations } from './diagnosis.operations.js';
import { diagnosisQueries, diagnosisRelations } from './diagnosis.queries.js';

export const diagnosis: Area = {
  name: 'diagnosis',
  description: 'Findings against a limit, and safety checks before a sale.',
  operations: [
    ...findingOperations,
    batchOf(findingOperations, 'createFinding', {
      name: 'createFindings',
      summary: 'Record many findings at once, all or none',
      path: '/findings/batch',
    }),
    ...safetyCheckOperations,
    batchOf(safetyCheckOperations, 'createSafetyCheck', {
      name: 'createSafetyChecks',
      summary: 'Record many safety checks at once, all or none',
      path: '/safety-checks/batch',
    }),
    ...diagnosisQueries,
    ...componentQueries,
  ],
  relations: diagnosisRelations,
};

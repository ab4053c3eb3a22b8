import { batchOf } from '../platform/batch/batch.js';
import type { Area } from '../platform/operation/area.js';
import { jobOperations } from './jobs.operations.js';
import { labourOperations } from './labour.operations.js';
import { routeOperations } from './routes.operations.js';
import { taskOperations } from './tasks.operations.js';
import { workQueries, workRelations } from './work.queries.js';

export const work: Area = {
  name: 'work',
  description: 'Jobs, their tasks and routes, and who worked when.',
  operations: [
    ...jobOperations,
    ...routeOperations,
    ...taskOperations,
    ...labourOperations,
    batchOf(taskOperations, 'finishTask', {
      name: 'finishTasks',
      summary: 'Finish many tasks at once, all or none',
      path: '/tasks/finish',
    }),
    batchOf(labourOperations, 'createLabourEntry', {
      name: 'createLabourEntries',
      summary: 'Record many labour entries at once, all or none',
      path: '/labour-entries/batch',
    }),
    ...workQueries,
  ],
  relations: workRelations,
};

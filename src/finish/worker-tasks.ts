/** What the finish area has computed in threads: the coats' clocks, each run through years of temperatures. */
import { defineWorkerTasks } from '../platform/workers/worker-task.js';
import { ageTablesOf } from './age-tables.js';
import { coatAges } from './coat-ages.js';
import { coatStatuses } from './coat-status.js';
import { jobsCuring } from './curing.js';

export const workerTasks = defineWorkerTasks(import.meta.url, {
  short: { curing: jobsCuring, statuses: coatStatuses, ageTables: ageTablesOf, ages: coatAges },
});

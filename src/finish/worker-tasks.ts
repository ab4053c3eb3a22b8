/** What the finish area has computed in threads: the coats' clocks, each run through years of temperatures. */
import { defineWorkerTasks } from '../platform/workers/worker-task.js';
import { jobsCuring } from './curing.js';
import { coatStatuses } from './standing.js';

export const workerTasks = defineWorkerTasks(import.meta.url, {
  short: { curing: jobsCuring, statuses: coatStatuses },
});

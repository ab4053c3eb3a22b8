/** What choosing has computed in threads: it plays many plans through. */
import { defineWorkerTasks } from '../platform/workers/worker-task.js';
import { computeLevers } from './changes/levers.js';
import { choose } from './choose/choose.js';

export const workerTasks = defineWorkerTasks(
  import.meta.url,
  { long: { choose, levers: computeLevers } },
  { amounts: true },
);

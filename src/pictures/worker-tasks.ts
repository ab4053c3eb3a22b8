/** Pictures are decoded in a thread that is ended with whoever waits for it. */
import { defineWorkerTasks } from '../platform/workers/worker-task.js';
import { normalisePicture } from './normalise.js';

export const workerTasks = defineWorkerTasks(import.meta.url, { long: { normalisePicture } });

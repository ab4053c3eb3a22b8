/** What the parts area has computed in threads: learning from every order line there ever was. */
import { defineWorkerTasks } from '../platform/workers/worker-task.js';
import { forecastLines } from './arrival-learning.js';

export const workerTasks = defineWorkerTasks(import.meta.url, { short: { arrivals: forecastLines } });

/** What the resale area has computed in threads: the price engine searches over asks, markdowns and bids. */
import { defineWorkerTasks } from '../platform/workers/worker-task.js';
import { advicesOf, offerAdviceOf } from './advice.js';
import { bidOf } from './bid.js';

export const workerTasks = defineWorkerTasks(
  import.meta.url,
  { short: { advice: advicesOf, bid: bidOf, offerAdvice: offerAdviceOf } },
  { amounts: true },
);

/** What the plan area has computed in threads. */
import { defineWorkerTasks } from '../../platform/workers/worker-task.js';
import { scheduleOf } from '../model/scheduled-records.js';
import { finishOfAnother } from './capacity.js';
import { computePlan } from './compute-plan.js';
import { earliestDaysOf } from './quality.js';
import { capacityOf, detailedFitOf } from './scenarios.js';
import { simulateOrder } from './simulate-plan.js';
import { compareWhatIf } from './what-if.js';

export const workerTasks = defineWorkerTasks(import.meta.url, {
  short: { schedule: scheduleOf, earliestDates: earliestDaysOf, finishOfAnother },
  long: {
    plan: computePlan,
    simulation: simulateOrder,
    capacity: capacityOf,
    detailedFit: detailedFitOf,
    whatIf: compareWhatIf,
  },
});

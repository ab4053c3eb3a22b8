/** What the plan area has computed in threads. */
import { worksOf } from '../../platform/workers/worker-task.js';
import { moreThatFit } from './capacity.js';
import { computePlan } from './compute-plan.js';
import { capacityOf } from './scenarios.js';
import { oddsOfOrder } from './simulate-plan.js';
import { scheduleOf } from '../model/scheduled-records.js';
import { earliestDaysOf } from './quality.js';
import { compareWhatIf } from './what-if.js';

export const works = worksOf(import.meta.url, {
  short: { schedule: scheduleOf, earliestDays: earliestDaysOf, moreThatFit },
  long: { plan: computePlan, odds: oddsOfOrder, capacity: capacityOf, whatIf: compareWhatIf },
});

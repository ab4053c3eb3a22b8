/** What the plan area has computed in threads. */
import { worksOf } from '../platform/threads/work.js';
import { moreThatFit } from './capacity.js';
import { computePlan } from './compute.js';
import { capacityOf } from './levers.js';
import { oddsOfOrder } from './odds.js';
import { scheduleOf } from './planned.js';
import { earliestDaysOf } from './quality.js';
import { compareWhatIf } from './what-if.js';

export const works = worksOf(import.meta.url, {
  short: { schedule: scheduleOf, earliestDays: earliestDaysOf, moreThatFit },
  long: { plan: computePlan, odds: oddsOfOrder, capacity: capacityOf, whatIf: compareWhatIf },
});

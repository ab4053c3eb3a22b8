import type { Area } from '../platform/operation/area.js';
import { benchQueries } from './answers/bench-list.queries.js';
import { planQueries, planRelations } from './answers/plan.queries.js';
import { progressQueries } from './answers/progress.queries.js';
import { timelineQueries } from './answers/timeline.queries.js';
import { whatIfQueries } from './answers/what-if.queries.js';

export const plan: Area = {
  name: 'plan',
  description: 'The schedule: what to work on, when each job is finished, what would change it.',
  operations: [...planQueries, ...benchQueries, ...progressQueries, ...timelineQueries, ...whatIfQueries],
  relations: planRelations,
};

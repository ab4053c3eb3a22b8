import { briefingQueries } from '../desk/briefing/briefing.queries.js';
import { PlanController } from '../desk/desk.controller.js';
import { readinessQueries } from '../desk/readiness/readiness.queries.js';
import type { Area } from '../platform/area.js';
import { benchQueries } from './answers/bench-list.queries.js';
import { planQueries, planRelations } from './answers/plan.queries.js';
import { progressQueries } from './answers/progress.queries.js';
import { timelineQueries } from './answers/timeline.queries.js';
import { whatIfQueries } from './answers/what-if.queries.js';

export const plan: Area = {
  name: 'plan',
  operations: [
    ...planQueries,
    ...benchQueries,
    ...progressQueries,
    ...timelineQueries,
    ...whatIfQueries,
    ...readinessQueries,
    ...briefingQueries,
  ],
  relations: planRelations,
  controllers: [PlanController],
  files: [
    {
      name: 'readinessDrawing',
      summary: "The first-snow curve with each job's likely completion marked, drawn",
      method: 'GET',
      path: '/readiness.svg',
      gives: 'image/svg+xml',
    },
    {
      name: 'calendarFeed',
      summary:
        'When each job is done, what is promised, what comes by post and when to be ready, as a calendar to subscribe to',
      method: 'GET',
      path: '/calendar.ics',
      gives: 'text/calendar',
    },
  ],
};

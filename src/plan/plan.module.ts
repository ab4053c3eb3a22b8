import type { Area } from '../platform/area.js';
import { briefingQueries } from './briefing.queries.js';
import { planQueries, planRelations } from './plan.queries.js';
import { readinessQueries } from './readiness.queries.js';

export const plan: Area = { name: 'plan', operations: [...planQueries, ...readinessQueries, ...briefingQueries], relations: planRelations };

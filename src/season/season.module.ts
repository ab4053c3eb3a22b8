import type { Area } from '../platform/area.js';
import { stationOperations } from './stations.operations.js';
import { stationQueries, stationRelations } from './stations.queries.js';

export const season: Area = { name: 'season', operations: [...stationOperations, ...stationQueries], relations: stationRelations };

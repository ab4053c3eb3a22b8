import type { Area } from '../platform/area.js';
import { firstSnowQuery } from './first-snow.queries.js';
import { lastFrostQuery } from './last-frost.queries.js';
import { paintWeatherQuery } from './paint-weather.queries.js';
import { SeasonController } from './season.controller.js';
import { stationOperations } from './stations.operations.js';
import { stationQueries, stationRelations } from './stations.queries.js';

export const season: Area = {
  name: 'season',
  operations: [...stationOperations, ...stationQueries, firstSnowQuery, lastFrostQuery, paintWeatherQuery],
  relations: stationRelations,
  controllers: [SeasonController],
};

import type { Area } from '../platform/operation/area.js';
import { firstSnowQuery } from './first-snow.queries.js';
import { lastFrostQuery } from './last-frost.queries.js';
import { paintWeatherQuery } from './paint-weather.queries.js';
import { SeasonController } from './season.controller.js';
import { stationOperations } from './stations/stations.operations.js';
import { stationQueries, stationRelations } from './stations/stations.queries.js';

export const season: Area = {
  name: 'season',
  description: 'Weather stations and their records: first snow, last frost, weather fit for paint.',
  operations: [...stationOperations, ...stationQueries, firstSnowQuery, lastFrostQuery, paintWeatherQuery],
  relations: stationRelations,
  controllers: [SeasonController],
  files: [
    {
      name: 'firstSnowDrawing',
      summary: 'The chance of first snow by day, drawn',
      method: 'GET',
      path: '/first-snow.svg',
      gives: 'image/svg+xml',
    },
    {
      name: 'importStationFile',
      summary:
        "Import a station's daily records as downloaded: GHCN-Daily .dly, NCEI daily " +
        'summaries CSV, or a plain CSV with units; any size, streamed',
      method: 'POST',
      path: '/stations/:id/days/import',
      query: [
        { name: 'station', description: 'Which station of a file that holds several.' },
        { name: 'units', description: 'The units of a file that does not state them.' },
      ],
      takes: ['text/csv', 'text/plain', 'application/octet-stream'],
      gives: 'application/json',
    },
  ],
};

/** When the last frost of spring is to be expected: the start of the season for machines that cut grass. */
import { z } from 'zod';
import { eventOutlook, findSeasons, lastFrostRule, seasonStartYear } from '../engine/weather/index.js';
import { Refused } from '../platform/errors.js';
import { query } from '../platform/operation/operation.js';
import { day, decimal, id } from '../platform/shapes.js';
import { bootstrapSeed } from './first-snow.queries.js';
import { numberOfDay } from '../platform/days.js';
import { LastFrost, QuantileType } from './season.shapes.js';
import { stationWeather } from './weather-record.js';

export const lastFrostQuery = query({
  name: 'lastFrost',
  summary: 'When the last frost of the spring is to be expected, from when mowers are wanted',
  rest: { method: 'GET', path: '/last-frost' },
  input: z.strictObject({
    stationId: id.nullish().meta({ scalar: 'ID', description: 'The nearest with records unless said.' }),
    thresholdCelsius: decimal(-40, 20).default(0).meta({ scalar: 'Float', description: 'A night this cold or colder counts as frost.' }),
    quantileType: QuantileType.default('medianUnbiased'),
    byDays: z.array(day).max(60).nullish().meta({ description: 'Days whose chance is wanted.' }),
  }),
  output: LastFrost,
  async run(call, input) {
    const weather = await stationWeather(call, 'air', input.stationId);
    if (!weather || weather.record.byDay.size === 0) throw new Refused('no-station-records', 'No weather station has daily records yet: add a station, then import its days.');
    const rule = lastFrostRule(input.thresholdCelsius);
    const seasons = findSeasons(weather.record, rule);
    const startYear = seasonStartYear(rule, numberOfDay(call.today));
    // Springs without frost leave no day for an interval to end on.
    const bootstrap = seasons.some((season) => season.status === 'none') ? undefined : { seed: bootstrapSeed };
    const outlook = eventOutlook({ rule, seasons, startYear, quantileType: input.quantileType, days: input.byDays ?? [], bootstrap });
    const { station } = weather;
    return {
      ...outlook,
      stationId: station.id,
      stationName: station.name,
      distanceKilometres: station.distanceKilometres,
      thresholdCelsius: input.thresholdCelsius,
      seasons: seasons.map((season) => ({ label: season.label, status: season.status, day: season.eventDay, celsius: season.amount, reason: season.reason })),
      trend: outlook.trend.sentence,
      why: [`${station.name}, ${station.distanceKilometres} km away; the latest thirty years of it.`, ...outlook.why],
    };
  },
});

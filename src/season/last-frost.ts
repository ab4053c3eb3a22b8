/** When the last frost of spring is to be expected, from a station's record. Pure. */
import {
  eventOutlook,
  findSeasons,
  lastFrostRule,
  type QuantileType,
  seasonStartYear,
} from '../engine/weather/index.js';
import { numberOfDay } from '../platform/days.js';
import { bootstrapSeed } from './first-snow.js';
import { type PackedWeather, unpacked } from './stations/station-record.js';

export interface FrostQuestion {
  weather: PackedWeather;
  thresholdCelsius: number;
  today: string;
  quantileType: QuantileType;
  byDays: string[];
}

export function lastFrostOf({ weather, thresholdCelsius, today, quantileType, byDays }: FrostQuestion) {
  const { station, record } = unpacked(weather);
  const rule = lastFrostRule(thresholdCelsius, station.latitude);
  const seasons = findSeasons(record, rule);
  const startYear = seasonStartYear(rule, numberOfDay(today));
  // Springs without frost leave no day for an interval to end on.
  const bootstrap = seasons.some((season) => season.status === 'none') ? undefined : { seed: bootstrapSeed };
  const outlook = eventOutlook({ rule, seasons, startYear, quantileType, days: byDays, bootstrap });
  return {
    ...outlook,
    stationId: station.id,
    stationName: station.name,
    distanceKilometres: station.distanceKilometres,
    thresholdCelsius,
    seasons: seasons.map((season) => ({
      label: season.label,
      status: season.status,
      day: season.eventDate,
      celsius: season.amount,
      reason: season.reason,
    })),
    trend: outlook.trend.sentence,
    reasons: [
      `${station.name}, ${station.distanceKilometres} km away; the latest thirty years of it.`,
      ...station.choiceReasons,
      ...outlook.reasons,
    ],
  };
}

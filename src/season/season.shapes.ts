import { z } from 'zod';
import { choice, count, day, decimal, editableFields, id, instant, shape, text } from '../platform/shapes.js';

const stationFields = {
  name: text(120),
  latitude: decimal(-90, 90),
  longitude: decimal(-180, 180),
  source: text(200).nullish().meta({ description: 'Where its records come from, and under which terms.' }),
};
export const Station = shape('Station', { ...editableFields, ...stationFields, name: z.string(), source: z.string().nullable(), retiredAt: instant.nullable() }, 'A weather station whose daily records the shop uses.');
export const StationCreate = z.strictObject(stationFields);
export const StationChange = z.strictObject(z.object(stationFields).partial().shape);

export const StationDistance = shape('StationDistance', {
  station: Station,
  distanceKilometres: z.number(),
  days: count,
  firstDay: day.nullable(),
  lastDay: day.nullable(),
});
export const StationSuggestion = shape(
  'StationSuggestion',
  { latitude: z.number(), longitude: z.number(), stations: z.array(StationDistance) },
  'Stations, the nearest first, by great-circle distance.',
);
export const StationRecord = shape('StationRecord', { stationId: id, days: count, daysWithSnowfall: count, firstDay: day.nullable(), lastDay: day.nullable() }, 'How much of a station is on record.');

const celsius = decimal(-90, 70).nullish();
const millimetres = decimal(0, 3000).nullish();
const percent = decimal(0, 100).nullish();
export const StationDayInput = shape(
  'StationDayEntry',
  {
    day,
    highCelsius: celsius,
    lowCelsius: celsius,
    precipitationMillimetres: millimetres,
    snowfallMillimetres: millimetres,
    snowTrace: z.boolean().default(false),
    humidityPercent: percent,
  },
  'One day at a station; what is left out was not observed.',
);
export const StationDay = shape('StationDay', {
  day,
  highCelsius: z.number().nullable(),
  lowCelsius: z.number().nullable(),
  precipitationMillimetres: z.number().nullable(),
  snowfallMillimetres: z.number().nullable(),
  snowTrace: z.boolean(),
  humidityPercent: z.number().nullable(),
});
export const DAYS_AT_ONCE = 4000;
export const LineFault = shape('LineFault', { line: count, detail: z.string() });
export const ImportSummary = shape(
  'ImportSummary',
  {
    stationId: id,
    format: z.string(),
    units: z.array(z.string()).meta({ description: 'In which units each column was read.' }),
    lines: count,
    days: count,
    added: count,
    changed: count,
    unchanged: count,
    faultyLines: count,
    faults: z.array(LineFault).meta({ description: 'The first hundred lines that could not be read.' }),
    failedQuality: count.meta({ scalar: 'Int', description: 'Values kept as not observed because their quality flag says so.' }),
    firstDay: day.nullable(),
    lastDay: day.nullable(),
    notes: z.array(z.string()),
  },
  'What an import did. The same records again change nothing.',
);

const forecastFields = { day, highCelsius: decimal(-90, 70), lowCelsius: decimal(-90, 70), humidityPercent: percent, precipitationMillimetres: millimetres };
export const ForecastDay = shape('ForecastDay', { ...editableFields, ...forecastFields, humidityPercent: z.number().nullable(), precipitationMillimetres: z.number().nullable() }, 'A forecast for a coming day; it stands in for climate on that day.');
export const ForecastEntry = shape('ForecastEntry', forecastFields);
export const Forecast = shape('Forecast', { days: z.array(ForecastDay) });

export const QuantileType = choice('QuantileType', ['inverseEmpirical', 'interpolatedEmpirical', 'hazen', 'weibull', 'linear', 'medianUnbiased', 'normalUnbiased']);
const chance = decimal(0, 1);
const likely = day.nullable();

export const SnowQuantile = shape(
  'SnowQuantile',
  { probability: chance, day: likely, earliestLikelyDay: likely, latestLikelyDay: likely },
  'By this day it has snowed with this chance; the interval is where the day lies in nine of ten resamplings of the seasons. Null lies beyond the season.',
);
export const SnowChance = shape('SnowChance', { day, chance: chance.nullable() });
export const SnowSeason = shape('SnowSeason', { label: z.string(), status: choice('SnowSeasonStatus', ['event', 'none', 'running', 'excluded']), day: likely, millimetres: z.number().nullable(), reason: z.string().nullable() });
export const NoneSoFar = shape(
  'NoneSoFar',
  { noneByDay: day, seasonsAlike: count, quantiles: z.array(SnowQuantile), chances: z.array(SnowChance), curve: z.array(SnowChance), neverChance: chance.nullable() },
  'The same, given that none has fallen up to and with this day: from the seasons in which that was so.',
);
export const FirstSnow = shape('FirstSnow', {
  stationId: id,
  stationName: z.string(),
  distanceKilometres: z.number(),
  thresholdMillimetres: z.number(),
  quantileType: QuantileType,
  seasonLabel: z.string(),
  startDay: day,
  endDay: day,
  happenedDay: likely.meta({ scalar: 'Day', description: 'Set when the station already recorded the first snow of this season.' }),
  seasonsWithSnow: count,
  seasonsWithout: count,
  seasonsRunning: count,
  seasons: z.array(SnowSeason),
  earliest: SnowSeason.nullable(),
  latest: SnowSeason.nullable(),
  quantiles: z.array(SnowQuantile),
  chances: z.array(SnowChance),
  curve: z.array(SnowChance).meta({ description: 'The chance that it has snowed by the end of each day on which it rises.' }),
  neverChance: chance.nullable(),
  noneSoFar: NoneSoFar.nullable(),
  trend: z.string().nullable(),
  why: z.array(z.string()),
});

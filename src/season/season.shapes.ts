import { z } from 'zod';
import { choice, count, day, decimal, editableFields, id, instant, int, shape, text } from '../platform/shapes.js';

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

export const QuantileType = choice('QuantileType', ['hazen', 'weibull', 'linear', 'medianUnbiased']);

import { z } from 'zod';
import { count, day, decimal, editableFields, id, instant, shape, text } from '../../platform/shapes.js';

/** Stations' records reach further back than anything a shop writes down. */
export const recordDate = z.iso
  .date('must be a day such as 1889-11-01')
  .refine((text) => text >= '1700-01-01' && text <= '2199-12-31', 'must lie between 1700-01-01 and 2199-12-31')
  .meta({ scalar: 'Day' });

const stationFields = {
  name: text(120),
  latitude: decimal(-90, 90),
  longitude: decimal(-180, 180),
  source: text(200).nullish().meta({ description: 'Where its records come from, and under which terms.' }),
};
export const Station = shape(
  'Station',
  {
    ...editableFields,
    ...stationFields,
    name: z.string(),
    source: z.string().nullable(),
    archivedAt: instant.nullable(),
  },
  'A weather station whose daily records the shop uses.',
);
export const StationCreate = z.strictObject(stationFields);
export const StationChange = z.strictObject(z.object(stationFields).partial().shape);

export const StationDistance = shape('StationDistance', {
  station: Station,
  distanceKilometres: z.number(),
  days: count,
  firstDate: recordDate.nullable(),
  lastDate: recordDate.nullable(),
});
export const StationSuggestion = shape(
  'StationSuggestion',
  { latitude: z.number(), longitude: z.number(), stations: z.array(StationDistance) },
  'Stations, the nearest first, by great-circle distance.',
);
export const StationRecord = shape(
  'StationRecord',
  {
    stationId: id,
    days: count,
    daysWithSnowfall: count,
    firstDate: recordDate.nullable(),
    lastDate: recordDate.nullable(),
  },
  'How much of a station is on record.',
);

const celsius = decimal(-90, 70).nullish();
const millimetres = decimal(0, 3000).nullish();
const percent = decimal(0, 100).nullish();
export const StationDayInput = shape(
  'StationDayEntry',
  {
    day: recordDate,
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
  day: recordDate,
  highCelsius: z.number().nullable(),
  lowCelsius: z.number().nullable(),
  precipitationMillimetres: z.number().nullable(),
  snowfallMillimetres: z.number().nullable(),
  snowTrace: z.boolean(),
  humidityPercent: z.number().nullable(),
});
export const DAYS_AT_ONCE = 4000;
export const LineFault = shape('LineFault', { line: count, detail: z.string() });
export const LineRange = shape('LineRange', { fromLine: count, toLine: count });
export const ImportSummary = shape(
  'ImportSummary',
  {
    stationId: id,
    stationInFile: z.string().nullable().meta({ description: "The station's own identifier, where a file tells it." }),
    format: z.string(),
    units: z.array(z.string()).meta({ description: 'In which units each column was read.' }),
    lines: count,
    days: count,
    added: count,
    changed: count,
    unchanged: count,
    faultyLines: count,
    validationErrors: z.array(LineFault).meta({ description: 'The first hundred lines that could not be read.' }),
    faultyLineRanges: z
      .array(LineRange)
      .meta({ description: 'Every line of which something could not be read, as stretches; the rest was recorded.' }),
    failedQuality: count.meta({
      scalar: 'Int',
      description: 'Values kept as not observed because their quality flag says so.',
    }),
    traces: count.meta({ scalar: 'Int', description: 'Days with some snow, too little to measure.' }),
    firstDate: recordDate.nullable(),
    lastDate: recordDate.nullable(),
    notes: z.array(z.string()),
  },
  'What an import did. The same records again change nothing.',
);

const forecastFields = {
  day,
  highCelsius: decimal(-90, 70),
  lowCelsius: decimal(-90, 70),
  humidityPercent: percent,
  precipitationMillimetres: millimetres,
};
export const WeatherForecastDay = shape(
  'WeatherForecastDay',
  {
    ...editableFields,
    ...forecastFields,
    humidityPercent: z.number().nullable(),
    precipitationMillimetres: z.number().nullable(),
    toldDate: day.meta({ description: 'The day on which it was entered: the longer ahead, the less it is believed.' }),
  },
  'A forecast for a coming day; as far as one of its lead time can be believed, it stands in for climate.',
);
export const WeatherForecastEntry = shape('WeatherForecastEntry', forecastFields);
export const WeatherForecast = shape('WeatherForecast', { days: z.array(WeatherForecastDay) });

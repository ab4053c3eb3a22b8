/** How products age at places in each year of weather that could come: tables for the plan. Pure. */
import { type AgeingSheet, type AgeTable, ageTable, meanAgeTable } from '../engine/cure/index.js';
import { type Place, placeTemperatures, type StationDay, weatherPath } from '../engine/weather/index.js';
import { numberOfDay } from '../platform/days.js';
import { LocalTime } from '../season/local-time.js';
import { type PackedWeather, unpacked } from '../season/stations/station-record.js';

/** A product at a place. */
export interface ClockQuestion {
  id: string;
  sheet: AgeingSheet;
  place: Place;
}

export interface PlaceClock extends ClockQuestion {
  /** What to expect: the mean over the years. Minutes count from 1970. */
  expected: AgeTable;
  /** One for each of the years asked for, in their order. */
  years: AgeTable[];
}

export interface AgeTablesQuestion {
  /** Null where no station has records. */
  weather: PackedWeather | null;
  forecast: StationDay[];
  fromDate: string;
  days: number;
  timeZone: string;
  /** Years of the record laid over the days to come. */
  sourceYears: readonly number[];
  clocks: readonly ClockQuestion[];
}

/**
 * A place's temperature by hour is the same for all products that stand there, so it is worked out once a year and place.
 * @returns for places without any weather to tell, clocks that run as at the sheet's reference temperature
 */
export function ageTablesOf(question: AgeTablesQuestion): PlaceClock[] {
  const { weather, forecast, fromDate, days, timeZone, sourceYears } = question;
  const fromMinute = Math.floor(new LocalTime(timeZone).moment(fromDate, 0).getTime() / 60_000);
  const record = weather && unpacked(weather).record;
  const paths =
    record === null
      ? []
      : sourceYears.map((year) => weatherPath(record, { startDate: fromDate, days }, year, forecast));
  const byPlace = new Map<string, Float64Array[]>();
  return question.clocks.map((clock) => {
    const key = JSON.stringify(clock.place);
    let celsius = byPlace.get(key);
    if (!celsius) {
      celsius = paths.map((path) => {
        const hours = new Float64Array(24 * days).fill(NaN);
        for (const span of placeTemperatures(path, { fromDayNumber: numberOfDay(fromDate), days, place: clock.place }))
          hours[span.fromMinute / 60] = span.celsius;
        return hours;
      });
      byPlace.set(key, celsius);
    }
    if (celsius.length === 0) {
      const steady = steadyTable(clock, fromMinute, days);
      return { ...clock, expected: steady, years: sourceYears.map(() => steady) };
    }
    const years = celsius.map((hours) => shared(ageTable(clock.sheet, fromMinute, hours)));
    return { ...clock, expected: shared(meanAgeTable(years)), years };
  });
}

/** A clock at one temperature for good: a heated place, or the sheet's own where nothing is known. */
export function steadyTable(
  { sheet, place }: Pick<ClockQuestion, 'sheet' | 'place'>,
  fromMinute: number,
  days: number,
): AgeTable {
  const at = place.shelter === 'heated' ? place.heatedToCelsius : sheet.referenceCelsius;
  return shared(ageTable(sheet, fromMinute, new Float64Array(24 * days).fill(at)));
}

/** In memory that threads share, since years of hours are megabytes. */
function shared({ fromMinute, drying, closing }: AgeTable): AgeTable {
  const copy = (sums: Float64Array): Float64Array => {
    const kept = new Float64Array(new SharedArrayBuffer(8 * sums.length));
    kept.set(sums);
    return kept;
  };
  return { fromMinute, drying: copy(drying), closing: copy(closing) };
}

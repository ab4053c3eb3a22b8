import { uniformInt } from 'pure-rand/distribution/uniformInt';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { dayNumber, dayNumberOf, daysInMonth, isoDay, partsOf, yearOf } from '../days.js';
import { EngineError } from '../error.js';
import { type EventRule, type Season, seasonSpan } from './first-event.js';
import { expectedDay } from './forecast.js';
import { emptyDay, type StationDay, type StationRecord, stationRecord } from './record.js';

/** The days a plan looks at. */
export interface Horizon {
  startDate: string;
  days: number;
}

/** A year of the record that can stand for the days to come. */
export interface WeatherYear {
  /** The year in which the horizon's first day falls when it is laid over the record. */
  sourceYear: number;
  /** The day of the season's event, on the calendar of the season asked about; null when that season had none. */
  eventDate: string | null;
}

export interface WeatherYearQuestion extends Horizon {
  /** Years with a larger share of the days' highs or lows missing are left out; 0.1 when absent. */
  maxMissingShare?: number;
  /** Ties each year's weather to the event of the same year, so that both can be drawn together. */
  event?: {
    rule: EventRule;
    seasons: readonly Season[];
    /** The season asked about. */
    startYear: number;
    /** Only years that also had none up to and including this day. First events only. */
    noneByDate?: string | null;
  };
}

/** The years of a record that can stand for a horizon, and those that cannot. */
export function weatherYears(
  record: StationRecord,
  question: WeatherYearQuestion,
): { usable: WeatherYear[]; excluded: { sourceYear: number; reason: string }[] } {
  const from = requireHorizon(question);
  const { days, event, maxMissingShare = 0.1 } = question;
  const usable: WeatherYear[] = [];
  const excluded: { sourceYear: number; reason: string }[] = [];
  if (record.byDate.size === 0) return { usable, excluded };
  const seasons = new Map(event?.seasons.map((one) => [one.startYear, one]));
  for (let sourceYear = yearOf(record.firstDayNumber); sourceYear <= yearOf(record.lastDayNumber); sourceYear += 1) {
    let missing = 0;
    for (let k = 0; k < days; k += 1) {
      const one = record.byDate.get(sourceDayNumber(from + k, sourceYear - yearOf(from)));
      if (!one || one.highCelsius === null || one.lowCelsius === null) missing += 1;
    }
    if (missing > maxMissingShare * days) {
      excluded.push({ sourceYear, reason: `${missing} of ${days} days lack a high or a low` });
      continue;
    }
    if (!event) {
      usable.push({ sourceYear, eventDate: null });
      continue;
    }
    const told = eventOf(seasons.get(event.startYear + sourceYear - yearOf(from)), event);
    if (typeof told === 'string') excluded.push({ sourceYear, reason: told });
    else usable.push({ sourceYear, ...told });
  }
  return { usable, excluded };
}

/** The year's event on the asked season's calendar, or why the year does not serve. */
function eventOf(
  season: Season | undefined,
  { rule, startYear, noneByDate }: NonNullable<WeatherYearQuestion['event']>,
): { eventDate: string | null } | string {
  if (!season) return 'its season is not on record';
  if (season.status === 'excluded' || season.status === 'running')
    return season.reason ?? 'its season is not on record to the end';
  const { start } = seasonSpan(rule, startYear);
  const day = season.status === 'event' ? start + season.dayOfSeason : null;
  if (noneByDate && day !== null && rule.pick === 'first' && day <= dayNumber(noneByDate, 'noneByDate'))
    return `it had come by ${noneByDate} in that year`;
  return { eventDate: day === null ? null : isoDay(day) };
}

/**
 * One year's weather laid over the days to come. What was observed takes the place of the days it covers, a forecast as far
 * as one of its lead time can be believed (`expectedDay`), field by field:
 * rain it does not tell is that year's, humidity it does not tell is unknown. What was not observed is taken from
 * the nearest day of that year within a week, so that one lost day does not read as one without weather.
 */
export function weatherPath(
  record: StationRecord,
  horizon: Horizon,
  sourceYear: number,
  forecast: readonly StationDay[] = [],
): StationRecord {
  const from = requireHorizon(horizon);
  const shift = sourceYear - yearOf(from);
  const path: StationDay[] = [];
  for (let k = 0; k < horizon.days; k += 1)
    path.push(filledDay(record, sourceDayNumber(from + k, shift), isoDay(from + k)));
  for (const told of forecast) {
    const k = dayNumber(told.day, 'forecast') - from;
    const climate = path[k];
    if (!climate) continue;
    if (told.leadDays !== undefined) {
      const { leadDays } = told;
      path[k] = expectedDay(record, { ...told, leadDays }, climate, sourceDayNumber(from + k, shift));
      continue;
    }
    path[k] = {
      ...told,
      highCelsius: told.highCelsius ?? climate.highCelsius,
      lowCelsius: told.lowCelsius ?? climate.lowCelsius,
      precipitationMillimetres: told.precipitationMillimetres ?? climate.precipitationMillimetres,
      snowfallMillimetres: told.snowfallMillimetres ?? climate.snowfallMillimetres,
    };
  }
  return stationRecord(path, record.dewBelowLowCelsius);
}

/** Years drawn with replacement, the same for the same seed. */
export function drawWeatherYears(years: readonly WeatherYear[], seed: number, count: number): WeatherYear[] {
  if (years.length === 0)
    throw new EngineError('no-weather-year', 'no year on record can stand for the days to come', 'years');
  const random = xoroshiro128plus(seed | 0);
  return Array.from({ length: count }, () => years[uniformInt(random, 0, years.length - 1)]!);
}

/** The same day of the year so many years away; 29 February is the 28th where there is none. */
export function sourceDayNumber(number: number, shiftYears: number): number {
  const { year, month, dayOfMonth } = partsOf(number);
  return dayNumberOf(year + shiftYears, month, Math.min(dayOfMonth, daysInMonth(year + shiftYears, month)));
}

const REACH_DAYS = 7;

function filledDay(record: StationRecord, number: number, day: string): StationDay {
  const filled = { ...(record.byDate.get(number) ?? emptyDay(day)), day };
  // High and low belong together: half of one day and half of another can stand on their heads.
  if (filled.highCelsius === null || filled.lowCelsius === null) filled.highCelsius = filled.lowCelsius = null;
  for (
    let away = 1;
    away <= REACH_DAYS && (filled.highCelsius === null || filled.precipitationMillimetres === null);
    away += 1
  ) {
    for (const near of [record.byDate.get(number - away), record.byDate.get(number + away)]) {
      if (!near) continue;
      if (filled.highCelsius === null && near.highCelsius !== null && near.lowCelsius !== null) {
        [filled.highCelsius, filled.lowCelsius, filled.humidityPercent] = [
          near.highCelsius,
          near.lowCelsius,
          near.humidityPercent,
        ];
      }
      filled.precipitationMillimetres ??= near.precipitationMillimetres;
    }
  }
  return filled;
}

function requireHorizon({ startDate, days }: Horizon): number {
  if (!Number.isInteger(days) || days < 1 || days > 1100)
    throw new EngineError('out-of-range', `a horizon must be 1 to 1100 whole days, not ${days}`, 'days');
  return dayNumber(startDate, 'startDate');
}

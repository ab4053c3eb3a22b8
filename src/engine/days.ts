import { EngineError } from './error.js';

const DAYS_BEFORE_MONTH = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334];

export const MINUTES_PER_DAY = 1440;

/** Whether a year of the Gregorian calendar has a 29 February. */
export const isLeapYear = (year: number): boolean => (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0;

/** Days in a month, 1 to 12. */
export function daysInMonth(year: number, month: number): number {
  return month === 2 ? (isLeapYear(year) ? 29 : 28) : [4, 6, 9, 11].includes(month) ? 30 : 31;
}

/** The count of days from 1970-01-01 to a day known to be real: plain arithmetic, since records have tens of thousands. */
export function dayNumberOf(year: number, month: number, dayOfMonth: number): number {
  const before = year - 1;
  const leapDay = month > 2 && isLeapYear(year) ? 1 : 0;
  return (
    before * 365 +
    Math.floor(before / 4) -
    Math.floor(before / 100) +
    Math.floor(before / 400) +
    DAYS_BEFORE_MONTH[month - 1]! +
    leapDay +
    dayOfMonth -
    1 -
    719_162
  );
}

/** Reads YYYY-MM-DD; undefined unless it is a real day from year 1 on. */
export function parseDay(text: string): number | undefined {
  const match = /^(\d{4})-(\d{2})-(\d{2})$/.exec(text);
  if (!match) return undefined;
  const [year, month, dayOfMonth] = [Number(match[1]), Number(match[2]), Number(match[3])];
  if (year < 1 || month < 1 || month > 12 || dayOfMonth < 1 || dayOfMonth > daysInMonth(year, month)) return undefined;
  return dayNumberOf(year, month, dayOfMonth);
}

/**
 * A plain day as a count of days since 1970-01-01.
 * @throws EngineError `bad-day` unless `iso` is a real day written YYYY-MM-DD
 */
export function dayNumber(iso: string, path = ''): number {
  const number = parseDay(iso);
  if (number === undefined) throw new EngineError('bad-day', `'${iso}' is not a day written as YYYY-MM-DD`, path);
  return number;
}

/** The year, month and day of a count of days: Howard Hinnant's `civil_from_days`, years counted from 1 March. */
export function partsOf(number: number): { year: number; month: number; dayOfMonth: number } {
  const shifted = number + 719_468;
  const era = Math.floor(shifted / 146_097);
  const dayOfEra = shifted - era * 146_097;
  const yearOfEra = Math.floor(
    (dayOfEra - Math.floor(dayOfEra / 1460) + Math.floor(dayOfEra / 36_524) - Math.floor(dayOfEra / 146_096)) / 365,
  );
  const dayOfYear = dayOfEra - (365 * yearOfEra + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100));
  const fromMarch = Math.floor((5 * dayOfYear + 2) / 153);
  const month = fromMarch < 10 ? fromMarch + 3 : fromMarch - 9;
  return {
    year: yearOfEra + era * 400 + (month <= 2 ? 1 : 0),
    month,
    dayOfMonth: dayOfYear - Math.floor((153 * fromMarch + 2) / 5) + 1,
  };
}

/** The day, as YYYY-MM-DD, that lies so many days after 1970-01-01. */
export function isoDay(number: number): string {
  const { year, month, dayOfMonth } = partsOf(number);
  return `${String(year).padStart(4, '0')}-${month < 10 ? '0' : ''}${month}-${dayOfMonth < 10 ? '0' : ''}${dayOfMonth}`;
}

/** A day of any year, such as 1 July. */
export interface MonthDay {
  month: number;
  dayOfMonth: number;
}

/**
 * Reads MM-DD.
 * @throws EngineError `bad-month-day`
 */
export function monthDay(text: string, path = ''): MonthDay {
  const match = /^(\d{2})-(\d{2})$/.exec(text);
  const [month, dayOfMonth] = [Number(match?.[1]), Number(match?.[2])];
  // 2000 is a leap year, so 02-29 may be named.
  if (!match || month < 1 || month > 12 || dayOfMonth < 1 || dayOfMonth > daysInMonth(2000, month)) {
    throw new EngineError('bad-month-day', `'${text}' is not a day of the year written as MM-DD`, path);
  }
  return { month, dayOfMonth };
}

/** The count for that day in a year; 29 February is 28 February where there is none. */
export function onYear({ month, dayOfMonth }: MonthDay, year: number): number {
  return dayNumberOf(year, month, Math.min(dayOfMonth, daysInMonth(year, month)));
}

/** The calendar year of a day. */
export const yearOf = (number: number): number => partsOf(number).year;

/** Largest minute the engine computes with; keeps every sum inside 32-bit integers. */
export const MAX_MINUTES = 2 ** 29;

import { EngineError } from '../error.js';

const DAY_MILLISECONDS = 86_400_000;

/**
 * A plain day as a count of days since 1970-01-01.
 * @throws EngineError `bad_day` unless `iso` is a real day written YYYY-MM-DD.
 */
export function dayNumber(iso: string, path = ''): number {
  const time = /^\d{4}-\d{2}-\d{2}$/.test(iso) ? Date.parse(`${iso}T00:00:00Z`) : NaN;
  // Some runtimes roll 30 February into March; a day that does not print back as itself is no day.
  if (Number.isNaN(time) || new Date(time).toISOString().slice(0, 10) !== iso) {
    throw new EngineError('bad_day', `'${iso}' is not a day written as YYYY-MM-DD`, path);
  }
  return time / DAY_MILLISECONDS;
}

/** The day, as YYYY-MM-DD, that lies so many days after 1970-01-01. */
export function isoDay(number: number): string {
  return new Date(number * DAY_MILLISECONDS).toISOString().slice(0, 10);
}

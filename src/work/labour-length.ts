/** How long one stretch of work may be before it is a slip of the hand or a timer that nobody stopped. */
import { minutesInWords } from '../engine/durations.js';
import { Invalid } from '../platform/errors.js';

/** More than this is no stretch of one person's work. Common practice, no source. */
const MOST_MINUTES = 16 * 60;
/** A timer that runs longer than this has outlasted a long working day. Common practice, no source. */
const LONG_DAY_MINUTES = 10 * 60;

const minutesBetween = (from: Date, to: Date): number => Math.round((to.getTime() - from.getTime()) / 60_000);

export const isTooLong = (startedAt: Date, endedAt: Date): boolean => minutesBetween(startedAt, endedAt) > MOST_MINUTES;

/** @throws Invalid when there is more between a start and an end than anybody works in one go */
export function checkLength(startedAt: Date, endedAt: Date, pointer: string): void {
  if (!isTooLong(startedAt, endedAt)) return;
  const detail =
    `would make it ${minutesInWords(minutesBetween(startedAt, endedAt))}; one entry holds ${MOST_MINUTES / 60} ` +
    `hours at most. Give the true end as ${pointer.slice(1)}, and work on several days as several entries`;
  throw new Invalid([{ detail, pointer }], 'labour-too-long');
}

/** What to tell of an entry still running, if anything. */
export function runningWarning(entry: { startedAt: Date; endedAt: Date | null }, now: Date): string | null {
  const minutes = entry.endedAt ? 0 : minutesBetween(entry.startedAt, now);
  return minutes > LONG_DAY_MINUTES
    ? `It has run for ${minutesInWords(minutes)}, and all of it counts as work until it is ended: clock off with the true end.`
    : null;
}

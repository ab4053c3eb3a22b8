import { minutesInWords } from '../durations.js';
import { required } from '../look-up.js';
import { type CoatAge, coatAge, minuteOfAge } from './clock.js';
import type { TemperatureCourse } from './course.js';
import { comesBy, type LikelyMinute, type LikelyOptions, staysUntil } from './likely.js';
import type { DryingSheet, RecoatWindow } from './product.js';

export interface RecoatPeriod {
  /** By when it is open, in so many of the scenarios. */
  opens: LikelyMinute[];
  /** Until when it is still open, in so many of the scenarios; null when it never closes or beyond their end. */
  closes: LikelyMinute[];
  /** Whether the sheet gives a latest moment at all. */
  hasEnd: boolean;
}

export type RecoatReason = 'open' | 'sanded' | 'too-soon' | 'between-windows' | 'closed';

export interface RecoatAnswer {
  allowedNow: boolean;
  code: RecoatReason;
  reason: string;
  /** One per window of the sheet. */
  periods: RecoatPeriod[];
}

/**
 * Whether the next coat may go on now in every scenario, why, and when else.
 * @param sandedMinutes when the coat was sanded, up to now: once its last window has shut and it is hard enough to be
 *   handled, that lets the next coat on from then (common practice, no source)
 */
export function recoatNow(
  sheet: DryingSheet,
  courses: readonly TemperatureCourse[],
  ages: readonly CoatAge[],
  appliedMinute: number,
  options: LikelyOptions,
  sandedMinutes: readonly number[] = [],
): RecoatAnswer {
  const age = Math.min(...ages.map((one) => one.openingMinutes));
  const closing = Math.max(...ages.map((one) => one.closingMinutes));
  const periods = sheet.recoatMinutes.map(({ fromMinutes, toMinutes }): RecoatPeriod => {
    const at = (target: number, by: 'opening' | 'closing') =>
      courses.map((course) => minuteOfAge(sheet, course, appliedMinute, target, by));
    return {
      opens: comesBy(at(fromMinutes, 'opening'), options),
      closes: staysUntil(toMinutes == null ? [undefined] : at(toMinutes, 'closing'), options),
      hasEnd: toMinutes != null,
    };
  });
  const judged = judge(sheet, age, closing);
  const sanded =
    judged.code === 'closed'
      ? sandedMinutes.filter((minute) => takesSanding(sheet, courses, appliedMinute, minute)).sort((a, b) => a - b)[0]
      : undefined;
  if (sanded === undefined) return { ...judged, periods };
  const fromThen = options.probabilities.map((probability) => ({ probability, minute: sanded }));
  const never = options.probabilities.map((probability) => ({ probability, minute: null }));
  return {
    allowedNow: true,
    code: 'sanded',
    reason: 'Its last window had shut, and it was sanded since: the next coat may go on once the dust is off.',
    periods: [...periods, { opens: fromThen, closes: never, hasEnd: false }],
  };
}

/** Sanding counts once the last window has shut, in any scenario, and the coat can be handled, in all of them. */
function takesSanding(
  sheet: DryingSheet,
  courses: readonly TemperatureCourse[],
  appliedMinute: number,
  minute: number,
): boolean {
  const ages = courses.map((course) => coatAge(sheet, course, appliedMinute, minute));
  const last = sheet.recoatMinutes.at(-1)?.toMinutes;
  return (
    last != null &&
    ages.some((one) => one.closingMinutes > last + DUST_MINUTES) &&
    ages.every((one) => one.equivalentMinutes >= sheet.handleMinutes - DUST_MINUTES)
  );
}

/** Sums over hours end a rounding error beside the minute they mean. */
const DUST_MINUTES = 1e-6;

function judge(sheet: DryingSheet, age: number, closing: number): Omit<RecoatAnswer, 'periods'> {
  const at = `at ${sheet.referenceCelsius} °C`;
  const old = (window: RecoatWindow): boolean => age >= window.fromMinutes - DUST_MINUTES;
  const shut = (window: RecoatWindow): boolean => closing > (window.toMinutes ?? Infinity) + DUST_MINUTES;
  const open = sheet.recoatMinutes.find((window) => old(window) && !shut(window));
  if (open) {
    const until = open.toMinutes == null ? 'and stays open' : `and closes at ${minutesInWords(open.toMinutes)}`;
    return {
      allowedNow: true,
      code: 'open',
      reason: `The coat's age is ${minutesInWords(age)} ${at}; the window from ${minutesInWords(open.fromMinutes)} is open ${until}.`,
    };
  }
  const next = sheet.recoatMinutes.find((window) => !old(window) && !shut(window));
  const missed = sheet.recoatMinutes.findLast(shut);
  const passed = missed
    ? `The window up to ${minutesInWords(required(missed.toMinutes, 'end of a closed window'))} ${at} has closed`
    : '';
  if (next && missed)
    return {
      allowedNow: false,
      code: 'between-windows',
      reason: `${passed}; the next opens at ${minutesInWords(next.fromMinutes)}, and the coat's age is ${minutesInWords(age)}.`,
    };
  if (next)
    return {
      allowedNow: false,
      code: 'too-soon',
      reason: `The coat's age is ${minutesInWords(age)} ${at}; the window opens at ${minutesInWords(next.fromMinutes)}.`,
    };
  return {
    allowedNow: false,
    code: 'closed',
    reason:
      `${passed}, and it was the last; the sheet allows no more coats on it as it is. ` +
      'Sand it once it can be handled, and record that.',
  };
}

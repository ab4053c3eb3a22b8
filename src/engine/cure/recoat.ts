import { MAX_MINUTES } from '../days.js';
import { required } from '../look-up.js';
import { type CoatAge, minuteOfAge } from './clock.js';
import type { TemperatureCourse } from './course.js';
import { comesBy, type LikelyMinute, type LikelyOptions, staysUntil } from './likely.js';
import type { DryingSheet, RecoatWindow } from './product.js';
import { sayMinutes } from './words.js';

export interface RecoatPeriod {
  /** By when it is open, in so many of the scenarios. */
  opens: LikelyMinute[];
  /** Until when it is still open, in so many of the scenarios; null when it never closes or beyond their end. */
  closes: LikelyMinute[];
  /** Whether the sheet gives a latest moment at all. */
  hasEnd: boolean;
}

export type RecoatReason = 'open' | 'too-soon' | 'between-windows' | 'closed';

export interface RecoatAnswer {
  allowedNow: boolean;
  code: RecoatReason;
  reason: string;
  /** One per window of the sheet. */
  periods: RecoatPeriod[];
}

/** Whether the next coat may go on now in every scenario, why, and when else. */
export function recoatNow(
  sheet: DryingSheet,
  courses: readonly TemperatureCourse[],
  ages: readonly CoatAge[],
  appliedMinute: number,
  options: LikelyOptions,
): RecoatAnswer {
  const age = Math.min(...ages.map((one) => one.equivalentMinutes));
  const closing = Math.max(...ages.map((one) => one.closingMinutes));
  const periods = sheet.recoatMinutes.map(({ fromMinutes, toMinutes }): RecoatPeriod => {
    const at = (target: number, by: 'clock' | 'closing') =>
      courses.map((course) => minuteOfAge(sheet, course, appliedMinute, target, by));
    return {
      opens: comesBy(at(fromMinutes, 'clock'), options),
      closes: staysUntil(toMinutes == null ? [undefined] : at(toMinutes, 'closing'), options),
      hasEnd: toMinutes != null,
    };
  });
  return { ...judge(sheet, age, closing), periods };
}

/** Sums over hours end a rounding error beside the minute they mean. */
const DUST_MINUTES = 1e-6;

function judge(sheet: DryingSheet, age: number, closing: number): Omit<RecoatAnswer, 'periods'> {
  const at = `at ${sheet.referenceCelsius} °C`;
  const old = (window: RecoatWindow): boolean => age >= window.fromMinutes - DUST_MINUTES;
  const shut = (window: RecoatWindow): boolean => closing > (window.toMinutes ?? Infinity) + DUST_MINUTES;
  const open = sheet.recoatMinutes.find((window) => old(window) && !shut(window));
  if (open) {
    const until = open.toMinutes == null ? 'and stays open' : `and closes at ${sayMinutes(open.toMinutes)}`;
    return {
      allowedNow: true,
      code: 'open',
      reason: `The coat's age is ${sayMinutes(age)} ${at}; the window from ${sayMinutes(open.fromMinutes)} is open ${until}.`,
    };
  }
  const next = sheet.recoatMinutes.find((window) => !old(window) && !shut(window));
  const missed = sheet.recoatMinutes.findLast(shut);
  const passed = missed
    ? `The window up to ${sayMinutes(required(missed.toMinutes, 'end of a closed window'))} ${at} has closed`
    : '';
  if (next && missed)
    return {
      allowedNow: false,
      code: 'between-windows',
      reason: `${passed}; the next opens at ${sayMinutes(next.fromMinutes)}, and the coat's age is ${sayMinutes(age)}.`,
    };
  if (next)
    return {
      allowedNow: false,
      code: 'too-soon',
      reason: `The coat's age is ${sayMinutes(age)} ${at}; the window opens at ${sayMinutes(next.fromMinutes)}.`,
    };
  return {
    allowedNow: false,
    code: 'closed',
    reason: `${passed}, and it was the last; the sheet allows no more coats on it as it is.`,
  };
}

/** How long after a coat the next may start, as a schedule's relation takes it. */
export interface RecoatGaps {
  minWaitMinutes: number;
  /** Elapsed minutes in which it may not start; both ends are allowed. */
  forbidden: { fromMinutes: number; toMinutes: number }[];
}

/**
 * A sheet's recoat windows as elapsed whole minutes along an expected course of temperature.
 * @returns undefined when no window opens before the course ends
 */
export function recoatGaps(
  sheet: DryingSheet,
  course: TemperatureCourse,
  appliedMinute: number,
): RecoatGaps | undefined {
  const windows: { from: number; to: number }[] = [];
  for (const { fromMinutes, toMinutes } of sheet.recoatMinutes) {
    const opens = minuteOfAge(sheet, course, appliedMinute, fromMinutes);
    if (opens === undefined) continue;
    const closes = toMinutes == null ? undefined : minuteOfAge(sheet, course, appliedMinute, toMinutes, 'closing');
    const from = wholeUp(opens - appliedMinute);
    const to = closes === undefined ? MAX_MINUTES : wholeDown(closes - appliedMinute);
    // The window may run out on the wall clock before a cold coat is old enough for it.
    if (to >= from) windows.push({ from, to });
  }
  const first = windows[0];
  if (!first) return undefined;
  const forbidden = windows.flatMap(({ to }, k) =>
    to < MAX_MINUTES ? [{ fromMinutes: to, toMinutes: windows[k + 1]?.from ?? MAX_MINUTES }] : [],
  );
  return { minWaitMinutes: first.from, forbidden };
}

const wholeUp = (minutes: number): number => Math.max(0, Math.ceil(minutes - DUST_MINUTES));
const wholeDown = (minutes: number): number => Math.floor(minutes + DUST_MINUTES);

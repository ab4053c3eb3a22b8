import type { TemperatureCourse } from './course.js';
import { clockRate, closingRate, type DryingSheet, openingRate } from './product.js';

/** What a coat's temperatures amount to by a moment. */
export interface CoatAge {
  /** Its age as if it had stood at the reference temperature all the time. */
  equivalentMinutes: number;
  /** The same by the rate at which it comes to its recoat windows. */
  openingMinutes: number;
  /** The same by the rate at which recoat windows run out. */
  closingMinutes: number;
  elapsedMinutes: number;
  /** Time below the sheet's least temperature, which counted for nothing. */
  tooColdMinutes: number;
  /** Time above the sheet's most, which counted no more than the most. */
  tooHotMinutes: number;
  /** Time of which no temperature is known; counted for nothing. */
  unknownMinutes: number;
}

/**
 * Equivalent age: the sum over the course of time × rate, as in the maturity method (ASTM C1074 for concrete).
 * @param course as `validateCourse` accepts it
 */
export function coatAge(
  sheet: DryingSheet,
  course: TemperatureCourse,
  appliedMinute: number,
  atMinute: number,
): CoatAge {
  const age: CoatAge = {
    equivalentMinutes: 0,
    openingMinutes: 0,
    closingMinutes: 0,
    elapsedMinutes: Math.max(0, atMinute - appliedMinute),
    tooColdMinutes: 0,
    tooHotMinutes: 0,
    unknownMinutes: 0,
  };
  let known = 0;
  for (const span of course) {
    const minutes = Math.min(span.toMinute, atMinute) - Math.max(span.fromMinute, appliedMinute);
    if (minutes <= 0) continue;
    known += minutes;
    age.equivalentMinutes += minutes * clockRate(sheet, span.celsius);
    age.openingMinutes += minutes * openingRate(sheet, span.celsius);
    age.closingMinutes += minutes * closingRate(sheet, span.celsius);
    if (span.celsius < sheet.minCelsius) age.tooColdMinutes += minutes;
    if (span.celsius > sheet.maxCelsius) age.tooHotMinutes += minutes;
  }
  age.unknownMinutes = Math.max(0, age.elapsedMinutes - known);
  // Not knowing must never keep a window open: it runs out as if the unknown time were as warm as is allowed.
  age.closingMinutes += age.unknownMinutes * fastestClosing(sheet);
  return age;
}

/** As warm as is allowed. A printed table need not be fastest there. */
export const fastestClosing = (sheet: DryingSheet): number =>
  Math.max(
    closingRate(sheet, sheet.maxCelsius),
    ...(sheet.recoatRates ?? []).map((band) => closingRate(sheet, band.minCelsius)),
  );

/**
 * The first minute at which a coat is `targetMinutes` old at reference conditions.
 * @param by `clock` for stages, `opening` and `closing` for the ends of a recoat window
 * @returns undefined when the course ends before
 */
export function minuteOfAge(
  sheet: DryingSheet,
  course: TemperatureCourse,
  appliedMinute: number,
  targetMinutes: number,
  by: 'clock' | 'opening' | 'closing' = 'clock',
): number | undefined {
  if (targetMinutes <= 0) return appliedMinute;
  const rateOf = { clock: clockRate, opening: openingRate, closing: closingRate }[by];
  const unknownRate = by === 'closing' ? fastestClosing(sheet) : 0;
  let age = 0;
  let reached = appliedMinute;
  for (const span of course) {
    const to = span.toMinute;
    if (to <= appliedMinute) continue;
    const from = Math.max(span.fromMinute, appliedMinute);
    for (const [start, end, rate] of [
      [reached, from, unknownRate],
      [from, to, rateOf(sheet, span.celsius)],
    ] as const) {
      const additionalMachines = (end - start) * rate;
      if (end > start && additionalMachines > 0 && age + additionalMachines >= targetMinutes)
        return start + (targetMinutes - age) / rate;
      if (end > start) age += additionalMachines;
    }
    reached = to;
  }
  return undefined;
}

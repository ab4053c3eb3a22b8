import { EngineError } from '../error.js';

/**
 * A stretch of time at one temperature, `[fromMinute, toMinute)`. Minutes count from any origin, the same for all
 * that meet in one question.
 */
export interface TemperatureSpan {
  fromMinute: number;
  toMinute: number;
  celsius: number;
}

/** Spans in order that do not overlap; between them nothing is known. */
export type TemperatureCourse = readonly TemperatureSpan[];

/** @throws EngineError `bad-course` */
export function validateCourse(course: TemperatureCourse, path = 'course'): void {
  course.forEach((span, k) => {
    if (!Number.isFinite(span.fromMinute) || !Number.isFinite(span.celsius) || !(span.toMinute > span.fromMinute)) {
      throw new EngineError('bad-course', 'a span needs a temperature and must end after it starts', `${path}[${k}]`);
    }
    if (k > 0 && span.fromMinute < course[k - 1]!.toMinute)
      throw new EngineError('bad-course', 'spans must stand in order and not overlap', `${path}[${k}]`);
  });
}

/** One temperature from a minute to another, as in a heated area. */
export const constantCourse = (celsius: number, fromMinute: number, toMinute: number): TemperatureCourse => [
  { fromMinute, toMinute, celsius },
];

/** What a thermometer showed at a minute. */
export interface Reading {
  atMinute: number;
  celsius: number;
}

/**
 * Readings as a course: each stands from halfway after the one before to halfway before the next, but no further
 * than `reachMinutes` from itself; beyond that the place's temperature is not known from it.
 * @param readings any order; of two at one minute the later in the list stands
 */
export function courseFromReadings(readings: readonly Reading[], reachMinutes = 360): TemperatureCourse {
  const sorted = [...new Map(readings.map((one) => [one.atMinute, one])).values()].sort(
    (a, b) => a.atMinute - b.atMinute,
  );
  return sorted.map(({ atMinute, celsius }, k) => {
    const before = sorted[k - 1];
    const after = sorted[k + 1];
    const fromMinute = Math.max(atMinute - reachMinutes, before ? (before.atMinute + atMinute) / 2 : -Infinity);
    const toMinute = Math.min(atMinute + reachMinutes, after ? (atMinute + after.atMinute) / 2 : Infinity);
    return { fromMinute, toMinute, celsius };
  });
}

/**
 * Several courses as one: where an earlier one in the list knows the temperature, it stands, and the later ones
 * only fill its gaps: recorded, then forecast, then climate.
 */
export function joinCourses(courses: readonly TemperatureCourse[]): TemperatureCourse {
  return courses.reduce((known, filler) => fillGaps(known, filler), [] as TemperatureCourse);
}

function fillGaps(known: TemperatureCourse, filler: TemperatureCourse): TemperatureCourse {
  const joined: TemperatureSpan[] = [];
  let knownTo = -Infinity;
  let k = 0;
  const fillUpTo = (end: number): void => {
    for (; k < filler.length && filler[k]!.fromMinute < end; k += 1) {
      const span = filler[k]!;
      const fromMinute = Math.max(span.fromMinute, knownTo);
      const toMinute = Math.min(span.toMinute, end);
      if (fromMinute < toMinute) joined.push({ ...span, fromMinute, toMinute });
      // It may reach on beyond what is known next.
      if (span.toMinute > end) return;
    }
  };
  for (const one of known) {
    fillUpTo(one.fromMinute);
    joined.push(one);
    knownTo = one.toMinute;
  }
  fillUpTo(Infinity);
  return joined;
}

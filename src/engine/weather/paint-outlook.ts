import { dayNumber, dayNumberOf, isLeapYear, isoDay, MINUTES_PER_DAY, yearOf } from '../days.js';
import { EngineError } from '../error.js';
import { paintDate, type PaintDay, paintDays, type PaintSettings, paintWindows } from './paint-days.js';
import { DEFAULT_QUANTILE_TYPE, quantile, type QuantileType } from './quantile.js';
import type { StationDay, StationRecord } from './record.js';
import { weatherPath, weatherYears } from './weather-year.js';

/** Fourteen days of the year, counted from 1 January; the last one runs to 31 December. */
export interface FortnightProbability {
  /** 1 to 26. */
  fortnight: number;
  /** MM-DD. */
  from: string;
  to: string;
  observedDays: number;
  years: number;
  /** Share of its observed days that could be painted in; null when none was observed. */
  probability: number | null;
  /** Paintable days in the fortnight from year to year: in nine of ten years at least, in one of ten at least. */
  minLikelyDays: number | null;
  maxLikelyDays: number | null;
}

const FORTNIGHTS = 26;

/** Chance of a paintable day through the year, from as many observed days as are given. */
export function probabilityByFortnight(days: readonly PaintDay[]): FortnightProbability[] {
  const byYear = Array.from({ length: FORTNIGHTS }, () => new Map<number, { observed: number; paintable: number }>());
  for (const { day, paintable } of days) {
    if (paintable === null) continue;
    const number = dayNumber(day);
    const year = yearOf(number);
    const seen = byYear[fortnightOf(number)]!;
    const count = seen.get(year) ?? { observed: 0, paintable: 0 };
    count.observed += 1;
    if (paintable) count.paintable += 1;
    seen.set(year, count);
  }
  return byYear.map((seen, k) => {
    const counts = [...seen.values()];
    const observedDays = counts.reduce((sum, one) => sum + one.observed, 0);
    const paintable = counts.reduce((sum, one) => sum + one.paintable, 0);
    const whole = counts.filter((one) => one.observed >= 13).map((one) => one.paintable);
    return {
      fortnight: k + 1,
      from: isoDay(dayNumberOf(2001, 1, 1) + k * 14).slice(5),
      to: k === FORTNIGHTS - 1 ? '12-31' : isoDay(dayNumberOf(2001, 1, 1) + k * 14 + 13).slice(5),
      observedDays,
      years: seen.size,
      probability: observedDays === 0 ? null : paintable / observedDays,
      minLikelyDays: quantile(whole, 0.1) ?? null,
      maxLikelyDays: quantile(whole, 0.9) ?? null,
    };
  });
}

/** Counted in a common year, so that 29 February shares the fortnight of the 28th. */
function fortnightOf(number: number): number {
  const year = yearOf(number);
  const dayOfYear = number - dayNumberOf(year, 1, 1);
  const common = isLeapYear(year) && dayOfYear >= 59 ? dayOfYear - 1 : dayOfYear;
  return Math.min(FORTNIGHTS - 1, Math.floor(common / 14));
}

/** What both questions about the days to come need. */
export interface PaintQuestion {
  record: StationRecord;
  settings: PaintSettings;
  startDate: string;
  forecast?: readonly StationDay[];
  probabilities?: readonly number[];
  quantileType?: QuantileType;
}

export interface PaintDaysLeft {
  /** Years of the record that were laid over these days. */
  years: number;
  mean: number | null;
  minDays: number | null;
  maxDays: number | null;
  /** In so many of the years there are at most so many days. */
  quantiles: { probability: number; days: number | null }[];
  /** How many of the days the forecast tells. */
  weatherForecastDays: number;
}

/**
 * Days fit for paint from one day until the day before another, from every year on record.
 * @throws EngineError `bad-day`, `out-of-range`
 */
export function paintDaysLeft(question: PaintQuestion & { beforeDate: string }): PaintDaysLeft {
  const {
    startDate,
    beforeDate,
    forecast = [],
    probabilities = [0.1, 0.5, 0.9],
    quantileType = DEFAULT_QUANTILE_TYPE,
  } = question;
  const days = dayNumber(beforeDate, 'beforeDate') - dayNumber(startDate, 'startDate');
  const lastDate = isoDay(dayNumber(beforeDate) - 1);
  const weatherForecastDays = new Set(
    forecast.filter(({ day }) => day >= startDate && day < beforeDate).map(({ day }) => day),
  ).size;
  if (days <= 0)
    return {
      years: 0,
      mean: 0,
      minDays: 0,
      maxDays: 0,
      quantiles: probabilities.map((probability) => ({ probability, days: 0 })),
      weatherForecastDays,
    };
  const counts = overYears(
    question,
    days,
    (path) => paintDays(path, startDate, lastDate, question.settings).filter((one) => one.paintable).length,
  );
  const known = counts.length > 0;
  return {
    years: counts.length,
    mean: known ? counts.reduce((sum, one) => sum + one, 0) / counts.length : null,
    minDays: known ? Math.min(...counts) : null,
    maxDays: known ? Math.max(...counts) : null,
    quantiles: probabilities.map((probability) => ({
      probability,
      days: quantile(counts, probability, quantileType) ?? null,
    })),
    weatherForecastDays,
  };
}

export interface PaintWait {
  years: number;
  /** Waits so long at most in so many of the years; null beyond the days looked at. */
  quantiles: { probability: number; waitMinutes: number | null }[];
  /** Chance of a window starting within so many days. */
  within: { days: number; probability: number | null }[];
  /** In which share of the years none came in the days looked at. */
  probabilityNone: number | null;
}

export interface LastPaintDay {
  years: number;
  /** The latest day that has a paint day on it or after it in so many of the years; null when there is none. */
  quantiles: { probability: number; day: string | null }[];
  /** In half the years the last week looked at can still be painted in: it does not end here. */
  continues: boolean;
}

/**
 * The last day fit for paint from one day to another, both included, from every year on record.
 * @throws EngineError `bad-day`, `out-of-range`
 */
export function lastPaintDay(question: PaintQuestion & { endDate: string }): LastPaintDay {
  const { startDate, endDate, settings, probabilities = [0.8, 0.5, 0.2] } = question;
  const from = dayNumber(startDate, 'startDate');
  const days = dayNumber(endDate, 'endDate') - from + 1;
  const lasts = overYears(question, days, (path) => {
    let offset = days - 1;
    while (offset >= 0 && !paintDate(path, from + offset, settings).paintable) offset -= 1;
    return offset;
  }).sort((a, b) => b - a);
  return {
    years: lasts.length,
    quantiles: probabilities.map((probability) => {
      const offset = lasts[Math.max(0, Math.ceil(probability * lasts.length - 1e-9) - 1)] ?? -1;
      return { probability, day: offset < 0 ? null : isoDay(from + offset) };
    }),
    continues: lasts.filter((offset) => offset >= days - 7).length * 2 >= Math.max(1, lasts.length),
  };
}

/**
 * How long until paint weather holds for so many minutes in one piece. A quantile is a wait that one of the years had, not
 * one between two: between two working times lies a night.
 * @throws EngineError `bad-day`, `out-of-range`
 */
export function waitForPaintWindow(
  question: PaintQuestion & { windowMinutes: number; fromMinute?: number; horizonDays?: number },
): PaintWait {
  const { startDate, windowMinutes, horizonDays = 240, probabilities = [0.5, 0.8, 0.9] } = question;
  if (!(windowMinutes > 0))
    throw new EngineError(
      'out-of-range',
      `a window must be longer than 0 minutes, not ${windowMinutes}`,
      'windowMinutes',
    );
  const from = dayNumber(startDate, 'startDate');
  const waits = overYears(question, horizonDays, (path) => firstWindow(path, question, from, horizonDays));
  const share = (count: number): number | null => (waits.length === 0 ? null : count / waits.length);
  return {
    years: waits.length,
    quantiles: probabilities.map((probability) => ({
      probability,
      waitMinutes: quantile(waits, probability, 'inverseEmpirical') ?? null,
    })),
    within: [1, 3, 7, 14, 30].map((days) => ({
      days,
      probability: share(waits.filter((wait) => wait <= days * MINUTES_PER_DAY).length),
    })),
    probabilityNone: share(waits.filter((wait) => wait === Infinity).length),
  };
}

/** Minutes until the first stretch long enough, looked for a week at a time: most waits are short. */
function firstWindow(
  path: StationRecord,
  { settings, windowMinutes, fromMinute = 0 }: { settings: PaintSettings; windowMinutes: number; fromMinute?: number },
  from: number,
  horizonDays: number,
): number {
  const days: PaintDay[] = [];
  while (days.length < horizonDays) {
    for (let k = 0; k < 7 && days.length < horizonDays; k += 1)
      days.push(paintDate(path, from + days.length, settings));
    const windows = paintWindows(days, isoDay(from), windowMinutes);
    const next = windows.find((one) => one.endMinutes - Math.max(one.startMinutes, fromMinute) >= windowMinutes);
    if (next) return Math.max(0, next.startMinutes - fromMinute);
  }
  return Infinity;
}

function overYears(
  { record, startDate, forecast }: PaintQuestion,
  days: number,
  ask: (path: StationRecord) => number,
): number[] {
  return weatherYears(record, { startDate, days }).usable.map(({ sourceYear }) =>
    ask(weatherPath(record, { startDate, days }, sourceYear, forecast)),
  );
}

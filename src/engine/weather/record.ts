import { dayNumber } from './days.js';

/** One day at a station, °C, mm, per cent; null was not observed, which is not the same as none. */
export interface StationDay {
  /** YYYY-MM-DD. */
  day: string;
  highCelsius: number | null;
  lowCelsius: number | null;
  precipitationMillimetres: number | null;
  /** New snow of the day; 0 with `snowTrace` where some fell but too little to measure. */
  snowfallMillimetres: number | null;
  snowTrace: boolean;
  /** Mean relative humidity of the day. */
  humidityPercent: number | null;
}

/** A day of which nothing was observed. */
export const emptyDay = (day: string): StationDay => ({
  day,
  highCelsius: null,
  lowCelsius: null,
  precipitationMillimetres: null,
  snowfallMillimetres: null,
  snowTrace: false,
  humidityPercent: null,
});

/** Station days by day number; days without a row are not in it. Build it once and hand it to many questions. */
export interface StationRecord {
  readonly byDay: ReadonlyMap<number, StationDay>;
  /** Day numbers of the first and the last row; 0 and −1 when there is none. */
  readonly firstDayNumber: number;
  readonly lastDayNumber: number;
}

/**
 * Puts daily records in order. A day given twice counts as given last.
 * @throws EngineError `bad-day`
 */
export function stationRecord(days: Iterable<StationDay>): StationRecord {
  const byDay = new Map<number, StationDay>();
  let first = Infinity;
  let last = -Infinity;
  for (const one of days) {
    const number = dayNumber(one.day, 'day');
    byDay.set(number, one);
    if (number < first) first = number;
    if (number > last) last = number;
  }
  return byDay.size === 0 ? { byDay, firstDayNumber: 0, lastDayNumber: -1 } : { byDay, firstDayNumber: first, lastDayNumber: last };
}

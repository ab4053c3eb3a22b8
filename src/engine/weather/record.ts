import { dayNumber } from '../days.js';
import { dewPointCelsius } from './dew-point.js';

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
  /** Of a forecast, how many days ahead it was told; absent: as observed. */
  leadDays?: number;
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
  readonly byDate: ReadonlyMap<number, StationDay>;
  /** Day numbers of the first and the last row; 0 and −1 when there is none. */
  readonly firstDayNumber: number;
  readonly lastDayNumber: number;
  /** How far the dew point was below the day's low, by month, January first; 0 where too few days tell. */
  readonly dewBelowLowCelsius: readonly number[];
}

/** Fewer days with humidity do not make a month's habit. */
const FEWEST_HUMID_DAYS = 30;

/**
 * Puts daily records in order, and learns how damp the station's months are. A day given twice counts as given last.
 * @param dewBelowLowCelsius taken as it is when given, instead of being learnt from these days
 * @throws EngineError `bad-day`
 */
export function stationRecord(days: Iterable<StationDay>, dewBelowLowCelsius?: readonly number[]): StationRecord {
  const byDate = new Map<number, StationDay>();
  let first = Infinity;
  let last = -Infinity;
  for (const one of days) {
    const number = dayNumber(one.day, 'day');
    byDate.set(number, one);
    if (number < first) first = number;
    if (number > last) last = number;
  }
  const span =
    byDate.size === 0 ? { firstDayNumber: 0, lastDayNumber: -1 } : { firstDayNumber: first, lastDayNumber: last };
  return { byDate, ...span, dewBelowLowCelsius: dewBelowLowCelsius ?? learnDewBelowLow(byDate.values()) };
}

function learnDewBelowLow(days: Iterable<StationDay>): number[] {
  const sums = Array.from({ length: 12 }, () => ({ count: 0, below: 0 }));
  for (const day of days) {
    const dew = observedDewPoint(day);
    if (dew === undefined || day.lowCelsius === null) continue;
    const sum = sums[monthIndex(day.day)]!;
    sum.count += 1;
    sum.below += day.lowCelsius - dew;
  }
  return sums.map(({ count, below }) => (count < FEWEST_HUMID_DAYS ? 0 : below / count));
}

/** From the day's mean humidity at the middle of its high and low. */
export function observedDewPoint({ highCelsius, lowCelsius, humidityPercent }: StationDay): number | undefined {
  if (highCelsius === null || lowCelsius === null || humidityPercent === null || humidityPercent <= 0) return undefined;
  return dewPointCelsius((highCelsius + lowCelsius) / 2, Math.min(100, humidityPercent));
}

/** 0 for January. */
export const monthIndex = (day: string): number => Number(day.slice(5, 7)) - 1;

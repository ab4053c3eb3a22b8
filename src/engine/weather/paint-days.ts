import { dayNumber, isoDay, MINUTES_PER_DAY } from '../days.js';
import { EngineError } from '../error.js';
import { required } from '../look-up.js';
import { airCelsiusAtHumidity } from './dew-point.js';
import { DEFAULT_PAINT_LIMITS, type PaintLimits } from './paint-decision.js';
import { type DayCurve, dayDewPointCelsius, type Place, placeCelsiusThrough, STEP_MINUTES } from './place.js';
import type { StationRecord } from './record.js';

export interface PaintSettings {
  place: Place;
  limits?: PaintLimits;
  /** Hours in which anyone would paint, minutes after local midnight; the whole day when absent. */
  hours?: { fromMinute: number; toMinute: number };
  /** The same by weekday, Monday first; null on a day on which nobody works. Takes the place of `hours`. */
  weekHours?: readonly (MinuteSpan | null)[];
  /** How long the weather must hold in one piece; 240 when absent. */
  minWindowMinutes?: number;
  /** Outdoors, a day with more is no paint day: a daily record does not say at which hour it fell. 0.2 when absent. */
  maxPrecipitationMillimetres?: number;
  /** How far the metal's temperature runs behind the air's; 60 when absent (common practice, no source). */
  metalLagMinutes?: number;
  dayCurve?: DayCurve;
}

/** Minutes after the day's local midnight, `[fromMinute, toMinute)`, to at most 1440. */
export interface MinuteSpan {
  fromMinute: number;
  toMinute: number;
}

export type PaintDayRefusal = 'rain' | 'cold' | 'hot' | 'damp' | 'too-short';

export interface PaintDay {
  day: string;
  /** Every stretch that qualifies, however short. */
  windows: MinuteSpan[];
  qualifyingMinutes: number;
  /** Whether one stretch is long enough; null when the day was not observed well enough to say. */
  paintable: boolean | null;
  /** What kept the most of the day from it, when not paintable. */
  refusal: PaintDayRefusal | null;
}

/** @throws EngineError `out-of-range` */
export function paintDate(record: StationRecord, number: number, settings: PaintSettings): PaintDay {
  const { place, limits = DEFAULT_PAINT_LIMITS, minWindowMinutes = 240, maxPrecipitationMillimetres = 0.2 } = settings;
  // Day 0 was a Thursday.
  const hours = settings.weekHours ? settings.weekHours[(((number + 3) % 7) + 7) % 7] : settings.hours;
  const { fromMinute: open, toMinute: close } = hours ?? { fromMinute: 0, toMinute: MINUTES_PER_DAY };
  if (!(open >= 0 && open < close && close <= MINUTES_PER_DAY))
    throw new EngineError('out-of-range', 'paint hours must lie within one day', 'hours');
  const today = record.byDate.get(number);
  const day = today?.day ?? isoDay(number);
  const none = (paintable: false | null, refusal: PaintDayRefusal | null): PaintDay => ({
    day,
    windows: [],
    qualifyingMinutes: 0,
    paintable,
    refusal,
  });
  if (hours === null) return none(false, null);
  const celsius = placeCelsiusThrough(record, number, place, settings.dayCurve);
  if (!today || !celsius) return none(null, null);
  if (place.shelter === 'outdoors') {
    if (today.precipitationMillimetres === null) return none(null, null);
    if (today.precipitationMillimetres > maxPrecipitationMillimetres) return none(false, 'rain');
  }
  const dew = required(dayDewPointCelsius(today, record.dewBelowLowCelsius), 'dew point of a day with temperatures');
  // Both rules about damp as temperatures, once a day: the air must be warmer than one, the metal than the other.
  const dry = {
    airCelsius: airCelsiusAtHumidity(dew, limits.maxHumidityPercent),
    metalCelsius: dew + limits.dewPointMarginCelsius,
  };
  const lag = Math.round((settings.metalLagMinutes ?? 60) / STEP_MINUTES);
  // Yesterday only matters where the metal's temperature shortly after midnight does.
  const before =
    open < lag * STEP_MINUTES ? placeCelsiusThrough(record, number - 1, place, settings.dayCurve) : undefined;
  const counts: Record<'cold' | 'hot' | 'damp', number> = { cold: 0, hot: 0, damp: 0 };
  const windows: MinuteSpan[] = [];
  for (let step = 0; step < celsius.length; step += 1) {
    const fromMinute = Math.max(open, step * STEP_MINUTES);
    const toMinute = Math.min(close, (step + 1) * STEP_MINUTES);
    if (fromMinute >= toMinute) continue;
    const air = celsius[step]!;
    const metal = step >= lag ? celsius[step - lag]! : (before?.[before.length + step - lag] ?? celsius[0]!);
    const wrong = refusalAt(air, metal, dry, limits);
    if (wrong) {
      counts[wrong] += 1;
      continue;
    }
    const last = windows.at(-1);
    if (last && last.toMinute === fromMinute) last.toMinute = toMinute;
    else windows.push({ fromMinute, toMinute });
  }
  const lengths = windows.map((one) => one.toMinute - one.fromMinute);
  const paintable = lengths.some((length) => length >= minWindowMinutes);
  const worst = (['cold', 'hot', 'damp'] as const).reduce((a, b) => (counts[b] > counts[a] ? b : a));
  return {
    day,
    windows,
    qualifyingMinutes: lengths.reduce((sum, one) => sum + one, 0),
    paintable,
    refusal: paintable ? null : counts[worst] === 0 ? 'too-short' : worst,
  };
}

function refusalAt(
  air: number,
  metal: number,
  dry: { airCelsius: number; metalCelsius: number },
  limits: PaintLimits,
): 'cold' | 'hot' | 'damp' | undefined {
  if (air < limits.minCelsius || metal < limits.minCelsius) return 'cold';
  if (air > limits.maxCelsius || metal > limits.maxCelsius) return 'hot';
  return air < dry.airCelsius || metal < dry.metalCelsius ? 'damp' : undefined;
}

/** Every day from one to another, both included. */
export function paintDays(
  record: StationRecord,
  startDate: string,
  endDate: string,
  settings: PaintSettings,
): PaintDay[] {
  const days: PaintDay[] = [];
  for (
    let number = dayNumber(startDate, 'startDate'), last = dayNumber(endDate, 'endDate');
    number <= last;
    number += 1
  )
    days.push(paintDate(record, number, settings));
  return days;
}

/** An interval as a schedule takes it: minutes since an origin's midnight, `[startMinutes, endMinutes)`. */
export interface PaintWindow {
  startMinutes: number;
  endMinutes: number;
}

/**
 * The stretches long enough to paint in, joined over midnight. Every day counts 1440 minutes; a caller whose clock
 * changes moves them itself.
 * @param originDay its midnight is minute 0
 */
export function paintWindows(days: readonly PaintDay[], originDay: string, minWindowMinutes = 240): PaintWindow[] {
  const origin = dayNumber(originDay, 'originDay');
  const joined: PaintWindow[] = [];
  for (const { day, windows } of days) {
    const midnight = (dayNumber(day) - origin) * MINUTES_PER_DAY;
    for (const { fromMinute, toMinute } of windows) {
      const last = joined.at(-1);
      if (last && last.endMinutes === midnight + fromMinute) last.endMinutes = midnight + toMinute;
      else joined.push({ startMinutes: midnight + fromMinute, endMinutes: midnight + toMinute });
    }
  }
  return joined.filter((one) => one.endMinutes - one.startMinutes >= minWindowMinutes);
}

import { MINUTES_PER_DAY } from '../days.js';
import { EngineError } from '../error.js';
import { monthIndex, observedDewPoint, type StationDay, type StationRecord } from './record.js';

/** Minutes of one step of the daily curve. */
export const STEP_MINUTES = 15;
const STEPS = MINUTES_PER_DAY / STEP_MINUTES;

/**
 * Where the work stands.
 * `unheated`: a shed feels `swingShare` of the daily swing around the day's mean (0.5 when absent: common practice,
 * no source; a thermometer in the shed knows better) and keeps rain off.
 * `heated`: never below its own temperature, with the outdoor air's moisture in it.
 */
export type Place =
  | { shelter: 'outdoors' }
  | { shelter: 'unheated'; swingShare?: number }
  | { shelter: 'heated'; heatedToCelsius: number };

/** When a day is coldest and warmest, minutes after local midnight. */
export interface DayCurve {
  coldestMinute: number;
  warmestMinute: number;
}

/** Near sunrise and at mid-afternoon. */
export const DEFAULT_DAY_CURVE: DayCurve = { coldestMinute: 360, warmestMinute: 900 };

/**
 * Air temperature outdoors through one day, at the middle of each quarter of an hour: three pieces of a cosine, from
 * last night down to the low, up to the high three hours after noon, and down towards the next low. The ESRA curve:
 * Huld, Šúri, Dunlop & Micale (2006), Environmental Modelling & Software 21, 1650–1661, as told by the solaR package's
 * reference for `fTemp`; with a fixed hour in the place of sunrise.
 * @returns undefined when the day's high or low was not observed
 */
export function airCelsiusThrough(
  record: StationRecord,
  number: number,
  curve: DayCurve = DEFAULT_DAY_CURVE,
): Float64Array | undefined {
  const today = record.byDate.get(number);
  if (!today || today.highCelsius === null || today.lowCelsius === null) return undefined;
  const { highCelsius: high, lowCelsius: low } = today;
  const highBefore = record.byDate.get(number - 1)?.highCelsius ?? high;
  const lowAfter = record.byDate.get(number + 1)?.lowCelsius ?? low;
  const { warmShare, risesAt, fallsAt } = shapesOf(curve);
  const celsius = new Float64Array(STEPS);
  for (let step = 0; step < STEPS; step += 1) {
    // The cold end and the warm end of the piece this step lies in.
    const cold = step < fallsAt ? low : lowAfter;
    const warm = step < risesAt ? highBefore : high;
    celsius[step] = cold + (warm - cold) * warmShare[step]!;
  }
  return celsius;
}

/** Temperature at a place through one day, in the same steps. */
export function placeCelsiusThrough(
  record: StationRecord,
  number: number,
  place: Place,
  curve: DayCurve = DEFAULT_DAY_CURVE,
): Float64Array | undefined {
  const air = airCelsiusThrough(record, number, curve);
  if (!air || place.shelter === 'outdoors') return air;
  // Plain loops: a year of days through typed arrays' callbacks takes several times as long.
  if (place.shelter === 'heated') {
    for (let step = 0; step < STEPS; step += 1)
      if (air[step]! < place.heatedToCelsius) air[step] = place.heatedToCelsius;
    return air;
  }
  const share = place.swingShare ?? 0.5;
  if (!(share >= 0 && share <= 1))
    throw new EngineError(
      'out-of-range',
      `the share of the daily swing must lie between 0 and 1, not ${share}`,
      'swingShare',
    );
  let sum = 0;
  for (let step = 0; step < STEPS; step += 1) sum += air[step]!;
  const mean = sum / STEPS;
  for (let step = 0; step < STEPS; step += 1) air[step] = mean + (air[step]! - mean) * share;
  return air;
}

/**
 * The day's dew point, taken to hold all day: from its mean humidity at the middle of high and low; where no humidity
 * was observed, so far below the low as the station's other days in that month were (`stationRecord` learns it), or,
 * where it never observed any, the low itself (FAO Irrigation and Drainage Paper 56, chapter 3: where humidity is
 * lacking the dew point may be taken to be near the daily minimum). At Boston the three are 0.8, 3.4 and 4.5 °C RMS
 * from the observed daily mean, the last too damp by 2.9: enough for planning, not for deciding whether to spray now.
 * @param dewBelowLowCelsius by month, January first
 */
export function dayDewPointCelsius(day: StationDay, dewBelowLowCelsius?: readonly number[]): number | undefined {
  if (day.highCelsius === null || day.lowCelsius === null) return undefined;
  return observedDewPoint(day) ?? day.lowCelsius - (dewBelowLowCelsius?.[monthIndex(day.day)] ?? 0);
}

/**
 * A place's temperatures over some days as hourly spans, for a coat's clock. Days without a high and low leave a gap.
 * @param fromDayNumber its local midnight is minute `originMinute`
 */
export function placeTemperatures(
  record: StationRecord,
  {
    fromDayNumber,
    days,
    place,
    curve,
    originMinute = 0,
  }: { fromDayNumber: number; days: number; place: Place; curve?: DayCurve; originMinute?: number },
): { fromMinute: number; toMinute: number; celsius: number }[] {
  const spans: { fromMinute: number; toMinute: number; celsius: number }[] = [];
  const perHour = 60 / STEP_MINUTES;
  for (let day = 0; day < days; day += 1) {
    const celsius = placeCelsiusThrough(record, fromDayNumber + day, place, curve);
    if (!celsius) continue;
    for (let hour = 0; hour < 24; hour += 1) {
      const fromMinute = originMinute + day * MINUTES_PER_DAY + hour * 60;
      let sum = 0;
      for (let step = hour * perHour; step < (hour + 1) * perHour; step += 1) sum += celsius[step]!;
      spans.push({ fromMinute, toMinute: fromMinute + 60, celsius: sum / perHour });
    }
  }
  return spans;
}

interface Shapes {
  /** Weight of the warm end, by step. */
  warmShare: Float64Array;
  /** The first steps of the rise from the low and of the fall from the high. */
  risesAt: number;
  fallsAt: number;
}

let latest: { curve: DayCurve; shapes: Shapes } | undefined;

/** The cosines depend on the two turning points only; a station record asks for the same ones ten thousand times. */
function shapesOf(curve: DayCurve): Shapes {
  const { coldestMinute, warmestMinute } = curve;
  if (latest && latest.curve.coldestMinute === coldestMinute && latest.curve.warmestMinute === warmestMinute)
    return latest.shapes;
  if (!(coldestMinute >= 0 && coldestMinute < warmestMinute && warmestMinute <= MINUTES_PER_DAY)) {
    throw new EngineError(
      'out-of-range',
      'a day must be coldest before it is warmest, both within its 1440 minutes',
      'dayCurve',
    );
  }
  const cooling = MINUTES_PER_DAY - warmestMinute + coldestMinute;
  const cosine = (done: number): number => (1 + Math.cos(Math.PI * done)) / 2;
  const middle = (step: number): number => (step + 0.5) * STEP_MINUTES;
  const shareAt = (minute: number): number => {
    if (minute < coldestMinute) return cosine((minute + MINUTES_PER_DAY - warmestMinute) / cooling);
    if (minute < warmestMinute) return 1 - cosine((minute - coldestMinute) / (warmestMinute - coldestMinute));
    return cosine((minute - warmestMinute) / cooling);
  };
  const firstFrom = (minute: number): number => Math.max(0, Math.ceil(minute / STEP_MINUTES - 0.5));
  const shapes = {
    warmShare: Float64Array.from({ length: STEPS }, (_, step) => shareAt(middle(step))),
    risesAt: firstFrom(coldestMinute),
    fallsAt: firstFrom(warmestMinute),
  };
  latest = { curve: { coldestMinute, warmestMinute }, shapes };
  return shapes;
}

import type { StationDay, StationRecord } from './record.js';

/** Days of one date differ by more than this wherever there is weather; a shorter record may not show it. A judgement. */
const MIN_SPREAD = 3;
/** Days around the same date of each year that tell what is usual there. */
const USUAL_DAYS = 7;

/**
 * Errors of a forecast by lead time, as standard deviations: from memory of published verification, where daily highs and
 * lows are some 1.5 °C off a day ahead and as wrong as climate itself after about ten days.
 */
const celsiusError = (leadDays: number): number => 1.2 + 0.35 * leadDays;
const humidityError = (leadDays: number): number => 6 + leadDays;
/** Share of days whose rain is as told; on the others it is any day's. From memory, as above. */
const rainAsTold = (leadDays: number): number => 1 / (1 + leadDays / 8);

/**
 * What a day may be once a forecast of it is out, by one year of the record. What was told is shrunk towards what is usual, the
 * more the longer ahead it was told, and the year's own departure from the usual stands for what remains unknown: over the
 * years that is the distribution of a normal variable of which an imperfect measurement is known.
 * @param told with its `leadDays`
 * @param own the same day as the year had it
 */
export function expectedDay(
  record: StationRecord,
  told: StationDay & { leadDays: number },
  own: StationDay,
  sourceNumber: number,
): StationDay {
  const { leadDays, ...plain } = told;
  const usual = usualOf(record, sourceNumber);
  const blend = (of: 'highCelsius' | 'lowCelsius' | 'humidityPercent', error: number): number | null => {
    const [value, was, { mean, variance }] = [told[of], own[of], usual[of]];
    if (value === null || was === null || mean === null) return value ?? was;
    const spread = Math.max(variance, MIN_SPREAD ** 2);
    const weight = spread / (spread + error ** 2);
    return mean + weight * (value - mean) + Math.sqrt(1 - weight) * (was - mean);
  };
  const high = blend('highCelsius', celsiusError(leadDays));
  const low = blend('lowCelsius', celsiusError(leadDays));
  const humidity = told.humidityPercent === null ? null : blend('humidityPercent', humidityError(leadDays));
  const rain = told.precipitationMillimetres;
  return {
    ...plain,
    highCelsius: high !== null && low !== null ? Math.max(high, low) : high,
    lowCelsius: high !== null && low !== null ? Math.min(high, low) : low,
    humidityPercent: humidity === null ? null : Math.min(100, Math.max(1, humidity)),
    precipitationMillimetres:
      rain === null || scatter(sourceNumber) >= rainAsTold(leadDays) ? own.precipitationMillimetres : rain,
    snowfallMillimetres: told.snowfallMillimetres ?? own.snowfallMillimetres,
  };
}

/** In [0, 1), the same for the same day of the record: by the golden ratio, which spreads evenly. */
const scatter = (number: number): number => (number * 0.618_033_988_749_894_9) % 1;

interface Usual {
  mean: number | null;
  variance: number;
}
type UsualDay = Record<'highCelsius' | 'lowCelsius' | 'humidityPercent', Usual>;

const known = new WeakMap<StationRecord, Map<number, UsualDay>>();
const YEAR_DAYS = 365.2425;

/** Mean and spread of all years' days around a date; the same whichever year of the record it is asked in. */
function usualOf(record: StationRecord, number: number): UsualDay {
  const dayOfYear = Math.round(number % YEAR_DAYS);
  let byDay = known.get(record);
  if (!byDay) known.set(record, (byDay = new Map()));
  let usual = byDay.get(dayOfYear);
  if (!usual) {
    const days: StationDay[] = [];
    for (let year = Math.floor(record.firstDayNumber / YEAR_DAYS); ; year += 1) {
      const center = Math.round(year * YEAR_DAYS + dayOfYear);
      if (center - USUAL_DAYS > record.lastDayNumber) break;
      for (let k = center - USUAL_DAYS; k <= center + USUAL_DAYS; k += 1) {
        const day = record.byDate.get(k);
        if (day) days.push(day);
      }
    }
    const over = (of: keyof UsualDay): Usual => {
      const values = days.map((day) => day[of]).filter((value) => value !== null);
      if (values.length === 0) return { mean: null, variance: 0 };
      const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
      return { mean, variance: values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length };
    };
    usual = {
      highCelsius: over('highCelsius'),
      lowCelsius: over('lowCelsius'),
      humidityPercent: over('humidityPercent'),
    };
    byDay.set(dayOfYear, usual);
  }
  return usual;
}

/**
 * The weather of the demo shop's invented station: a cold continental climate beside a lake. Made, not observed;
 * every parameter stands in `climate` below, chosen by hand so that the first inch of snow falls around the third
 * week of November, a year brings some 800 mm of rain and melt and a good metre and a half of snow, and summers
 * are warm enough to paint outdoors. There is no trend in it: whoever finds one has found noise.
 */
import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';

export const climate = {
  /** Mean of the daily mean over the year, and half the swing between the coldest and the warmest day. */
  meanCelsius: 7.6,
  swingCelsius: 14,
  /** Day of the year on which the average is lowest; late, because the lake holds its warmth. */
  coldestDayOfYear: 27,
  /** Departures from the average follow each other: today's is `persistence` of yesterday's and something new. */
  persistence: 0.72,
  departureCelsius: { winter: 5, summer: 3.2 },
  /** High less low on a dry day and on a wet one, and how much that varies. */
  rangeCelsius: { dry: 11, wet: 6.5, spread: 2.2, least: 1.5 },
  /** Chance of precipitation after a dry day and after a wet one. */
  wetProbability: { afterDry: 0.27, afterWet: 0.5 },
  /** Amounts on wet days are exponential with this mean. */
  wetMillimetres: { winter: 4.6, summer: 7.7 },
  /** All precipitation is snow at or below the first daily mean, none at or above the second, in proportion between. */
  snowCelsius: { all: -2, none: 1.5 },
  /** Depth of new snow for a depth of water. */
  snowRatio: 10,
  /** Chance that a dry day below freezing logs a trace of snow. */
  flurryProbability: 0.08,
  humidityPercent: { dry: 64, wet: 82, winterMore: 5, spread: 8, least: 25, most: 100 },
  /** Share of days whose snowfall nobody wrote down. */
  missedShare: 0.002,
} as const;

/** A day as `importStationDays` takes it: °C, mm, per cent; null was not observed. */
export interface StationDayRow {
  day: string;
  highCelsius: number;
  lowCelsius: number;
  precipitationMillimetres: number;
  snowfallMillimetres: number | null;
  snowTrace: boolean;
  humidityPercent: number;
}

const dayMilliseconds = 86_400_000;

/**
 * Whole years of daily weather up to and with `endDate`. A day has the same weather whichever day the rows end
 * on, since each calendar year is made from its own stream.
 * @param seed any whole number
 * @param endDate the last day, such as `2026-04-30`
 * @param years how many years of days, at least 1
 * @param coldestDayOfYear turns the year, as for a place south of the equator
 */
export function makeStationDays({
  seed,
  endDate,
  years,
  coldestDayOfYear = climate.coldestDayOfYear,
}: {
  seed: number;
  endDate: string;
  years: number;
  coldestDayOfYear?: number;
}): StationDayRow[] {
  const lastYear = Number(endDate.slice(0, 4));
  const startDate = new Date(Date.UTC(lastYear - years, Number(endDate.slice(5, 7)) - 1, Number(endDate.slice(8)) + 1))
    .toISOString()
    .slice(0, 10);
  const rows: StationDayRow[] = [];
  for (let year = lastYear - years; year <= lastYear; year += 1) rows.push(...makeYear(seed, year, coldestDayOfYear));
  return rows.filter((row) => row.day >= startDate && row.day <= endDate);
}

function makeYear(seed: number, year: number, coldestDayOfYear: number): StationDayRow[] {
  const stream = xoroshiro128plus((Math.imul(seed, 0x9e3779b1) ^ Math.imul(year, 0x85ebca6b)) | 0);
  const probability = () => uniformFloat64(stream);
  // Box and Muller's transform; 1 − u is never 0.
  const normal = () => Math.sqrt(-2 * Math.log(1 - probability())) * Math.cos(2 * Math.PI * probability());
  const rows: StationDayRow[] = [];
  let departure = normal();
  let wet = probability() < climate.wetProbability.afterDry;
  for (
    let time = Date.UTC(year, 0, 1), dayOfYear = 1;
    new Date(time).getUTCFullYear() === year;
    time += dayMilliseconds, dayOfYear += 1
  ) {
    // 1 on the coldest day of the year, 0 on the warmest.
    const winter = (1 + Math.cos((2 * Math.PI * (dayOfYear - coldestDayOfYear)) / 365.25)) / 2;
    const between = ({ winter: cold, summer: warm }: { winter: number; summer: number }) =>
      warm + (cold - warm) * winter;
    departure = climate.persistence * departure + Math.sqrt(1 - climate.persistence ** 2) * normal();
    wet = probability() < (wet ? climate.wetProbability.afterWet : climate.wetProbability.afterDry);
    const mean =
      climate.meanCelsius + climate.swingCelsius * (1 - 2 * winter) + departure * between(climate.departureCelsius);
    const range = Math.max(
      climate.rangeCelsius.least,
      (wet ? climate.rangeCelsius.wet : climate.rangeCelsius.dry) + climate.rangeCelsius.spread * normal(),
    );
    const water = wet ? -Math.log(1 - probability()) * between(climate.wetMillimetres) : 0;
    const { all, none } = climate.snowCelsius;
    const frozen = Math.min(1, Math.max(0, (none - mean) / (none - all)));
    // Stations write snowfall in whole millimetres; what rounds to none was a trace.
    const snow = Math.round(water * frozen * climate.snowRatio);
    const flurry = probability() < climate.flurryProbability && !wet && mean < 0;
    const damp = climate.humidityPercent;
    const humidity = (wet ? damp.wet : damp.dry) + damp.winterMore * winter + damp.spread * normal();
    rows.push({
      day: new Date(time).toISOString().slice(0, 10),
      highCelsius: tenth(mean + range / 2),
      lowCelsius: tenth(mean - range / 2),
      precipitationMillimetres: tenth(water),
      snowfallMillimetres: probability() < climate.missedShare ? null : snow,
      snowTrace: snow === 0 && (flurry || water * frozen > 0),
      humidityPercent: Math.round(Math.min(damp.most, Math.max(damp.least, humidity))),
    });
  }
  return rows;
}

const tenth = (value: number): number => Math.round(value * 10) / 10 + 0;

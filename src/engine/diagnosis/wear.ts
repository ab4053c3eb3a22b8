/** How long a wearing part still serves, from readings against its limit. */
import { EngineError } from '../error.js';
import { normalCdf } from '../statistics/index.js';

export interface WearReading {
  /** When it was taken, in seasons from any beginning. */
  season: number;
  value: number;
}

export interface WearQuestion {
  readings: readonly WearReading[];
  /** It is worn out below this, or above it where it grows. */
  limit: number;
  grows: boolean;
  /** Standard deviation of one reading, in its unit. */
  readingError: number;
  /** What a season usually takes off; null where only the readings tell. */
  typical: { perSeason: number; deviation: number } | null;
}

export interface WearProjection {
  /** Between the last reading and the limit; below zero when past it. */
  left: number;
  perSeason: number;
  perSeasonDeviation: number;
  /** Seasons left, from the last reading on: one in ten below low, one in ten above high; null where no end is in sight. */
  seasonsLeft: { low: number | null; likely: number | null; high: number | null };
  /** Probability that it is past its limit before so many seasons are over. */
  probabilityPastLimit(seasons: number): number;
}

/** Beyond this many seasons nothing is foretold. */
const MAX_SEASONS = 100;

/**
 * Straight-line wear with readings of a known error and a normal prior for the rate, none for the size: the conjugate normal
 * linear model (Gelman et al. 2013, "Bayesian Data Analysis", 3rd ed., section 14.8). The life left is where a line of normal
 * intercept d and slope r crosses zero, P(life > x) = P(d − r·x > 0), which is the ratio of two normal variables
 * (Fieller 1954, JRSS B 16:175–185).
 * @throws EngineError `too-little-known` for one reading, or readings of one day, without a usual rate; `bad-number`
 */
export function projectWear({ readings, limit, grows, readingError, typical }: WearQuestion): WearProjection {
  if (!(readingError > 0)) throw new EngineError('bad-number', 'the error of a reading is above zero', 'readingError');
  if (typical && !(typical.deviation > 0))
    throw new EngineError('bad-number', 'the deviation of a rate is above zero', 'typical');
  const last = Math.max(...readings.map((one) => one.season));
  const precision = 1 / readingError ** 2;
  // Unknowns: what is left at the last reading (d), and what a season takes off (r).
  let dd = 0;
  let dr = 0;
  let rr = typical ? 1 / typical.deviation ** 2 : 0;
  let sumD = 0;
  let sumR = typical ? typical.perSeason / typical.deviation ** 2 : 0;
  for (const { season, value } of readings) {
    const since = season - last;
    const left = grows ? limit - value : value - limit;
    dd += precision;
    dr -= precision * since;
    rr += precision * since ** 2;
    sumD += precision * left;
    sumR -= precision * since * left;
  }
  const determinant = dd * rr - dr ** 2;
  if (readings.length === 0 || !(determinant > 1e-9 * dd * Math.max(rr, 1e-12)))
    throw new EngineError(
      'too-little-known',
      'one reading tells nothing of wear: take another at a later date, or say what a season usually takes off',
      'readings',
    );
  const left = (rr * sumD - dr * sumR) / determinant;
  const perSeason = (dd * sumR - dr * sumD) / determinant;
  const varianceLeft = rr / determinant;
  const varianceRate = dd / determinant;
  const covariance = -dr / determinant;
  const probabilityPastLimit = (seasons: number): number =>
    normalCdf(
      (perSeason * seasons - left) / Math.sqrt(varianceLeft + seasons ** 2 * varianceRate - 2 * seasons * covariance),
    );
  return {
    left,
    perSeason,
    perSeasonDeviation: Math.sqrt(varianceRate),
    seasonsLeft: {
      low: quantile(probabilityPastLimit, 0.1),
      likely: quantile(probabilityPastLimit, 0.5),
      high: quantile(probabilityPastLimit, 0.9),
    },
    probabilityPastLimit,
  };
}

/** The seasons after which it is past its limit with a probability; 0 when it is by now, null when it never gets there. */
function quantile(probabilityPast: (seasons: number) => number, probability: number): number | null {
  if (probabilityPast(0) >= probability) return 0;
  let low = 0;
  let high = 1;
  while (probabilityPast(high) < probability) {
    low = high;
    high *= 2;
    if (high > MAX_SEASONS) return null;
  }
  for (let step = 0; step < 50; step++) {
    const middle = (low + high) / 2;
    if (probabilityPast(middle) < probability) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

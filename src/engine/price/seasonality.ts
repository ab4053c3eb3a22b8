import { dayNumber } from '../days.js';
import { EngineError } from '../error.js';

/** When in the year a kind of machine is wanted: a bell around the peak day, over a level that lasts all year. */
export interface Seasonality {
  /** MM-DD of the usual peak; for snow throwers the median first snow. */
  usualPeak: string;
  /** Peaks known for single seasons, YYYY-MM-DD: past ones as they were, the coming one as now expected. */
  peaks?: readonly string[];
  /** Standard deviation of the bell; default 45 days. */
  halfWidthDays?: number;
  /** Demand far from the peak as a share of the peak's; default 0.15. */
  offSeasonShare?: number;
}

const YEAR = 365.25;

/** The peak of the season that a day belongs to, as a day number: that season's own where it is known. */
function peakOf(seasonality: Seasonality, day: number): number {
  const year = new Date(day * 86_400_000).getUTCFullYear();
  // 29 February is 28 February in most years.
  const monthDay = seasonality.usualPeak === '02-29' ? '02-28' : seasonality.usualPeak;
  const usual = [year - 1, year, year + 1]
    .map((each) => dayNumber(`${each}-${monthDay}`, 'seasonality/usualPeak'))
    .reduce((nearest, each) => (Math.abs(each - day) < Math.abs(nearest - day) ? each : nearest));
  const own = (seasonality.peaks ?? [])
    .map((peak, index) => dayNumber(peak, `seasonality/peaks/${index}`))
    .filter((peak) => Math.abs(peak - usual) < YEAR / 2);
  return own.reduce(
    (nearest, each) => (Math.abs(each - day) < Math.abs(nearest - day) ? each : nearest),
    own[0] ?? usual,
  );
}

/** How near a season's peak a day is, from 1 at the peak to 0 far from it (Gaussian in days). */
export function seasonNearness(seasonality: Seasonality | null, day: number): number {
  if (!seasonality) return 0;
  const width = seasonality.halfWidthDays ?? 45;
  if (!(width > 0))
    throw new EngineError('bad-number', `a season's width is above zero, not ${width}`, 'seasonality/halfWidthDays');
  return Math.exp(-0.5 * ((day - peakOf(seasonality, day)) / width) ** 2);
}

/** Demand on a day as a share of the peak's; 1 all year for a kind without a season. */
export function seasonDemand(seasonality: Seasonality | null, day: number): number {
  if (!seasonality) return 1;
  const share = seasonality.offSeasonShare ?? 0.15;
  if (!(share >= 0 && share <= 1))
    throw new EngineError(
      'bad-number',
      `the off-season share lies between 0 and 1, not ${share}`,
      'seasonality/offSeasonShare',
    );
  return share + (1 - share) * seasonNearness(seasonality, day);
}

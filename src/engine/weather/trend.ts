import { normalQuantile, normalTail } from '../statistics/index.js';

export interface TrendPoint {
  year: number;
  /** Infinite where the event did not come: later than, or before, all others. */
  value: number;
}

/** Whether the day drifts over the years. */
export interface Trend {
  seasons: number;
  /** Mann and Kendall's S, its normal score with ties and continuity allowed for, and the two-sided chance. */
  statistic: number;
  score: number;
  pValue: number;
  /** Theil and Sen's slope with Sen's 95 % interval; null when it cannot be computed. */
  daysPerDecade: number | null;
  lowDaysPerDecade: number | null;
  highDaysPerDecade: number | null;
  /** One plain sentence when the records support a trend, else null. */
  sentence: string | null;
}

const FEWEST_SEASONS = 20;
const SIGNIFICANT = 0.05;

/**
 * Mann–Kendall test and Theil–Sen slope: Mann (1945), Econometrica 13, 245–259; Kendall (1975), Rank Correlation
 * Methods; Sen (1968), J. Am. Stat. Assoc. 63, 1379–1389. Both rest on order alone, so that a season without an
 * event can stand as later than any. Seasons are taken as independent of each other.
 */
export function findTrend(points: readonly TrendPoint[]): Trend {
  const n = points.length;
  let statistic = 0;
  const slopes: number[] = [];
  for (let i = 0; i < n; i += 1) {
    for (let j = i + 1; j < n; j += 1) {
      const [a, b] = [points[i]!, points[j]!];
      if (a.year === b.year) continue;
      // Two infinite values are a tie, and their difference no number.
      const rise = a.value === b.value ? 0 : (b.value - a.value) * Math.sign(b.year - a.year);
      statistic += Math.sign(rise);
      slopes.push(rise / Math.abs(b.year - a.year));
    }
  }
  const tied = new Map<number, number>();
  for (const { value } of points) tied.set(value, (tied.get(value) ?? 0) + 1);
  const share = (t: number): number => t * (t - 1) * (2 * t + 5);
  const variance = (share(n) - [...tied.values()].reduce((sum, t) => sum + share(t), 0)) / 18;
  const score = variance > 0 ? (statistic - Math.sign(statistic)) / Math.sqrt(variance) : 0;
  const pValue = Math.min(1, 2 * normalTail(Math.abs(score)));
  slopes.sort((a, b) => a - b);
  const half = normalQuantile(0.975) * Math.sqrt(Math.max(0, variance));
  const slope = perDecade(middle(slopes));
  const low = perDecade(slopes[Math.max(0, Math.floor((slopes.length - half) / 2))]);
  const high = perDecade(slopes[Math.min(slopes.length - 1, Math.ceil((slopes.length + half) / 2))]);
  const trend: Trend = {
    seasons: n,
    statistic,
    score,
    pValue,
    daysPerDecade: slope,
    lowDaysPerDecade: low,
    highDaysPerDecade: high,
    sentence: null,
  };
  return { ...trend, sentence: sentenceOf(trend, points) };
}

function sentenceOf(
  { seasons, pValue, daysPerDecade, lowDaysPerDecade: low, highDaysPerDecade: high }: Trend,
  points: readonly TrendPoint[],
): string | null {
  if (
    seasons < FEWEST_SEASONS ||
    pValue >= SIGNIFICANT ||
    !daysPerDecade ||
    low === null ||
    high === null ||
    low * high <= 0
  )
    return null;
  const direction = daysPerDecade > 0 ? 'later' : 'earlier';
  const sizes = [Math.abs(low), Math.abs(high)];
  const interval = `${Math.min(...sizes).toFixed(1)} to ${Math.max(...sizes).toFixed(1)}`;
  const years = points.map((point) => point.year);
  return (
    `Over ${seasons} seasons from ${Math.min(...years)} to ${Math.max(...years)} it has come about ` +
    `${Math.abs(daysPerDecade).toFixed(1)} days ${direction} each decade (95 % interval ${interval}).`
  );
}

function middle(sorted: readonly number[]): number | undefined {
  const half = Math.floor(sorted.length / 2);
  return sorted.length % 2 === 1
    ? sorted[half]
    : sorted.length === 0
      ? undefined
      : (sorted[half - 1]! + sorted[half]!) / 2;
}

const perDecade = (slope: number | undefined): number | null =>
  slope === undefined || !Number.isFinite(slope) ? null : slope * 10;

import { at } from '../look-up.js';
import type { EventRule, Season } from './first-event.js';
import { eventDistribution, eventQuantile } from './outlook.js';
import type { QuantileType } from './quantile.js';

/** How well past seasons would have been told, each from those before it alone. */
export interface BacktestScore {
  /** Days by which the median missed, in the mean. */
  medianMissDays: number;
  /** Share of the seasons whose event came between the tenth and the ninetieth percentile; 0.8 is right. */
  within80Share: number;
  /** Quantile loss (Koenker & Bassett 1978, Econometrica 46, 33–50) at 0.1, 0.5 and 0.9, in the mean; less is better. */
  lossDays: number;
}

export interface Backtest {
  /** Seasons that were told. */
  seasons: number;
  latestSeasons: number;
  /** From all earlier seasons. */
  all: BacktestScore;
  /** From the latest ones before it. */
  latest: BacktestScore;
}

/** Fewer earlier seasons do not tell a tenth. */
const FEWEST_BEFORE = 20;
/** Fewer told seasons do not tell the two apart. */
const FEWEST_TOLD = 10;
const LEVELS = [0.1, 0.5, 0.9] as const;

/**
 * Tells each season from those before it, once from all and once from the latest, and scores both. A season without its
 * event counts as one that ended without: its day is the one after the last.
 * @param seasons from `findSeasons`, in order
 * @returns null where fewer than ten seasons have so many before them
 */
export function backtestSeasons(
  seasons: readonly Season[],
  latestSeasons: number,
  { pick = 'first', quantileType }: { pick?: EventRule['pick']; quantileType?: QuantileType } = {},
): Backtest | null {
  const told = seasons.filter((one) => one.status === 'event' || one.status === 'none');
  const least = Math.max(FEWEST_BEFORE, latestSeasons);
  const scores = { all: newSum(), latest: newSum() };
  let count = 0;
  for (let k = least; k < told.length; k += 1) {
    const before = told.slice(0, k);
    count += 1;
    const outcome = outcomeOf(at(told, k), pick);
    add(scores.all, before, outcome);
    add(scores.latest, before.slice(-latestSeasons), outcome);
  }
  if (count < FEWEST_TOLD) return null;
  const mean = (sum: ReturnType<typeof newSum>): BacktestScore => ({
    medianMissDays: sum.miss / count,
    within80Share: sum.within / count,
    lossDays: sum.loss / (count * LEVELS.length),
  });
  return { seasons: count, latestSeasons, all: mean(scores.all), latest: mean(scores.latest) };

  function add(sum: ReturnType<typeof newSum>, history: readonly Season[], outcome: number): void {
    const distribution = eventDistribution(history, pick);
    const bound = pick === 'first' ? lengthOf(at(history, 0)) : -1;
    const [low, middle, high] = LEVELS.map(
      (level) => eventQuantile(distribution, level, quantileType) ?? bound,
    ) as unknown as [number, number, number];
    sum.miss += Math.abs(outcome - middle);
    if (outcome >= low && outcome <= high) sum.within += 1;
    [low, middle, high].forEach((quantile, k) => {
      const over = outcome - quantile;
      const level = at(LEVELS, k);
      sum.loss += over >= 0 ? level * over : (level - 1) * over;
    });
  }
}

const newSum = () => ({ miss: 0, within: 0, loss: 0 });

const lengthOf = (season: Season): number =>
  Math.round((Date.parse(season.endDate) - Date.parse(season.startDate)) / 86_400_000) + 1;

const outcomeOf = (season: Season, pick: EventRule['pick']): number =>
  season.status === 'event' ? season.dayOfSeason : pick === 'first' ? lengthOf(season) : -1;

import { Decimal } from 'decimal.js';
import { EngineError } from '../error.js';
import { betaLower } from '../statistics/index.js';
import { type Amount, plain, readAmount, roundAmount, total } from './amount.js';

/** What is still to be spent on one thing: at least, most likely, at most. */
export interface RemainingCost {
  what: string;
  low: Amount;
  likely: Amount;
  high: Amount;
}

export interface CompletionEstimate {
  costSoFar: Decimal;
  expected: Decimal;
  p10: Decimal;
  p50: Decimal;
  p90: Decimal;
  /** Everything at its lowest, and at its highest. */
  least: Decimal;
  most: Decimal;
  expectedRemaining: Decimal;
  /** Standard deviation of what remains, as an amount. */
  spread: Decimal;
  /** The beta between `least` and `most` that the quantiles come from; null when nothing is uncertain. */
  shape: { a: number; b: number } | null;
  method: string;
  reasons: string[];
}

/** How alike the surprises on one job run: rust that spoils one part spoils its neighbours. A judgement, no source. */
const USUAL_CORRELATION = 0.3;

const METHOD =
  'each remaining cost a beta-PERT of its three points (mean (low + 4 likely + high) ÷ 6, variance (mean − low)(high − mean) ÷ 7); ' +
  'means add, deviations add under one common correlation; quantiles of the beta on [least, most] with that mean and variance';

/**
 * Cost at completion as a range: what was spent plus what remains, each remaining cost given by three points.
 *
 * The three points are read as a beta-PERT (shapes 1 + 4(likely − low)/(high − low) and 1 + 4(high − likely)/(high − low);
 * its mean is the three-point mean of Malcolm, Roseboom, Clark and Fazar, Operations Research 7, 1959). The sum is given
 * the one beta between the sums of lows and of highs that has its mean and variance: exact for a single item, never
 * outside what was stated, skewed the way the items are.
 * @param correlation of any two items, 0 (independent) to 1 (all bad together); default 0.3
 * @throws EngineError `bad-range` unless low ≤ likely ≤ high, `bad-number` for the correlation, and as `parseAmount`
 */
export function estimateAtCompletion(
  costSoFar: Amount,
  remaining: readonly RemainingCost[],
  currency: string,
  correlation = USUAL_CORRELATION,
): CompletionEstimate {
  if (!(correlation >= 0 && correlation <= 1))
    throw new EngineError('bad-number', `a correlation lies between 0 and 1, not ${correlation}`, 'correlation');
  const spent = readAmount(costSoFar, currency, 'costSoFar', 'any');
  const items = remaining.map((item, index) => {
    const low = readAmount(item.low, currency, `remaining/${index}/low`);
    const likely = readAmount(item.likely, currency, `remaining/${index}/likely`);
    const high = readAmount(item.high, currency, `remaining/${index}/high`);
    if (low.greaterThan(likely) || likely.greaterThan(high)) {
      throw new EngineError(
        'bad-range',
        `${item.what}: ${low.toFixed()}, ${likely.toFixed()}, ${high.toFixed()} are not low, likely and high in order`,
        `remaining/${index}`,
      );
    }
    const mean = low.plus(likely.times(4)).plus(high).div(6);
    return {
      what: item.what,
      low,
      high,
      mean,
      deviation: Math.sqrt(mean.minus(low).times(high.minus(mean)).div(7).toNumber()),
    };
  });
  const low = total(items.map((item) => item.low));
  const high = total(items.map((item) => item.high));
  const mean = items.reduce((sum, item) => sum.plus(item.mean), new Decimal(0));
  const sumOfDeviations = items.reduce((sum, item) => sum + item.deviation, 0);
  const sumOfVariances = items.reduce((sum, item) => sum + item.deviation ** 2, 0);
  const variance = (1 - correlation) * sumOfVariances + correlation * sumOfDeviations ** 2;

  const width = high.minus(low).toNumber();
  const shape = betaOf(mean.minus(low).toNumber(), width, variance);
  const least = plain(spent.plus(low));
  const quantile = (p: number): Decimal =>
    shape === null
      ? least
      : roundAmount(least.plus(new Decimal(width).times(betaQuantile(p, shape.a, shape.b))), currency);
  const expectedRemaining = roundAmount(mean, currency);
  const widest = [...items].sort((a, b) => b.deviation - a.deviation)[0];
  return {
    costSoFar: spent,
    expected: plain(spent.plus(expectedRemaining)),
    p10: quantile(0.1),
    p50: quantile(0.5),
    p90: quantile(0.9),
    least,
    most: plain(spent.plus(high)),
    expectedRemaining,
    spread: roundAmount(new Decimal(Math.sqrt(variance)), currency),
    shape,
    method: METHOD,
    reasons: [
      `${spent.toFixed()} ${currency} so far and ${expectedRemaining.toFixed()} expected to come`,
      ...(widest && widest.deviation > 0
        ? [`the least certain is ${widest.what}: ${widest.low.toFixed()} to ${widest.high.toFixed()}`]
        : []),
      `${items.length} remaining costs, correlated at ${correlation}`,
    ],
  };
}

/** Chance that the cost at completion stays at or below an amount. */
export function probabilityCostAtMost(estimate: CompletionEstimate, amount: Decimal.Value): number {
  const over = new Decimal(amount).minus(estimate.least).toNumber();
  const width = estimate.most.minus(estimate.least).toNumber();
  if (over < 0) return 0;
  if (estimate.shape === null || over >= width) return 1;
  return betaLower(over / width, estimate.shape.a, estimate.shape.b);
}

/** The beta on [0, 1] whose scaled copy has this mean and variance; null when there is no spread. */
function betaOf(meanOverLow: number, width: number, variance: number): { a: number; b: number } | null {
  if (!(width > 0) || !(variance > 0)) return null;
  const m = meanOverLow / width;
  const v = variance / width ** 2;
  const size = (m * (1 - m)) / v - 1;
  return { a: m * size, b: (1 - m) * size };
}

function betaQuantile(p: number, a: number, b: number): number {
  let low = 0;
  let high = 1;
  for (let k = 0; k < 60; k++) {
    const middle = (low + high) / 2;
    if (betaLower(middle, a, b) < p) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

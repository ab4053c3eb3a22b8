/** Coverage and error of the predicted price beside the estimator before it, the plain median and plain least squares. */
import { Decimal } from 'decimal.js';
import { isoDay } from '../../../src/engine/days.js';
import { learnMarket } from '../../../src/engine/price/market-model.js';
import { usualBeliefs } from '../../../src/engine/price/price-beliefs.js';
import { logPriceQuantile, predict } from '../../../src/engine/price/price-distribution.js';
import { leastSquares } from '../../oracles/least-squares.js';
import { formerEstimate, formerQuantile } from './former-estimator.js';
import { drawMarket, type Market, type World } from './worlds.js';

export interface IntervalRow {
  measure: 'interval';
  world: string;
  comparables: number;
  /** The noise's standard deviation where it is fixed, null where each market has its own. */
  noise: number | null;
  markets: number;
  /** Share of markets whose price lies in the interval that should hold four in five. */
  coverage80: number;
  /** Mean absolute error of the median, in the log. */
  error: number;
  medianError: number;
  leastSquaresError: number;
  /** Of the estimator before, on the same markets. */
  formerCoverage80: number;
  formerError: number;
}

export function intervalRows(world: World, markets: number, seed: number): IntervalRow[] {
  const noises = world.noise === null ? [null] : Array.isArray(world.noise) ? world.noise : [world.noise];
  return noises.flatMap((noise) =>
    world.comparables.map((comparables): IntervalRow => {
      const sum = { covered: 0, error: 0, median: 0, least: 0, formerCovered: 0, former: 0 };
      for (let number = 0; number < markets; number++) {
        const market = drawMarket(world, noise, comparables, seed, number);
        const { logPaid } = market;
        const off = (estimate: number): number => Math.abs(estimate - logPaid);
        const distribution = predictIn(market);
        const within = (low: number, high: number): number => (logPaid >= low && logPaid <= high ? 1 : 0);
        sum.covered += within(logPriceQuantile(distribution, 0.1), logPriceQuantile(distribution, 0.9));
        sum.error += off(logPriceQuantile(distribution, 0.5));
        sum.median += off(plainMedian(market));
        sum.least += off(plainLeastSquares(market));
        const former = formerEstimate(market);
        sum.former += off(former.logLocation);
        sum.formerCovered += within(formerQuantile(former, 0.1), formerQuantile(former, 0.9));
      }
      return {
        measure: 'interval',
        world: world.world,
        comparables,
        noise,
        markets,
        coverage80: sum.covered / markets,
        error: sum.error / markets,
        medianError: sum.median / markets,
        leastSquaresError: sum.least / markets,
        formerCoverage80: sum.formerCovered / markets,
        formerError: sum.former / markets,
      };
    }),
  );
}

function predictIn({ kind, machine, seen, on, today, seasonality }: Market) {
  const model = learnMarket({
    kind,
    seen: seen.map(({ logPrice, seenOn, ...one }) => ({
      ...one,
      price: new Decimal(Math.exp(logPrice)),
      seenDate: isoDay(seenOn),
    })),
    today: isoDay(today),
    seasonality,
    currency: 'USD',
    beliefs: usualBeliefs,
  });
  return predict(model, machine, on);
}

function plainMedian({ seen }: Market): number {
  const sorted = seen.map((one) => one.logPrice).sort((a, b) => a - b);
  return (sorted[(sorted.length - 1) >> 1]! + sorted[sorted.length >> 1]!) / 2;
}

/** Condition, asking or sold, year and width, as many of them as there are four comparables each for; the median below. */
function plainLeastSquares(market: Market): number {
  const { machine, seen } = market;
  const row = (one: typeof machine, asking: boolean): number[] =>
    [1, one.condition, asking ? 1 : 0, one.yearEstimate!, Math.log(one.clearingWidthMillimetres!)].slice(
      0,
      Math.max(1, Math.floor(seen.length / 4)),
    );
  try {
    const { coefficients } = leastSquares(
      seen.map((one) => row(one, one.priceKind === 'asking')),
      seen.map((one) => one.logPrice),
    );
    return row(machine, false).reduce((sum, value, j) => sum + value * coefficients[j]!, 0);
  } catch {
    // All in one condition, or all asking: nothing to regress on.
    return plainMedian(market);
  }
}

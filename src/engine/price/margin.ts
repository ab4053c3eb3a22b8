import { Decimal } from 'decimal.js';
import { type CompletionEstimate, minorUnits, probabilityCostAtMost } from '../money/index.js';
import type { AskPlan } from './ask-plan.js';

/** What a sale leaves beyond the full cost: one time in ten below `p10`, one in ten above `p90`. */
export interface MarginRange {
  p10: Decimal;
  p50: Decimal;
  p90: Decimal;
}

const NODES = 400;

/**
 * The margin that an ask plan leaves over the cost at completion, over every end of the sale and every cost, the two taken
 * as independent: P(margin ≤ m) = Σ probability of an end × P(cost ≥ what it leaves − m). To the minor unit, by bisection.
 * The quantiles of price and cost are not set against each other: a low price and a high cost meet less than one time in ten.
 */
export function marginRange(
  { endings, holdingCostPerWeek, currency }: Pick<AskPlan, 'endings' | 'holdingCostPerWeek' | 'currency'>,
  cost: CompletionEstimate,
): MarginRange {
  const unit = 10 ** -minorUnits(currency);
  const nets = endings.map(({ net, weeks, probability }) => ({ net: net - holdingCostPerWeek * weeks, probability }));
  const [least, most] = [cost.least.toNumber(), cost.most.toNumber()];
  const step = (most - least) / NODES;
  // The cost's distribution on a grid, read between its nodes by straight line: it is asked for thousands of times.
  const table = Array.from({ length: NODES + 1 }, (_, k) => probabilityCostAtMost(cost, least + step * k));
  const costAtMost = (amount: number): number => {
    if (amount < least) return 0;
    if (amount >= most) return 1;
    const at = (amount - least) / step;
    const low = Math.floor(at);
    return table[low]! + (at - low) * (table[low + 1]! - table[low]!);
  };
  const atMost = (margin: number): number =>
    nets.reduce((sum, { net, probability }) => sum + probability * (1 - costAtMost(net - margin - unit / 2)), 0);
  const quantile = (p: number): Decimal => {
    let low = Math.floor((Math.min(...nets.map(({ net }) => net)) - most) / unit) - 1;
    let high = Math.ceil((Math.max(...nets.map(({ net }) => net)) - least) / unit) + 1;
    while (high - low > 1) {
      const middle = Math.floor((low + high) / 2);
      if (atMost(middle * unit) >= p) high = middle;
      else low = middle;
    }
    return new Decimal(high).times(new Decimal(10).pow(-minorUnits(currency)));
  };
  return { p10: quantile(0.1), p50: quantile(0.5), p90: quantile(0.9) };
}

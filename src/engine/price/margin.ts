import { Decimal } from 'decimal.js';
import { type CompletionEstimate, minorUnits, probabilityCostAtMost } from '../money/index.js';
import { type AskInput, type AskPlan, endingsOf } from './ask.js';

/** What a sale leaves beyond the full cost: one time in ten below `p10`, one in ten above `p90`. */
export interface MarginRange {
  p10: Decimal;
  p50: Decimal;
  p90: Decimal;
}

/**
 * The margin that an ask plan leaves over the cost at completion, over every end of the sale and every cost, the two taken
 * as independent: P(margin ≤ m) = Σ chance of an end × P(cost ≥ what it leaves − m). Exact to the minor unit, by bisection.
 * The quantiles of price and cost are not set against each other: a low price and a high cost meet less than one time in ten.
 */
export function marginRange(
  plan: AskPlan,
  sale: Pick<AskInput, 'terms' | 'holdingCostPerWeek' | 'valueIfUnsold'>,
  cost: CompletionEstimate,
): MarginRange {
  const endings = endingsOf(plan, sale);
  const unit = new Decimal(10).pow(-minorUnits(plan.currency));
  const probabilityAtMost = (margin: Decimal): number =>
    endings.reduce(
      (sum, { net, probability }) =>
        sum + probability * (1 - probabilityCostAtMost(cost, net.minus(margin).minus(unit))),
      0,
    );
  const quantile = (p: number): Decimal => {
    let low = Decimal.min(...endings.map(({ net }) => net))
      .minus(cost.most)
      .div(unit)
      .floor()
      .minus(1);
    let high = Decimal.max(...endings.map(({ net }) => net))
      .minus(cost.least)
      .div(unit)
      .ceil();
    while (high.minus(low).greaterThan(1)) {
      const middle = low.plus(high).div(2).floor();
      if (probabilityAtMost(middle.times(unit)) >= p) high = middle;
      else low = middle;
    }
    return high.times(unit);
  };
  return { p10: quantile(0.1), p50: quantile(0.5), p90: quantile(0.9) };
}

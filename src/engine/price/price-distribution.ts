import { dayNumber } from '../days.js';
import { EngineError } from '../error.js';
import { normalCdf, normalQuantile } from '../statistics/index.js';
import { designRow, dot, groupsOf, type MachineTraits, type MarketModel, type SeenPrice } from './market-model.js';

/** A mixture of normal distributions of a log price, one for each noise that is possible. */
export interface LogPriceDistribution {
  components: readonly LogPriceComponent[];
}

export interface LogPriceComponent {
  weight: number;
  /** Of the log price. */
  mean: number;
  /** What is not known of the mean. */
  meanVariance: number;
  /** Standard deviation between machines alike. */
  noise: number;
}

/**
 * What is paid for a machine on a day, in the log of the price.
 * @param on day number of the sale
 * @param asking whether the asking price is meant
 */
export function predict(model: MarketModel, machine: MachineTraits, on: number, asking = false): LogPriceDistribution {
  if (model.nodes.length === 0) throw new EngineError('no-basis', 'there is no comparable of this kind', 'comparables');
  const row = new Array<number>(model.columns).fill(0);
  designRow(model, machine, { asking, on }, 'machine').forEach((value, column) => (row[column] = value));
  const { makerDeviation, modelDeviation } = model.beliefs;
  const groups = groupsOf(machine);
  let unseen = 0;
  for (const [index, deviation] of [makerDeviation, modelDeviation].entries()) {
    const column = groups[index] === undefined ? undefined : model.groups.get(groups[index]);
    if (column === undefined) unseen += deviation ** 2;
    else row[column] = 1;
  }
  return {
    components: model.nodes.map(({ noise, scale, weight, coefficients, solve }) => ({
      weight,
      mean: dot(row, coefficients),
      meanVariance: dot(row, solve(row)) + unseen * scale ** 2,
      noise,
    })),
  };
}

/** How many standard deviations a seen price lies above what the others lead one to expect. */
export function surpriseOf(model: MarketModel, seen: SeenPrice): number {
  const { components } = predict(model, seen, dayNumber(seen.seenDate, 'seenDate'), seen.priceKind === 'asking');
  const mean = components.reduce((sum, part) => sum + part.weight * part.mean, 0);
  const variance = components.reduce(
    (sum, part) => sum + part.weight * (part.meanVariance + part.noise ** 2 + (part.mean - mean) ** 2),
    0,
  );
  return (Math.log(Number(seen.price)) - mean) / Math.sqrt(variance);
}

/** The log price not reached with probability `p`, 0 < p < 1; by bisection to 1e-7. */
export function logPriceQuantile(distribution: LogPriceDistribution, p: number): number {
  return mixtureQuantile(
    distribution.components.map(({ weight, mean, meanVariance, noise }) => ({
      weight,
      mean,
      deviation: Math.sqrt(meanVariance + noise * noise),
    })),
    p,
  );
}

export function mixtureQuantile(
  parts: readonly { weight: number; mean: number; deviation: number }[],
  p: number,
): number {
  const z = normalQuantile(p);
  const counted = parts.filter((part) => part.weight > 1e-9);
  const ends = counted.map((part) => part.mean + z * part.deviation);
  let low = Math.min(...ends);
  let high = Math.max(...ends);
  const total = counted.reduce((sum, part) => sum + part.weight, 0);
  while (high - low > 1e-7) {
    const middle = (low + high) / 2;
    const below = counted.reduce(
      (sum, part) => sum + part.weight * normalCdf((middle - part.mean) / part.deviation),
      0,
    );
    if (below < p * total) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

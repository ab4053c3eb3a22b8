import { Decimal } from 'decimal.js';
import { dayNumber } from '../days.js';
import { EngineError } from '../error.js';
import { type Amount, parseAmount, roundAmount } from '../money/index.js';
import { dot, type MachineTraits, type MarketModel } from './market-model.js';
import { type EffectName, effectNames, type PriceBeliefs } from './price-beliefs.js';
import { type LogPriceDistribution, logPriceQuantile, predict } from './price-distribution.js';
import { type Seasonality, seasonNearness } from './seasonality.js';

/** A predictive distribution of what is paid for one machine on a day. */
export interface PriceEstimate {
  method: 'comparables' | 'costPlus';
  currency: string;
  /** YYYY-MM-DD */
  on: string;
  p10: Decimal;
  /** The median: as likely to bring more as less. */
  p50: Decimal;
  p90: Decimal;
  distribution: LogPriceDistribution;
  seasonality: Seasonality | null;
  /** Each effect on the log price as learnt: mean and standard deviation. */
  effects: Record<EffectName, { mean: number; deviation: number }>;
  counts: { sold: number; asking: number };
  /** Logs of the asking prices seen, adjusted to this machine on this day. */
  adjustedAsks: number[];
  /** Comparables used, with what each would mean for this machine, and what it counts after the robust cut. */
  used: { id: string | null; weight: number; price: Decimal; adjustedPrice: Decimal }[];
  reasons: string[];
}

/** Where no comparable speaks, a price is a guess: half as much again or a third less, two times in three. No source. */
const COST_PLUS = { meanDeviation: 0.32, noise: 0.25 };
/** A comparable that counts less than this stands far from the rest. */
const DOUBTED = 0.5;
const FEW = 8;

/** The price to expect for a machine on a day (YYYY-MM-DD), from the comparables of its kind. */
export function estimateFromMarket(
  model: MarketModel,
  machine: MachineTraits,
  on: string,
  currency: string,
): PriceEstimate {
  const day = dayNumber(on, 'on');
  const distribution = predict(model, machine, day);
  const coefficients = Array.from({ length: model.columns }, (_, j) =>
    model.nodes.reduce((sum, node) => sum + node.weight * node.coefficients[j]!, 0),
  );
  const mean = distribution.components.reduce((sum, part) => sum + part.weight * part.mean, 0);
  const adjusted = model.observations.map((each) => each.logPrice - dot(each.row, coefficients) + mean);
  const asking = model.observations.map((each) => each.seen.priceKind === 'asking');
  const effects = effectsOf(model, coefficients);
  const counts = { sold: asking.filter((each) => !each).length, asking: asking.filter((each) => each).length };
  const doubted = model.observations.filter((each) => each.trust < DOUBTED).length;
  const newest = model.observations.reduce((latest, { seen }) => (seen.seenDate > latest ? seen.seenDate : latest), '');
  return {
    method: 'comparables',
    ...spread(distribution, currency),
    currency,
    on,
    distribution,
    seasonality: model.seasonality,
    effects,
    counts,
    adjustedAsks: adjusted.flatMap((log, i) => (asking[i] ? [log + effects.askingPremium.mean] : [])),
    used: model.observations
      .map(({ seen, trust }, i) => ({
        id: seen.id ?? null,
        weight: Math.round(trust * 1000) / 1000,
        price: new Decimal(seen.price),
        adjustedPrice: fromLog(adjusted[i]!, currency),
      }))
      .sort((a, b) => b.weight - a.weight),
    reasons: [
      `${counts.sold} sold and ${counts.asking} asking prices of this kind, the newest of ${newest}`,
      `An asking price is ${percent(effects.askingPremium.mean)} above what is paid; ` +
        `one grade of condition is worth ${percent(effects.conditionStep.mean)}`,
      ...(model.seasonality
        ? [`The height of the season is worth ${percent(effects.season.mean)} more than the rest of the year`]
        : []),
      ...(model.observations.length < FEW
        ? [`With fewer than ${FEW} comparables the range is wide and rests on common practice`]
        : []),
      ...(doubted > 0
        ? [`${doubted} ${doubted === 1 ? 'price is' : 'prices are'} far from the others and counted at less than half`]
        : []),
    ],
  };
}

/** A price from the full cost alone: cost × (1 + markup ÷ 100), and a guess around it. */
export function estimateFromCost(input: {
  fullCost: Amount;
  markupPercent: Decimal.Value;
  on: string;
  seasonality: Seasonality | null;
  beliefs: PriceBeliefs;
  currency: string;
}): PriceEstimate {
  const { beliefs, currency, on } = input;
  const price = costPlusPrice(input.fullCost, input.markupPercent, currency);
  if (!price.greaterThan(0))
    throw new EngineError(
      'no-basis',
      'there is no comparable of this kind, and a cost of zero says nothing about a price',
      'costPlus',
    );
  const { meanDeviation, noise } = COST_PLUS;
  const distribution = {
    components: [{ weight: 1, mean: Math.log(price.toNumber()), meanVariance: meanDeviation ** 2, noise }],
  };
  return {
    method: 'costPlus',
    ...spread(distribution, currency),
    currency,
    on,
    distribution,
    seasonality: input.seasonality,
    effects: beliefs.effects,
    counts: { sold: 0, asking: 0 },
    adjustedAsks: [],
    used: [],
    reasons: [
      `No comparable of this kind: full cost plus ${new Decimal(input.markupPercent).toFixed()} ` +
        `%, which says what is wanted, not what is paid`,
      'The range is a guess; record a few prices of similar machines',
    ],
  };
}

/** Full cost × (1 + markup ÷ 100), rounded once. */
export function costPlusPrice(cost: Amount, markupPercent: Decimal.Value, currency: string): Decimal {
  const amount = typeof cost === 'string' ? parseAmount(cost, currency, 'cost') : cost;
  const markup = new Decimal(markupPercent);
  if (!markup.isFinite() || markup.lessThan(-100))
    throw new EngineError('bad-number', `a markup of ${markup.toString()} % is out of range`, 'markupPercent');
  return roundAmount(amount.times(markup.plus(100)).div(100), currency);
}

/** How far the going price moves, in the log, from the estimate's day to another (a day number), by the season. */
export function seasonShift({ effects, seasonality, on }: PriceEstimate, day: number): number {
  return effects.season.mean * (seasonNearness(seasonality, day) - seasonNearness(seasonality, dayNumber(on)));
}

function effectsOf({ nodes }: MarketModel, coefficients: readonly number[]): PriceEstimate['effects'] {
  return Object.fromEntries(
    effectNames.map((name, index) => {
      const column = index + 1;
      const mean = coefficients[column]!;
      const unit = coefficients.map((_, j) => (j === column ? 1 : 0));
      const variance = nodes.reduce(
        (sum, node) =>
          node.weight < 1e-6
            ? sum
            : sum + node.weight * (node.solve(unit)[column]! + (node.coefficients[column]! - mean) ** 2),
        0,
      );
      return [name, { mean, deviation: Math.sqrt(variance) }];
    }),
  ) as PriceEstimate['effects'];
}

const spread = (distribution: LogPriceDistribution, currency: string) => ({
  p10: fromLog(logPriceQuantile(distribution, 0.1), currency),
  p50: fromLog(logPriceQuantile(distribution, 0.5), currency),
  p90: fromLog(logPriceQuantile(distribution, 0.9), currency),
});

const fromLog = (log: number, currency: string): Decimal => roundAmount(new Decimal(Math.exp(log)), currency);

export const percent = (log: number): string => `${(100 * Math.expm1(log)).toFixed(0)} %`;

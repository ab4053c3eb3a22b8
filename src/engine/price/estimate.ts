import { Decimal } from 'decimal.js';
import { dayNumber } from '../days.js';
import { EngineError } from '../error.js';
import { type Amount, parseAmount, roundAmount } from '../money/index.js';
import { studentCdf, studentQuantile } from '../statistics/index.js';
import {
  type Comparable,
  type EffectName,
  effectNames,
  type Observation,
  observe,
  type PriceBeliefs,
  type PricedMachine,
  type Season,
  seasonNearness,
  usualBeliefs,
} from './comparable.js';
import { leastSquares } from './least-squares.js';

export interface EstimateInput {
  machine: PricedMachine;
  comparables: readonly Comparable[];
  /** Day of the sale, YYYY-MM-DD. */
  on: string;
  /** Today, from which comparables age. */
  today: string;
  season: Season | null;
  currency: string;
  /** What to fall back on without any comparable. */
  costPlus?: { fullCost: Amount; markupPercent: Decimal.Value } | null;
  beliefs?: Partial<PriceBeliefs>;
}

/** A predictive distribution of what is paid for one machine on a day: a Student t in the log of the price. */
export interface PriceEstimate {
  method: 'comparables' | 'costPlus';
  currency: string;
  on: string;
  p10: Decimal;
  /** The median: as likely to bring more as less. */
  p50: Decimal;
  p90: Decimal;
  logLocation: number;
  logScale: number;
  freedom: number;
  /** Each effect on the log price as learnt: mean and standard deviation. */
  effects: Record<EffectName, { mean: number; deviation: number }>;
  counts: { given: number; otherKind: number; sold: number; asking: number; effective: number };
  /** Comparables used, heaviest first, with what each would mean for this machine. */
  used: { id: string | null; weight: number; price: Decimal; adjustedPrice: Decimal }[];
  reasons: string[];
}

/** Where no comparable speaks, a price is a guess: half as much again or a third less, two times in three. No source. */
const COST_PLUS_SPREAD = { scale: 0.4, freedom: 5 };

/** Standardised residuals beyond this lose weight with their square, so that one mistyped price cannot lead. */
const ORDINARY_RESIDUAL = 2;

/**
 * Predicts what is paid for a machine from comparables.
 *
 * Model: log price = constant + condition + asking premium + age + width + season + maker + model + error, all as
 * differences from the machine at hand, so that the constant is its own log price. Conjugate normal-inverse-gamma
 * beliefs on every effect but the constant shrink what few comparables cannot tell; each comparable's likelihood is
 * raised to its weight (power prior: Ibrahim and Chen, Statistical Science 15, 2000; from memory), so that old, distant
 * and asking prices count as parts of an observation; prices far from the rest lose weight by iterative reweighting, as
 * in robust regression. Solved by QR least squares with the beliefs as extra rows. The prediction is a Student t with
 * few degrees of freedom when there is little to go by, hence wide.
 * Without a comparable of its kind: full cost times (1 + markup), wide, and said so.
 * @throws EngineError `no-basis` with neither comparables nor a cost, and as `observe`
 */
export function estimatePrice(input: EstimateInput): PriceEstimate {
  const beliefs: PriceBeliefs = { ...usualBeliefs, ...input.beliefs };
  const days = { sale: dayNumber(input.on, 'on'), today: dayNumber(input.today, 'today') };
  const observations = observe(input.machine, input.comparables, days, input.season, beliefs, input.currency);
  return observations.length === 0 ? costPlus(input, beliefs) : regress(input, observations, beliefs);
}

/** Chance that the price paid reaches an amount. */
export function probabilityPriceAtLeast(estimate: PriceEstimate, price: Decimal.Value): number {
  const amount = Number(price);
  if (amount <= 0) return 1;
  return 1 - studentCdf((Math.log(amount) - estimate.logLocation) / estimate.logScale, estimate.freedom);
}

/** The price not reached with chance `p`, 0 < p < 1. */
export function priceQuantile(estimate: PriceEstimate, p: number): Decimal {
  return fromLog(estimate.logLocation + estimate.logScale * studentQuantile(p, estimate.freedom), estimate.currency);
}

/** The same estimate moved to another day of the season, by the season's learnt effect. */
export function logShift(estimate: PriceEstimate, season: Season | null, day: number): number {
  return estimate.effects.season.mean * (seasonNearness(season, day) - seasonNearness(season, dayNumber(estimate.on)));
}

function regress(input: EstimateInput, observations: Observation[], beliefs: PriceBeliefs): PriceEstimate {
  const prior = beliefs.spread;
  let trust = observations.map(() => 1);
  let coefficients: number[] = [];
  let inverse: number[][] = [];
  let scale = prior.deviation;
  let freedom = 0;
  for (let round = 0; round < 40; round++) {
    const roots = observations.map((each, i) => Math.sqrt(each.weight * trust[i]!));
    const rows = observations.map((each, i) => [1, ...each.differences].map((value) => value * roots[i]!));
    const y = observations.map((each, i) => each.logPrice * roots[i]!);
    effectNames.forEach((name, j) => {
      const { mean, deviation } = beliefs[name];
      const precision = prior.deviation / deviation;
      rows.push([0, ...effectNames.map((_, k) => (k === j ? precision : 0))]);
      y.push(mean * precision);
    });
    const fit = leastSquares(rows, y);
    ({ coefficients, inverse } = fit);
    const counted = observations.reduce((sum, each, i) => sum + each.weight * trust[i]!, 0);
    // The constant has no belief and takes one observation, of which there may be less than a whole.
    freedom = prior.observations + Math.max(0, counted - 1);
    scale = Math.sqrt((prior.observations * prior.deviation ** 2 + fit.residualSumOfSquares) / freedom);
    const next = observations.map((each) => {
      const residual = (each.logPrice - dot([1, ...each.differences], coefficients)) / scale;
      return Math.min(1, (ORDINARY_RESIDUAL / residual) ** 2);
    });
    const moved = Math.max(...next.map((value, i) => Math.abs(value - trust[i]!)));
    trust = next;
    if (moved < 1e-6) break;
  }

  const effects = Object.fromEntries(
    effectNames.map((name, j) => [
      name,
      { mean: coefficients[j + 1]!, deviation: scale * Math.sqrt(inverse[j + 1]![j + 1]!) },
    ]),
  ) as PriceEstimate['effects'];
  const used = observations
    .map((each, i) => ({
      id: each.comparable.id ?? null,
      weight: round3(each.weight * trust[i]!),
      price: new Decimal(each.comparable.price),
      adjustedPrice: fromLog(each.logPrice - dot([0, ...each.differences], coefficients), input.currency),
      trust: trust[i]!,
    }))
    .sort((a, b) => b.weight - a.weight);
  const asking = observations.filter((each) => each.comparable.priceKind === 'asking').length;
  const counts = {
    given: input.comparables.length,
    otherKind: input.comparables.length - observations.length,
    sold: observations.length - asking,
    asking,
    effective: round3(observations.reduce((sum, each, i) => sum + each.weight * trust[i]!, 0)),
  };
  const doubted = used.filter((each) => each.trust < 0.5).length;
  const estimate = spreadOut(input, coefficients[0]!, scale * Math.sqrt(1 + inverse[0]![0]!), freedom);
  const newest = observations.reduce(
    (latest, each) => (each.comparable.seenDate > latest ? each.comparable.seenDate : latest),
    '',
  );
  return {
    ...estimate,
    method: 'comparables',
    effects,
    counts,
    used: used.map(({ trust: _, ...each }) => each),
    reasons: [
      `${counts.sold} sold and ${counts.asking} asking prices of the same kind, worth ${counts.effective} of a fresh, near, sold one each; the newest of ${newest}`,
      `an asking price stands ${percent(effects.askingPremium.mean)} above what is paid; a grade of condition is worth ${percent(effects.conditionStep.mean)}`,
      ...(input.season
        ? [`the height of the season is worth ${percent(effects.season.mean)} over the rest of the year`]
        : []),
      ...(counts.effective < 3 ? ['few comparables, so the range is wide and leans on common practice'] : []),
      ...(doubted > 0
        ? [
            `${doubted} ${doubted === 1 ? 'price stands' : 'prices stand'} far from the others and count${doubted === 1 ? 's' : ''} little`,
          ]
        : []),
    ],
  };
}

function costPlus(input: EstimateInput, beliefs: PriceBeliefs): PriceEstimate {
  if (!input.costPlus)
    throw new EngineError('no-basis', 'there is no comparable of this kind and no cost to start from', 'comparables');
  const price = costPlusPrice(input.costPlus.fullCost, input.costPlus.markupPercent, input.currency);
  if (!price.greaterThan(0))
    throw new EngineError(
      'no-basis',
      'there is no comparable of this kind, and a cost of zero says nothing about a price',
      'costPlus',
    );
  const { scale, freedom } = COST_PLUS_SPREAD;
  return {
    ...spreadOut(input, Math.log(price.toNumber()), scale, freedom),
    method: 'costPlus',
    effects: Object.fromEntries(effectNames.map((name) => [name, { ...beliefs[name] }])) as PriceEstimate['effects'],
    counts: { given: input.comparables.length, otherKind: input.comparables.length, sold: 0, asking: 0, effective: 0 },
    used: [],
    reasons: [
      `no comparable of this kind: full cost plus ${new Decimal(input.costPlus.markupPercent).toFixed()} %, which says what is wanted, not what is paid`,
      'the range is a guess; enter a few seen prices of similar machines',
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

function spreadOut(input: EstimateInput, logLocation: number, logScale: number, freedom: number) {
  const quantile = (p: number): Decimal =>
    fromLog(logLocation + logScale * studentQuantile(p, freedom), input.currency);
  return {
    currency: input.currency,
    on: input.on,
    p10: quantile(0.1),
    p50: fromLog(logLocation, input.currency),
    p90: quantile(0.9),
    logLocation,
    logScale,
    freedom,
  };
}

function fromLog(log: number, currency: string): Decimal {
  return roundAmount(new Decimal(Math.exp(log)), currency);
}

function dot(a: readonly number[], b: readonly number[]): number {
  return a.reduce((sum, value, i) => sum + value * b[i]!, 0);
}

function percent(log: number): string {
  return `${(100 * Math.expm1(log)).toFixed(0)} %`;
}

function round3(value: number): number {
  return Math.round(value * 1000) / 1000;
}

import type { Decimal } from 'decimal.js';
import { dayNumber } from '../days.js';
import { EngineError } from '../error.js';
import { lookUp } from '../look-up.js';
import { type Amount, parseAmount } from '../money/index.js';
import { factor, solve } from '../statistics/cholesky.js';
import { effectNames, type PriceBeliefs } from './price-beliefs.js';
import { type Seasonality, seasonNearness } from './seasonality.js';

/** What is known of a machine that bears on its price. */
export interface MachineTraits {
  kind: string;
  maker?: string | null;
  model?: string | null;
  /** 1 for parts only … 5 as new. */
  condition: number;
  yearEstimate?: number | null;
  clearingWidthMillimetres?: number | null;
  /** Pieces of equipment fitted beyond the usual, less those that are usual and removed or missing; 0 when not stated. */
  equipmentBalance?: number | null;
}

/** A seen price of a similar machine. */
export interface SeenPrice extends MachineTraits {
  id?: string;
  priceKind: 'asking' | 'sold';
  price: Amount;
  /** YYYY-MM-DD */
  seenDate: string;
}

/** What the comparables of one kind say, for each standard deviation of the noise on a grid: normal given that deviation. */
export interface MarketModel {
  kind: string;
  today: number;
  seasonality: Seasonality | null;
  beliefs: PriceBeliefs;
  /** The middle of the details, which stands in where a machine does not state one. */
  centre: { year: number; logWidth: number };
  /** Column of each maker and of each model that was seen. */
  groups: Map<string, number>;
  columns: number;
  nodes: {
    noise: number;
    scale: number;
    weight: number;
    coefficients: number[];
    solve(b: readonly number[]): number[];
  }[];
  observations: { seen: SeenPrice; logPrice: number; row: number[]; trust: number }[];
}

const NOISE_NODES = 15;
/** How far makers and models may differ, as multiples of what is believed: they may also be much alike. Judgement, no source. */
const GROUP_SCALES = [
  { scale: 0.25, probability: 0.35 },
  { scale: 1, probability: 0.65 },
];
/** Residuals beyond this many standard deviations lose weight with their square, so that one mistyped price cannot lead. */
const ORDINARY_RESIDUAL = 2;
/**
 * The cut takes about this much off the squares of normal residuals beside what it takes off their count (0.92 ÷ 0.987 at
 * the true σ); without it the noise would be found too small. Halfway between one and that, by measurement.
 */
const CUT_CONSISTENCY = 0.95;
const MAX_ROUNDS = 20;
/** Of the constant, which has no belief: as good as flat. */
const CONSTANT_DEVIATION = 5;
const MIDDLE_CONDITION = 3;

/**
 * Learns the prices of one kind of machine from what was seen.
 *
 * log price = constant + effects + maker + model + noise, with normal beliefs on every effect, makers and models as
 * random effects, and the noise's standard deviation on a grid under a log-normal belief. Every comparable counts one;
 * residuals r beyond twice the noise σ then count (2σ/|r|)², found by repetition (an M-estimate: Huber, Annals of
 * Mathematical Statistics 35, 1964; from memory). Given σ all is normal and linear, so nothing is approximated but the
 * grid. Comparables of another kind are left out. Two views on one price: `predict` adds the noise back.
 * @throws EngineError `bad-amount` for a price not above zero, `bad-condition` outside 1 to 5, `bad-day`
 */
export function learnMarket(input: {
  kind: string;
  seen: readonly SeenPrice[];
  /** YYYY-MM-DD, from which prices age. */
  today: string;
  seasonality: Seasonality | null;
  currency: string;
  beliefs: PriceBeliefs;
}): MarketModel {
  const { kind, seasonality, beliefs, currency } = input;
  const alike = input.seen.flatMap((seen, index) =>
    seen.kind === kind ? [{ seen, path: `comparables/${index}` }] : [],
  );
  const groups = new Map<string, number>();
  const first = 1 + effectNames.length;
  for (const { seen } of alike)
    for (const name of groupsOf(seen)) if (!groups.has(name)) groups.set(name, first + groups.size);
  const model: MarketModel = {
    kind,
    today: dayNumber(input.today, 'today'),
    seasonality,
    beliefs,
    centre: {
      year: mean(alike.map(({ seen }) => seen.yearEstimate)) ?? 0,
      logWidth: mean(alike.map(({ seen }) => logOf(seen.clearingWidthMillimetres))) ?? 0,
    },
    groups,
    columns: first + groups.size,
    nodes: [],
    observations: [],
  };
  model.observations = alike.map(({ seen, path }) => {
    const row = new Array<number>(model.columns).fill(0);
    designRow(
      model,
      seen,
      { asking: seen.priceKind === 'asking', on: dayNumber(seen.seenDate, `${path}/seenDate`) },
      path,
    ).forEach((value, column) => (row[column] = value));
    for (const name of groupsOf(seen)) row[lookUp(groups, name)] = 1;
    return { seen, logPrice: Math.log(priceOf(seen, currency, `${path}/price`)), row, trust: 1 };
  });
  if (model.observations.length > 0) fit(model);
  return model;
}

/** Constant and effects of a machine on a day; what it does not state counts as the middle of what was seen. */
export function designRow(
  { seasonality, today, centre }: MarketModel,
  machine: MachineTraits,
  at: { asking: boolean; on: number },
  path: string,
): number[] {
  const { condition, yearEstimate } = machine;
  if (!(condition >= 1 && condition <= 5))
    throw new EngineError(
      'bad-condition',
      `a condition lies between 1 (for parts) and 5 (as new), not ${condition}`,
      `${path}/condition`,
    );
  const logWidth = logOf(machine.clearingWidthMillimetres);
  return [
    1,
    condition - MIDDLE_CONDITION,
    (condition - MIDDLE_CONDITION) ** 2,
    at.asking ? 1 : 0,
    centre.year === 0 || !yearEstimate ? 0 : (centre.year - yearEstimate) / 10,
    centre.logWidth === 0 || logWidth === null ? 0 : logWidth - centre.logWidth,
    seasonNearness(seasonality, at.on),
    (today - at.on) / 365.25,
    machine.equipmentBalance ?? 0,
  ];
}

const normalized = (name: string | null | undefined): string => name?.trim().toLowerCase() ?? '';

/** Names of a machine's own effects: its maker's, and its model's within the maker; none for what is not stated. */
export function groupsOf({ maker, model }: MachineTraits): string[] {
  const its = normalized(maker);
  if (!its) return [];
  return normalized(model) ? [its, `${its}\n${normalized(model)}`] : [its];
}

function fit(model: MarketModel): void {
  const { beliefs, observations, columns } = model;
  const middle = median(observations.map((each) => each.logPrice));
  const priorMean = new Array<number>(columns).fill(0);
  const precision = new Array<number>(columns).fill(0);
  priorMean[0] = middle;
  precision[0] = 1 / CONSTANT_DEVIATION ** 2;
  effectNames.forEach((name, j) => {
    priorMean[j + 1] = beliefs.effects[name].mean;
    precision[j + 1] = 1 / beliefs.effects[name].deviation ** 2;
  });
  for (const [name, column] of model.groups)
    precision[column] = 1 / (name.includes('\n') ? beliefs.modelDeviation : beliefs.makerDeviation) ** 2;
  // Against what the beliefs alone say, so that the coefficients are differences from them.
  const y = observations.map((each) => each.logPrice - dot(each.row, priorMean));

  for (let round = 0; round < MAX_ROUNDS; round++) {
    model.nodes = posterior(model, y, priorMean, precision);
    const noise = Math.sqrt(model.nodes.reduce((sum, node) => sum + node.weight * node.noise ** 2, 0));
    const coefficients = priorMean.map((_, j) =>
      model.nodes.reduce((sum, node) => sum + node.weight * node.coefficients[j]!, 0),
    );
    let moved = 0;
    for (const each of observations) {
      const residual = Math.abs(each.logPrice - dot(each.row, coefficients)) / noise;
      const trust = residual > ORDINARY_RESIDUAL ? (ORDINARY_RESIDUAL / residual) ** 2 : 1;
      moved = Math.max(moved, Math.abs(trust - each.trust));
      each.trust = trust;
    }
    if (moved < 1e-3) break;
  }
}

/** The posterior on the grid of the noise, at the observations' present trust. */
function posterior(
  model: MarketModel,
  y: readonly number[],
  priorMean: readonly number[],
  precision: readonly number[],
) {
  const { observations, columns } = model;
  const { median: usual, logDeviation } = model.beliefs.noise;
  const gram = Array.from({ length: columns }, () => new Array<number>(columns).fill(0));
  const moment = new Array<number>(columns).fill(0);
  let squares = 0;
  let counted = 0;
  observations.forEach(({ row, trust }, i) => {
    counted += trust;
    squares += trust * y[i]! * y[i]!;
    for (let j = 0; j < columns; j++) {
      const value = row[j]! * trust;
      if (value === 0) continue;
      moment[j]! += value * y[i]!;
      const into = gram[j]!;
      for (let k = 0; k <= j; k++) into[k]! += value * row[k]!;
    }
  });
  const nodes = GROUP_SCALES.flatMap(({ scale, probability }) =>
    Array.from({ length: NOISE_NODES }, (_, index) => {
      // From 2.5 deviations below the usual to 2.5 above.
      const z = (5 * index) / (NOISE_NODES - 1) - 2.5;
      const noise = usual * Math.exp(logDeviation * z);
      const variance = noise * noise;
      const scaled = precision.map((value, j) => (j > effectNames.length ? value / scale ** 2 : value));
      const matrix = gram.map((row, j) => row.map((value, k) => value / variance + (j === k ? scaled[j]! : 0)));
      const lower = factor(matrix);
      const logDeterminant = 2 * lower.reduce((sum, row, j) => sum + Math.log(row[j]!), 0);
      const right = moment.map((value) => value / variance);
      const shift = solve(lower, right);
      const logWeight =
        Math.log(probability) -
        0.5 * z * z -
        CUT_CONSISTENCY * counted * Math.log(noise) +
        0.5 * scaled.reduce((sum, value) => sum + Math.log(value), 0) -
        0.5 * logDeterminant -
        0.5 * (squares / variance - dot(right, shift));
      return {
        noise,
        scale,
        logWeight,
        coefficients: shift.map((value, j) => value + priorMean[j]!),
        solve: (b: readonly number[]) => solve(lower, b),
      };
    }),
  );
  const top = Math.max(...nodes.map((node) => node.logWeight));
  const total = nodes.reduce((sum, node) => sum + Math.exp(node.logWeight - top), 0);
  return nodes.map(({ logWeight, ...node }) => ({ ...node, weight: Math.exp(logWeight - top) / total }));
}

function priceOf(seen: SeenPrice, currency: string, path: string): number {
  const price: Decimal = typeof seen.price === 'string' ? parseAmount(seen.price, currency, path) : seen.price;
  if (!price.isFinite() || !price.greaterThan(0))
    throw new EngineError('bad-amount', `a comparable's price is above zero, not ${price.toString()}`, path);
  return price.toNumber();
}

const logOf = (width: number | null | undefined): number | null => (width && width > 0 ? Math.log(width) : null);

function mean(values: readonly (number | null | undefined)[]): number | null {
  const known = values.filter((value): value is number => typeof value === 'number');
  return known.length === 0 ? null : known.reduce((sum, value) => sum + value, 0) / known.length;
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return (sorted[(sorted.length - 1) >> 1]! + sorted[sorted.length >> 1]!) / 2;
}

export function dot(a: readonly number[], b: readonly number[]): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}

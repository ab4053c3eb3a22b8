import { factor, solve } from '../statistics/cholesky.js';
import { logGamma } from '../statistics/index.js';
import { type Belief, meanOf, observe, predict, type Predictive } from './belief.js';

/** One log that was seen, or, for a line not yet come, one that it exceeds. */
export interface Observation {
  lineId: string;
  supplierId: string;
  family: string;
  log: number;
  /** True: the log is known only to exceed `log`. */
  atLeast: boolean;
}

/** What a shop with no history believes, before it has seen anything. */
export interface ShopPrior {
  meanLog: number;
  weight: number;
  variance: number;
  freedom: number;
}

/**
 * How far suppliers, families and their pairings differ from one another, as variances of their effect on the log in
 * units of the within-pairing variance; and how alike the pairings' own variances are (`freedom`).
 */
export interface Spread {
  supplier: number;
  family: number;
  pairing: number;
  freedom: number;
}

interface Cell {
  supplierId: string;
  family: string;
  observations: Observation[];
  /** What the cell's receipts say of its mean log, worth so many receipts. */
  mean: number;
  worth: number;
  /** Sum of squares about the cell's own mean, and its degrees of freedom. */
  squares: number;
  degrees: number;
  /** The belief that every other cell gives this one. */
  prior?: Belief;
}

/** Everything learnt of one quantity over the shop: plain data, one cell per supplier and family seen. */
export interface Pool {
  prior: ShopPrior;
  cells: Cell[];
  spread: Spread;
  /** Within-pairing variance of the log, over the shop. */
  variance: number;
}

/** The belief for one supplier and family, and what it rests on. */
export interface PooledBelief {
  predictive: Predictive;
  /** The normal-inverse-gamma prior that the rest of the shop's history gives this supplier and family. */
  prior: Belief;
  /** Receipts, and lines still out, of this supplier and family that were used. */
  receipts: number;
  outstanding: number;
}

const STEPS = [0.03, 0.12, 0.5, 2, 8];
const FREEDOMS = [4, 8, 16, 32];
// Before any history: suppliers, families and pairings each add half of the variance within a pairing, and a factor of
// four either way is no surprise. Common practice, no source.
const EXPECTED_SPREAD = 0.5;
const SPREAD_LOG_SD = 1.4;

/**
 * Learns one log-normal quantity over the shop's suppliers and families.
 *
 * The mean log of a pairing is a shop mean plus an effect of the supplier, of the family and of the pairing, all normal
 * and in units of the variance within a pairing, which is itself inverse-gamma: one conjugate normal-inverse-gamma
 * model. How large those effects are is weighed over a short list by the marginal likelihood of the shop's own history
 * (empirical Bayes) with a mild preference for the middle.
 */
export function learnPool(observations: readonly Observation[], prior: ShopPrior): Pool {
  const cells = gather(observations, prior);
  const told = cells.filter((cell) => cell.worth > 0);
  const spread = averageSpread(told, prior);
  const variance = told.length > 0 ? fit(told, prior, spread).variance : prior.variance;
  spread.freedom = chooseFreedom(told, variance);
  const pool = { prior, cells, spread, variance };
  for (const cell of cells) cell.prior = priorFor(pool, cell.supplierId, cell.family);
  return pool;
}

/**
 * The belief for one supplier and family, known or not: the rest of the shop's history as the prior, then the
 * pairing's own receipts, then its lines still out.
 * @param without leaves this line out, so that a line is not used to forecast itself
 */
export function beliefFor(pool: Pool, supplierId: string, family: string, without?: string): PooledBelief {
  const own = pool.cells.find((cell) => cell.supplierId === supplierId && cell.family === family);
  const prior = own?.prior ?? priorFor(pool, supplierId, family);
  const used = (own?.observations ?? []).filter((o) => o.lineId !== without);
  const seen = used.filter((o) => !o.atLeast).map((o) => o.log);
  const bounds = used.filter((o) => o.atLeast).map((o) => o.log);
  return {
    prior,
    predictive: predict(observe(prior, seen), bounds),
    receipts: seen.length,
    outstanding: bounds.length,
  };
}

/**
 * The posterior mean of the spreads over the grid. The mean, not the likeliest: when one family only was ever bought,
 * supplier and pairing cannot be told apart, and the mean then shares the difference between them.
 */
function averageSpread(cells: readonly Cell[], prior: ShopPrior): Spread {
  const tried = STEPS.flatMap((supplier) =>
    STEPS.flatMap((family) =>
      STEPS.map((pairing) => {
        const spread = { supplier, family, pairing, freedom: 8 };
        return { spread, score: fit(cells, prior, spread).score };
      }),
    ),
  );
  const top = Math.max(...tried.map((t) => t.score));
  const total = tried.reduce((sum, t) => sum + Math.exp(t.score - top), 0);
  const mean = (key: keyof Spread) =>
    tried.reduce((sum, t) => sum + Math.exp(t.score - top) * t.spread[key], 0) / total;
  return { supplier: mean('supplier'), family: mean('family'), pairing: mean('pairing'), freedom: 8 };
}

function gather(observations: readonly Observation[], prior: ShopPrior): Cell[] {
  const byKey = new Map<string, Observation[]>();
  for (const o of observations) {
    const key = JSON.stringify([o.supplierId, o.family]);
    byKey.set(key, [...(byKey.get(key) ?? []), o]);
  }
  return [...byKey.values()].map((group) => summarise(group, prior));
}

function summarise(observations: Observation[], prior: ShopPrior): Cell {
  const seen = observations.filter((o) => !o.atLeast).map((o) => o.log);
  const bounds = observations.filter((o) => o.atLeast).map((o) => o.log);
  const mean = seen.reduce((sum, y) => sum + y, 0) / (seen.length || 1);
  const cell: Cell = {
    supplierId: observations[0]!.supplierId,
    family: observations[0]!.family,
    observations,
    mean,
    worth: seen.length,
    squares: seen.reduce((sum, y) => sum + (y - mean) ** 2, 0),
    degrees: Math.max(0, seen.length - 1),
  };
  if (bounds.length > 0) {
    // What the lines still out add to the mean: the belief after them, with the belief's starting point taken out.
    const start: Belief = { ...prior, weight: 0.5 };
    const after = meanOf(predict(observe(start, seen), bounds));
    cell.worth = Math.max(seen.length, after.weight - start.weight);
    if (cell.worth > 0.05) cell.mean = (after.weight * after.meanLog - start.weight * start.meanLog) / cell.worth;
    else cell.worth = 0;
  }
  return cell;
}

type Place = Pick<Cell, 'supplierId' | 'family'>;

function likeness(a: Place, b: Place, spread: Spread, prior: ShopPrior): number {
  const supplier = a.supplierId === b.supplierId;
  const family = a.family === b.family;
  return (
    1 / prior.weight +
    (supplier ? spread.supplier : 0) +
    (family ? spread.family : 0) +
    (supplier && family ? spread.pairing : 0)
  );
}

function covariance(cells: readonly Cell[], spread: Spread, prior: ShopPrior): number[][] {
  return cells.map((a) => cells.map((b) => likeness(a, b, spread, prior) + (a === b ? 1 / a.worth : 0)));
}

/** Log marginal likelihood of the cells' means and squares (up to a constant), and the variance they give. */
function fit(cells: readonly Cell[], prior: ShopPrior, spread: Spread): { score: number; variance: number } {
  const chol = factor(covariance(cells, spread, prior));
  const residual = cells.map((cell) => cell.mean - prior.meanLog);
  const half = solve(chol, residual);
  const between = residual.reduce((sum, r, k) => sum + r * half[k]!, 0);
  const within = cells.reduce((sum, cell) => sum + cell.squares, 0);
  const count = cells.length + cells.reduce((sum, cell) => sum + cell.degrees, 0);
  const freedom = prior.freedom + count;
  const squares = prior.freedom * prior.variance + within + between;
  const logDeterminant = 2 * chol.reduce((sum, row, k) => sum + Math.log(row[k]!), 0);
  const preference = [spread.supplier, spread.family, spread.pairing].reduce(
    (sum, v) => sum + (Math.log(v / EXPECTED_SPREAD) / SPREAD_LOG_SD) ** 2 / 2,
    0,
  );
  return {
    score: -0.5 * logDeterminant - (freedom / 2) * Math.log(squares) - preference,
    variance: squares / freedom,
  };
}

/** How alike the pairings' variances are: the freedom under which their sums of squares are likeliest. */
function chooseFreedom(cells: readonly Cell[], variance: number): number {
  let best = { score: -Infinity, freedom: 8 };
  for (const freedom of FREEDOMS) {
    let score = -((Math.log(freedom / 8) / SPREAD_LOG_SD) ** 2) / 2;
    for (const { squares, degrees } of cells) {
      if (degrees === 0) continue;
      score +=
        logGamma((freedom + degrees) / 2) -
        logGamma(freedom / 2) +
        (freedom / 2) * Math.log(freedom * variance) -
        ((freedom + degrees) / 2) * Math.log(freedom * variance + squares);
    }
    if (score > best.score) best = { score, freedom };
  }
  return best.freedom;
}

/** The prior for one place from every cell but its own: the linear prediction of its mean, and how sure that is. */
function priorFor(pool: Pool, supplierId: string, family: string): Belief {
  const { prior, spread, variance } = pool;
  const place = { supplierId, family };
  const others = pool.cells.filter(
    (cell) => cell.worth > 0 && !(cell.supplierId === supplierId && cell.family === family),
  );
  const own = likeness(place, place, spread, prior);
  const base = { variance, freedom: spread.freedom };
  if (others.length === 0) return { ...base, meanLog: prior.meanLog, weight: 1 / own };
  const link = others.map((cell) => likeness(place, cell, spread, prior));
  const chol = factor(covariance(others, spread, prior));
  const share = solve(chol, link);
  const meanLog = prior.meanLog + others.reduce((sum, cell, k) => sum + share[k]! * (cell.mean - prior.meanLog), 0);
  const left = own - link.reduce((sum, c, k) => sum + share[k]! * c, 0);
  return { ...base, meanLog, weight: 1 / left };
}

import { normalHazard, normalTail, trigamma } from '../statistics/index.js';

/**
 * What is believed of a log-normal quantity: a normal-inverse-gamma distribution over the mean and variance of its
 * natural log, in the form of Hoff 2009 §5.3: variance ~ inverse-gamma(freedom / 2, freedom · variance / 2), and given
 * it, mean ~ normal(meanLog, variance / weight).
 */
export interface Belief {
  meanLog: number;
  /** How many observations the mean is worth (κ). */
  weight: number;
  /** Best single figure for the variance of the log (σ²). */
  variance: number;
  /** How many observations the variance is worth (ν). */
  freedom: number;
}

/** @returns the belief after seeing logs exactly: the conjugate update (Hoff 2009 §5.3). */
export function observe(prior: Belief, logs: readonly number[]): Belief {
  const n = logs.length;
  if (n === 0) return prior;
  const mean = logs.reduce((sum, y) => sum + y, 0) / n;
  const squares = logs.reduce((sum, y) => sum + (y - mean) ** 2, 0);
  const weight = prior.weight + n;
  const freedom = prior.freedom + n;
  const gap = ((prior.weight * n) / weight) * (mean - prior.meanLog) ** 2;
  return {
    meanLog: (prior.weight * prior.meanLog + n * mean) / weight,
    weight,
    freedom,
    variance: (prior.freedom * prior.variance + squares + gap) / freedom,
  };
}

/**
 * The same belief on a grid of variances, which can also hold what a lower bound says: given the variance, the mean is
 * normal, and so is the next log.
 */
export interface Predictive {
  nodes: PredictiveNode[];
}

interface PredictiveNode {
  probability: number;
  sd: number;
  /** Mean of the mean log given this variance, and how many observations it is worth. */
  meanLog: number;
  weight: number;
  /** Standard deviation of the next log, which has to allow for not knowing the mean too. */
  scale: number;
}

const NODES = 33;

/**
 * @param bounds logs known only to be exceeded: lines still outstanding
 * @returns what is believed of the next log. For each variance a bound is absorbed by its exact mean and spread of μ
 *   (a truncated normal), and the variance is reweighed by how well it allows the bound: no bound is dropped, and long
 *   waits speak for a late mean and a wide spread together. Without bounds this is the Student t of Hoff 2009 §5.3.
 */
export function predict(belief: Belief, bounds: readonly number[] = []): Predictive {
  const { freedom, variance, meanLog, weight } = belief;
  // Even steps in the log of the precision 1/σ², where its gamma density is smooth, with its longer tail to the left.
  const unit = Math.sqrt(trigamma(freedom / 2));
  const nodes = Array.from({ length: NODES }, (_, k): PredictiveNode => {
    const log = unit * (-9 + (13 * k) / (NODES - 1));
    const probability = Math.exp((freedom / 2) * (log - Math.exp(log) + 1));
    return { probability, sd: Math.sqrt(variance / Math.exp(log)), meanLog, weight, scale: 0 };
  });
  for (const bound of bounds) for (const node of nodes) absorb(node, bound);
  const total = nodes.reduce((sum, node) => sum + node.probability, 0);
  return {
    nodes: nodes
      .filter((node) => node.probability > 1e-9 * total)
      .map((n) => ({ ...n, probability: n.probability / total, scale: n.sd * Math.sqrt(1 + 1 / n.weight) })),
  };
}

function absorb(node: PredictiveNode, bound: number): void {
  const spread = 1 / node.weight;
  const widen = Math.sqrt(1 + spread);
  const z = (bound - node.meanLog) / (node.sd * widen);
  const hazard = normalHazard(z);
  const narrower = spread - ((spread * spread) / (1 + spread)) * hazard * (hazard - z);
  // The floor keeps a belief to which every variance gives no chance from vanishing altogether.
  node.probability *= Math.max(normalTail(z), 1e-30);
  node.meanLog += (node.sd * spread * hazard) / widen;
  node.weight = 1 / narrower;
}

/** Chance that the next log exceeds `bound`. */
export function probabilityAbove(predictive: Predictive, bound: number): number {
  const { nodes } = predictive;
  let probability = 0;
  // An indexed loop: a forecast asks this for every day ahead.
  for (let k = 0; k < nodes.length; k++) {
    const node = nodes[k]!;
    probability += node.probability * normalTail((bound - node.meanLog) / node.scale);
  }
  return probability;
}

/** The log that the next one stays under with chance `p`, by bisection. */
export function predictiveQuantile(predictive: Predictive, p: number): number {
  const reach = Math.max(...predictive.nodes.map((n) => n.scale)) * 10;
  let low = Math.min(...predictive.nodes.map((n) => n.meanLog)) - reach;
  let high = Math.max(...predictive.nodes.map((n) => n.meanLog)) + reach;
  for (let k = 0; k < 26; k++) {
    const middle = (low + high) / 2;
    if (probabilityAbove(predictive, middle) > 1 - p) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** What two independent estimates of one log give together. */
export interface Combined {
  predictive: Predictive;
  /** Log of the density with which the one expects what the other says, up to a constant: low where they disagree. */
  logSupport: number;
}

/**
 * The belief in one log that `predictive` and an independent normal estimate of it give together: for each variance a
 * precision-weighted mean, reweighed by how well the two agree there, so that where they disagree the wide ones gain.
 */
export function combine(predictive: Predictive, estimate: { meanLog: number; sd: number }): Combined {
  const theirs = estimate.sd ** -2;
  const nodes = predictive.nodes.map(({ probability, meanLog, scale }) => {
    const ours = scale ** -2;
    const apart = scale ** 2 + estimate.sd ** 2;
    const joint = (ours * meanLog + theirs * estimate.meanLog) / (ours + theirs);
    const logProbability =
      Math.log(probability) - (meanLog - estimate.meanLog) ** 2 / (2 * apart) - Math.log(apart) / 2;
    const sd = (ours + theirs) ** -0.5;
    return { logProbability, meanLog: joint, sd, scale: sd, weight: Infinity };
  });
  // Against the likeliest, so that estimates far apart do not vanish altogether.
  const top = Math.max(...nodes.map((node) => node.logProbability));
  const total = nodes.reduce((sum, node) => sum + Math.exp(node.logProbability - top), 0);
  return {
    predictive: {
      nodes: nodes.map(({ logProbability, ...node }) => ({
        ...node,
        probability: Math.exp(logProbability - top) / total,
      })),
    },
    logSupport: top + Math.log(total),
  };
}

/** The mean log as one number, and how many observations it is worth. */
export function meanOf(predictive: Predictive): { meanLog: number; weight: number } {
  const { nodes } = predictive;
  const meanLog = nodes.reduce((sum, n) => sum + n.probability * n.meanLog, 0);
  return { meanLog, weight: 1 / nodes.reduce((sum, n) => sum + n.probability / n.weight, 0) };
}

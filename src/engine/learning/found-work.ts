import { Random } from '../statistics/random.js';
import { Normals } from './normals.js';

/** What taking machines apart, or another step that shows what is wrong, has turned up so far. */
export interface FoundWorkEntry {
  /** Hands-on minutes of work nobody had planned; 0 where nothing was found. */
  minutes: number;
  /** The work needed a part that was not on hand. */
  neededPart: boolean;
}

/** All judgement: Beta distributions as how often yes and no, log-normal minutes of the work. */
export interface FoundWorkPriors {
  found: { yes: number; no: number };
  part: { yes: number; no: number };
  medianMinutes: number;
  /** Standard deviation of the logarithm, and how many cases the median is worth. */
  deviation: number;
  weight: number;
}

export const STATED_FOUND_WORK_PRIORS: FoundWorkPriors = {
  found: { yes: 0.35, no: 2.5 },
  part: { yes: 1, no: 2 },
  medianMinutes: 120,
  deviation: 0.55,
  weight: 3,
};

export interface FoundWorkDraw {
  probability: number;
  /** Of what is found. */
  partProbability: number;
  medianMinutes: number;
  /** Standard deviation of the logarithm of the minutes. */
  deviation: number;
}

export interface FoundWorkPosterior {
  draws: FoundWorkDraw[];
  /** How many steps it rests on, and in how many something was found. */
  entries: number;
  found: number;
}

/**
 * How often work is found, and how much, from the steps finished so far: conjugate updates (Gelman et al. 2013, "Bayesian
 * Data Analysis", 3rd ed., sections 2.4 and 3.3). Same entries and seed: same draws.
 */
export function learnFoundWork(
  entries: readonly FoundWorkEntry[],
  seed: number,
  draws = 240,
  priors: FoundWorkPriors = STATED_FOUND_WORK_PRIORS,
): FoundWorkPosterior {
  const normals = new Normals(new Random(seed, 72));
  const found = entries.filter((one) => one.minutes > 0);
  const parts = found.filter((one) => one.neededPart).length;
  const logs = found.map((one) => Math.log(one.minutes));
  const n = logs.length;
  const mean = logs.reduce((sum, one) => sum + one, 0) / Math.max(1, n);
  const center = (priors.weight * Math.log(priors.medianMinutes) + n * mean) / (priors.weight + n);
  // The prior's spread counts as so many cases as its median.
  const squares =
    priors.weight * priors.deviation ** 2 +
    logs.reduce((sum, one) => sum + (one - mean) ** 2, 0) +
    ((priors.weight * n) / (priors.weight + n)) * (mean - Math.log(priors.medianMinutes)) ** 2;
  return {
    draws: Array.from({ length: draws }, (): FoundWorkDraw => {
      const deviation = Math.sqrt(squares / normals.chiSquared(priors.weight + n));
      return {
        probability: normals.beta(priors.found.yes + found.length, priors.found.no + entries.length - found.length),
        partProbability: normals.beta(priors.part.yes + parts, priors.part.no + found.length - parts),
        medianMinutes: Math.exp(center + (deviation * normals.next()) / Math.sqrt(priors.weight + n)),
        // A tail of days would be another repair, which nobody calls found work.
        deviation: Math.min(1.2, deviation),
      };
    }),
    entries: entries.length,
    found: found.length,
  };
}

/** Mean minutes of found work a step, those without any counted as 0. */
export function expectedFoundMinutes({ draws }: FoundWorkPosterior): number {
  return (
    draws.reduce((sum, one) => sum + one.probability * one.medianMinutes * Math.exp(one.deviation ** 2 / 2), 0) /
    draws.length
  );
}

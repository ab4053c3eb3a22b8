import type { SharePoint } from './quantile.js';

/** How long one subject was watched, and whether that ended with the event. `weight` 1 when absent (a bootstrap counts). */
export interface Watched {
  time: number;
  event: boolean;
  weight?: number;
}

/** One step of the curve: at `time` so many of those still at risk had the event. */
export interface ProductLimitStep {
  time: number;
  atRisk: number;
  events: number;
  /** Share without the event after this time. */
  survival: number;
  /** Greenwood's standard error of `survival`. */
  standardError: number;
}

/**
 * The product-limit estimate: Kaplan & Meier (1958), "Nonparametric estimation from incomplete observations",
 * J. Am. Stat. Assoc. 53, 457–481, with Greenwood's variance. Whoever is lost at a time is at risk at that time.
 * @returns steps in order of time, only at times with an event
 */
export function productLimit(watched: readonly Watched[]): ProductLimitStep[] {
  const sorted = [...watched].sort((a, b) => a.time - b.time);
  let atRisk = sorted.reduce((sum, one) => sum + (one.weight ?? 1), 0);
  let survival = 1;
  let greenwood = 0;
  const steps: ProductLimitStep[] = [];
  for (let k = 0; k < sorted.length;) {
    const { time } = sorted[k]!;
    let events = 0;
    let leaving = 0;
    for (; k < sorted.length && sorted[k]!.time === time; k += 1) {
      const weight = sorted[k]!.weight ?? 1;
      leaving += weight;
      if (sorted[k]!.event) events += weight;
    }
    if (events > 0) {
      survival *= 1 - events / atRisk;
      greenwood += events === atRisk ? 0 : events / (atRisk * (atRisk - events));
      steps.push({ time, atRisk, events, survival, standardError: survival * Math.sqrt(greenwood) });
    }
    atRisk -= leaving;
  }
  return steps;
}

/** Share without the event after `time`. */
export function survivalAfter(steps: readonly ProductLimitStep[], time: number): number {
  return steps.findLast((step) => step.time <= time)?.survival ?? 1;
}

/**
 * The curve as ranked values for `rankedQuantile`, tied events each with a rank of its own.
 * Subjects lost before the first event say nothing and are not counted.
 */
export function ranksOf(steps: readonly ProductLimitStep[]): { points: SharePoint[]; count: number } {
  const count = steps[0]?.atRisk ?? 0;
  const points: SharePoint[] = [];
  let before = 0;
  for (const step of steps) {
    const rank = count * (1 - step.survival);
    for (let k = 1; k <= step.events; k += 1)
      points.push({ value: step.time, rank: before + ((rank - before) * k) / step.events });
    before = rank;
  }
  return { points, count };
}

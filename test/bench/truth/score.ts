/** Stated chances against what came: the reliability of dates and of readiness. */
import type { Promise } from './service.js';

export interface WorldRow {
  world: string;
  /** Share of the futures of all jobs in which the date held. */
  p50: number;
  p80: number;
  p95: number;
  /** Mean absolute difference between readiness stated and come, over five bins, weighted by jobs; null where none was stated. */
  readinessError: number | null;
  jobs: number;
}

export const BINS = 5;

export class Score {
  jobs = 0;
  private futures = 0;
  private readonly held = { p50: 0, p80: 0, p95: 0 };
  readonly bins = Array.from({ length: BINS }, () => ({ count: 0, stated: 0, came: 0 }));

  /** One job of one plan: its promise, and in which days it was finished in each future; null where it was not. */
  add(promise: Promise, finishDays: (number | null)[], readyBy: number[]): void {
    this.jobs += 1;
    this.futures += finishDays.length;
    for (const p of ['p50', 'p80', 'p95'] as const)
      this.held[p] += finishDays.filter((day) => (day ?? Infinity) <= promise[p]).length;
    if (promise.ready === null) return;
    const bin = this.bins[Math.min(BINS - 1, Math.floor(promise.ready * BINS))]!;
    bin.count += 1;
    bin.stated += promise.ready;
    bin.came += finishDays.filter((day, k) => day !== null && day <= readyBy[k]!).length / finishDays.length;
  }

  row(world: string): WorldRow {
    const share = (value: number): number => Math.round((1000 * value) / this.futures) / 1000;
    const counted = this.bins.reduce((sum, bin) => sum + bin.count, 0);
    const off = this.bins.reduce((sum, bin) => sum + Math.abs(bin.stated - bin.came), 0);
    return {
      world,
      p50: share(this.held.p50),
      p80: share(this.held.p80),
      p95: share(this.held.p95),
      readinessError: counted === 0 ? null : Math.round((1000 * off) / counted) / 1000,
      jobs: this.jobs,
    };
  }
}

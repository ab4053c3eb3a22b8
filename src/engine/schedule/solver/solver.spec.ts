import { describe, expect, it } from '@jest/globals';
import { Random } from '../../statistics/random.js';
import { minimiseMakespan } from './minimise.js';
import { type LagProject, projectHorizon, verifyStarts } from './project.js';
import { LagSolver } from './solver.js';

/** The least makespan by trying every start of every task; null without a schedule. */
function byBruteForce(project: LagProject, deadline: number): number | null {
  const starts = new Array<number>(project.durations.length).fill(0);
  let best: number | null = null;
  const place = (i: number): void => {
    if (i === starts.length) {
      const makespan = verifyStarts(project, starts);
      if (makespan !== null && (best === null || makespan < best)) best = makespan;
      return;
    }
    for (let s = 0; s + project.durations[i]! <= deadline; s++) {
      starts[i] = s;
      const fits = project.lags.every(
        ({ from, to, minutes }) => from > i || to > i || starts[to]! - starts[from]! >= minutes,
      );
      if (fits) place(i + 1);
    }
  };
  place(0);
  return best;
}

/** A small project with lags both ways, some of them impossible. */
function randomProject(seed: number): LagProject {
  const random = new Random(seed);
  const count = 3 + random.below(3);
  const durations = Array.from({ length: count }, () => random.below(4));
  const lags: { from: number; to: number; minutes: number }[] = [];
  for (let from = 0; from < count; from++) {
    for (let to = from + 1; to < count; to++) {
      if (random.next() < 0.4) lags.push({ from, to, minutes: random.below(5) });
      if (random.next() < 0.3) lags.push({ from: to, to: from, minutes: -random.below(7) });
    }
  }
  return {
    durations,
    lags,
    demands: durations.map(() => [random.below(3), random.below(4)]),
    capacities: [2, 3],
  };
}

describe('the solver for projects with minimum and maximum time lags', () => {
  it('agrees with brute force on 200 random projects: least makespan, or that there is none', () => {
    let impossible = 0;
    for (let seed = 1; seed <= 200; seed++) {
      const project = randomProject(seed);
      const expected = byBruteForce(project, Math.min(13, projectHorizon(project)));
      const found = minimiseMakespan(project, { conflicts: 10000 });
      expect(found.proven).toBe(true);
      if (expected === null) {
        // Brute force looks only so far ahead; the solver may know better, and is then checked by the rules alone.
        if (found.starts === null) impossible++;
        else expect(found.makespan).toBeGreaterThan(13);
      } else expect([seed, found.makespan]).toEqual([seed, expected]);
      if (found.starts) expect(verifyStarts(project, found.starts)).toBe(found.makespan);
    }
    expect(impossible).toBeGreaterThan(5);
    expect(impossible).toBeLessThan(150);
  });

  it('keeps a maximum lag although a later start would be shorter for others', () => {
    // Primer on bare steel within 2 of blasting; both need the one place, and the long task may not come between.
    const project: LagProject = {
      durations: [2, 1, 5],
      lags: [
        { from: 0, to: 1, minutes: 2 },
        { from: 1, to: 0, minutes: -4 },
      ],
      demands: [[1], [1], [1]],
      capacities: [1],
    };
    const { starts, makespan, proven } = minimiseMakespan(project, { conflicts: 100 });
    expect([makespan, proven]).toEqual([8, true]);
    expect(starts![1]! - starts![0]!).toBeLessThanOrEqual(4);
  });

  it('gives the same answer again, stops at its conflicts, and goes on from there', () => {
    const project: LagProject = {
      durations: Array.from({ length: 14 }, (_, i) => 2 + (i % 3)),
      lags: [],
      demands: Array.from({ length: 14 }, (_, i) => [1 + (i % 3)]),
      capacities: [4],
    };
    const work = project.durations.reduce((sum, d, i) => sum + d * project.demands[i]![0]!, 0);
    const run = (): string => JSON.stringify(minimiseMakespan(project, { conflicts: 300 }));
    expect(run()).toBe(run());
    const solver = new LagSolver(project, { deadline: Math.ceil(work / 4) - 1 });
    let outcome = solver.run(1);
    expect(solver.conflicts).toBeLessThanOrEqual(1);
    for (let k = 0; k < 2000 && outcome === 'unknown'; k++) outcome = solver.run(50);
    expect(outcome).toBe('infeasible');
  });

  it('the check that stands beside it finds each kind of fault', () => {
    const project: LagProject = {
      durations: [2, 3],
      lags: [{ from: 1, to: 0, minutes: -3 }],
      demands: [[1], [1]],
      capacities: [1],
    };
    expect(verifyStarts(project, [0, 2])).toBe(5);
    expect(verifyStarts(project, [0, 4])).toBeNull();
    expect(verifyStarts(project, [0, 1])).toBeNull();
    expect(verifyStarts(project, [-2, 0])).toBeNull();
    expect(verifyStarts(project, [0])).toBeNull();
  });
});

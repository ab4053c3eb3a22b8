import { describe, expect, it } from '@jest/globals';
import { Random } from '../../statistics/random.js';
import { PlainGenerator, type PlainProject } from '../generation/plain-generator.js';
import type { Problem } from '../problem/problem.js';
import { ExactSearch } from '../solver/exact-search.js';
import { minimiseMakespan, verifyStarts } from '../solver/index.js';
import { searchSchedule } from './search.js';

function randomProject(seed: number, count: number): PlainProject {
  const random = new Random(seed);
  return {
    durations: Array.from({ length: count }, () => 1 + random.below(9)),
    predecessors: Array.from({ length: count }, (_, i) =>
      Array.from({ length: i }, (_, p) => p).filter(() => random.next() < 1.5 / count),
    ),
    demands: Array.from({ length: count }, () => [random.below(5), random.below(5)]),
    capacities: [6, 6],
  };
}

const lagsOf = ({ durations, predecessors }: PlainProject) =>
  predecessors.flatMap((list, to) => list.map((from) => ({ from, to, minutes: durations[from]! })));

const asProblem = (project: PlainProject): Problem => ({
  horizonMinutes: project.durations.reduce((sum, d) => sum + d, 0),
  resources: project.capacities.map((capacity, r) => ({ id: `r${r}`, capacity })),
  tasks: project.durations.map((durationMinutes, i) => ({
    id: `t${100 + i}`,
    durationMinutes,
    demands: project.demands[i]!.map((amount, r) => ({ resourceId: `r${r}`, amount })),
    pausable: false,
    predecessors: project.predecessors[i]!.map((p) => ({ taskId: `t${100 + p}`, minWaitMinutes: 0 })),
  })),
});

describe('the exact search around known schedules', () => {
  it('solves windows of a poor schedule to shorter ones that the independent check accepts', () => {
    let shortened = 0;
    for (let seed = 1; seed <= 10; seed++) {
      const project = randomProject(seed, 60);
      const lagProject = { ...project, lags: lagsOf(project) };
      const generator = new PlainGenerator(project);
      const list = Int32Array.from(project.durations.keys());
      const search = new ExactSearch(project);
      const random = new Random(seed);
      let makespan = generator.pass(list, 0);
      let order: Int32Array = list.slice().sort((a, b) => generator.start[a]! - generator.start[b]! || a - b);
      for (let k = 0; k < 20; k++) {
        const shorter = search.shorten(order, generator.start.slice(), makespan, random, 1000);
        if (!shorter) continue;
        order = shorter.slice();
        const next = generator.pass(order, 0);
        expect(next).toBeLessThan(makespan);
        expect(verifyStarts(lagProject, generator.start)).toBe(next);
        makespan = next;
        order = order
          .slice()
          .sort((a, b) => generator.start[a]! - generator.start[b]! || order.indexOf(a) - order.indexOf(b));
        shortened++;
      }
      expect(search.cost).toBeGreaterThan(0);
    }
    expect(shortened).toBeGreaterThan(10);
  });

  it('lets the search prove its optimum, which the solver alone confirms', () => {
    let proven = 0;
    for (let seed = 1; seed <= 6; seed++) {
      const project = randomProject(seed, 16);
      const result = searchSchedule(asProblem(project), { seed: 1, schedules: 20000 });
      const alone = minimiseMakespan({ ...project, lags: lagsOf(project) }, { conflicts: 50000 });
      expect(alone.proven).toBe(true);
      expect([seed, result.schedule.makespanMinutes]).toEqual([seed, alone.makespan]);
      if (!result.provenOptimal) continue;
      proven++;
      expect(result.lowerBound.makespanMinutes).toBe(alone.makespan);
    }
    // One or two of them are harder than the budget.
    expect(proven).toBeGreaterThanOrEqual(4);
  });
});

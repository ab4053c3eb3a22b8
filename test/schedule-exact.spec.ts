import { describe, expect, it } from '@jest/globals';
import { searchSchedule } from '../src/engine/schedule/index.js';
import { solveExact } from './psplib/exact.js';
import { checkSchedule, EXACT_MODEL, exactData } from './psplib/minute-model.js';
import { randomProblem } from './psplib/random-problem.js';

// Second opinion: Chuffed, a lazy clause generation solver, through the WebAssembly build of MiniZinc, on the same problem
// written independently (minute tables, cumulative constraints). A longer run: test/bench/psplib-exact.ts --random 200.
describe('the engine and an exact solver on small shops with every feature', () => {
  it('the engine never beats the proven optimum, and reaches it in at least 95 %', async () => {
    const seeds = Array.from({ length: 8 }, (_, k) => 100 + k);
    let solved = 0;
    let matched = 0;
    const one = async (seed: number): Promise<void> => {
      const problem = randomProblem(seed, 5 + (seed % 2));
      const exact = await solveExact(EXACT_MODEL, exactData(problem));
      if (exact.status !== 'OPTIMAL_SOLUTION') return;
      const { schedule } = searchSchedule(problem, { seed: 1, schedules: 3000 });
      checkSchedule(problem, schedule);
      const ours = [schedule.cost.weightedTardiness, schedule.cost.makespanMinutes];
      const best = [Number(exact.output!.tardiness), Number(exact.output!.makespan)];
      solved++;
      if (ours[0] === best[0] && ours[1] === best[1]) matched++;
      else expect(ours[0]! > best[0]! || (ours[0] === best[0] && ours[1]! > best[1]!)).toBe(true);
    };
    // Two at a time, each in its own worker.
    for (let k = 0; k < seeds.length; k += 2) await Promise.all(seeds.slice(k, k + 2).map(one));
    expect(solved).toBeGreaterThanOrEqual(7);
    expect(matched / solved).toBeGreaterThanOrEqual(0.95);
  }, 120000);

  it('both agree that a task which cannot fit has no place', async () => {
    const problem = randomProblem(7, 5);
    problem.tasks[4] = {
      ...problem.tasks[4]!,
      fixed: undefined,
      pausable: false,
      durationMinutes: 9,
      demands: [{ resourceId: 'person', amount: 1 }],
    };
    const data = exactData(problem);
    // The person's longest hours are 7 minutes, so the minute table leaves no start at all.
    expect((data.allowed as { set: number[] }[])[4]!.set).toEqual([]);
    expect(() => searchSchedule(problem, { seed: 1, schedules: 30 })).toThrow('takes 9 minutes in one sitting');
  });
});

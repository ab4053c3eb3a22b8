import { existsSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, it } from '@jest/globals';
import { lowerBound, makeSchedule } from '../src/engine/schedule/index.js';
import { compile } from '../src/engine/schedule/problem/compile.js';
import { benchPsplib } from './bench/psplib.js';
import { checkPlain } from './psplib/feasible.js';
import { asProblem, startsOf } from './psplib/problem.js';
import { type PsplibInstance, readBounds, readSet, referenceDirectory } from './psplib/read.js';

const root = path.join(referenceDirectory(), 'psplib');
const serialize = existsSync(root);
if (!serialize) console.warn('skipped: reference data absent (psplib)');
const withData = serialize ? describe : describe.skip;

// Instances and bounds: PSPLIB, Kolisch & Sprecher 1996, EJOR 96:205–216.
withData('PSPLIB', () => {
  it('reads whole sets: 240 + 240 + 300 instances with 30, 60 and 120 tasks and 4 resources', () => {
    for (const [set, instances, tasks] of [
      ['j30', 240, 32],
      ['j60', 240, 62],
      ['j120', 300, 122],
    ] as const) {
      const read = readSet(path.join(root, set));
      expect(read.length).toBe(instances);
      expect(read.every((i) => i.durations.length === tasks && i.demands.every((d) => d.length === 4))).toBe(true);
    }
  });

  it('the critical path of every instance is the published one, and no bound exceeds the best known makespan', () => {
    let byEnergy = 0;
    for (const set of ['j30', 'j60', 'j120']) {
      const bounds = readBounds(path.join(root, `bounds_${set}.csv`));
      for (const instance of readSet(path.join(root, set))) {
        const published = bounds.get(instance.name)!;
        const bound = lowerBound(compile(asProblem(instance)));
        if (bound.by.kind === 'critical-path') expect(bound.makespanMinutes).toBe(published.criticalPath);
        else {
          byEnergy++;
          expect(bound.makespanMinutes).toBeGreaterThan(published.criticalPath);
        }
        expect(bound.makespanMinutes).toBeLessThanOrEqual(published.bestMakespan);
      }
    }
    expect(byEnergy).toBeGreaterThan(0);
  });

  it('serial and parallel generation give schedules the checker accepts', () => {
    for (const instance of readSet(path.join(root, 'j60')).slice(0, 40)) {
      for (const scheme of ['serial', 'parallel'] as const) {
        const schedule = makeSchedule(asProblem(instance), { scheme });
        expect(checkPlain(instance, startsOf(instance, schedule))).toBe(schedule.makespanMinutes);
      }
    }
  });

  // Floors of the issue that asked for this engine, at 5,000 schedules: 0.10 %, 1.0 %, 4.0 % above best known. Of each
  // set a part, in steps that do not fall together with the sets' groups of five. `npm run bench:psplib` runs them whole.
  it.each([
    ['j30', 2, 0.1],
    ['j60', 7, 1.0],
    ['j120', 29, 4.0],
  ])('%s, every %dth instance: within %d %% of the best known at 5,000 schedules', (set, every, floor) => {
    const report = benchPsplib({ set, every, schedules: 5000, seed: 1 });
    expect(report.aboveBestPercent).toBeLessThanOrEqual(floor);
    expect(report.aboveBestPercent).toBeGreaterThanOrEqual(0);
  });
});

withData('exact search on PSPLIB', () => {
  it('finds the optimum of every 20th J30 instance within 100,000 schedules and proves nearly all', () => {
    const report = benchPsplib({ set: 'j30', every: 20, schedules: 100_000, seed: 1 });
    expect(report.aboveBestPercent).toBe(0);
    expect(report.provenHereShare).toBeGreaterThan(0.9);
    // The file of published results is read along: on J30 every one of them is optimal.
    expect(Object.values(report.solversAboveBestPercent)).toEqual([0, 0, 0]);
  });
});

describe('the independent checker', () => {
  const tiny: PsplibInstance = {
    name: 'tiny',
    durations: [2, 3, 1],
    successors: [[1], [], []],
    demands: [[1], [1], [1]],
    capacities: [1],
  };

  it('accepts a schedule and finds each kind of fault', () => {
    expect(checkPlain(tiny, [0, 2, 5])).toBe(6);
    expect(() => checkPlain(tiny, [0, 1, 5])).toThrow('before 1 is finished');
    expect(() => checkPlain(tiny, [0, 2, 4])).toThrow('2 of 1 used at 4');
    expect(() => checkPlain(tiny, [-1, 2, 5])).toThrow('starts at -1');
    expect(() => checkPlain(tiny, [0, 2])).toThrow('2 starts for 3 tasks');
  });
});

import { describe, expect, it } from '@jest/globals';
import { makeSchedule, type Problem, type Task } from '../index.js';
import { compile } from '../problem/compile.js';
import { firstList } from './priority-list.js';
import { RecoatChains } from './recoat-chains.js';
import { firstWindowLinks } from './schedule.js';

const forbidden = [{ fromMinutes: 60, toMinutes: 2880 }];
const task = (id: string, after: string[] = [], more: Partial<Task> = {}): Task => ({
  id,
  durationMinutes: 60,
  demands: [{ resourceId: 'person', amount: 1 }],
  pausable: false,
  predecessors: after.map((taskId) => ({ taskId, minWaitMinutes: 15, forbidden })),
  ...more,
});
const shop = (
  tasks: Task[],
  calendar = Array.from({ length: 30 }, (_, d) => ({ startMinutes: d * 1440 + 480, endMinutes: d * 1440 + 1020 })),
): Problem => ({
  horizonMinutes: 30 * 1440,
  resources: [{ id: 'person', capacity: 1, calendar }],
  tasks,
});
const formed = (problem: Problem, firstWindow: [string, string][]): string[] => {
  const compiled = compile(problem);
  const flags = firstWindowLinks(
    compiled,
    firstWindow.map(([predecessorId, taskId]) => ({ predecessorId, taskId })),
  );
  const recoatChains = new RecoatChains(compiled);
  const once = recoatChains.form(firstList(compiled), flags).slice();
  // What it makes it leaves alone, so that a list kept by the search gives the same schedule again.
  expect([...recoatChains.form(once, flags)]).toEqual([...once]);
  return [...once].map((i) => compiled.tasks[i]!.id);
};

// The orders and minutes of this file are computed by hand from the rules stated in `recoat-chains.ts` and `problem.ts`.
describe('recoat chains', () => {
  // By priority: coat1 first, the others next, the further coats last.
  const others = ['a', 'b', 'c', 'd'].map((id) => task(id, [], { priority: 1 }));
  const coats = [task('coat1', [], { priority: 2 }), task('coat2', ['coat1']), task('coat3', ['coat2'])];

  it('draw the wanted followers up, at most two others in between', () => {
    expect(formed(shop([...coats, ...others]), [])).toEqual(['coat1', 'a', 'b', 'c', 'd', 'coat2', 'coat3']);
    expect(
      formed(shop([...coats, ...others]), [
        ['coat1', 'coat2'],
        ['coat2', 'coat3'],
      ]),
    ).toEqual(['coat1', 'a', 'b', 'coat2', 'c', 'd', 'coat3']);
  });

  it('leave a follower alone while another of its predecessors has not come', () => {
    const both = [coats[0]!, task('e'), task('coat2', ['coat1', 'e'])];
    expect(formed(shop([...both, ...others]), [['coat1', 'coat2']])).toEqual([
      'coat1',
      'a',
      'b',
      'c',
      'd',
      'e',
      'coat2',
    ]);
  });
});

describe('holding back', () => {
  const firstWindow = [{ predecessorId: 'coat1', taskId: 'coat2' }];
  const starts = (problem: Problem) =>
    makeSchedule(problem, { order: { firstWindow } }).tasks.map((t) => [t.id, t.startMinutes]);

  it('is done as long as it brings the follower forward', () => {
    // The part for coat2 comes at 3000; the far side of coat1 at 8:00 would begin at 540 + 2880 = 3420 (the next morning has
    // opened at 8:00, minute 3360). Held, coat1 ends no sooner than 2940, which is after closing (2460), so it goes to
    // day 2 at 8:00, minute 3360, and coat2 follows 15 minutes after its end.
    expect(starts(shop([task('coat1'), task('coat2', ['coat1'], { releaseMinutes: 3000 })]))).toEqual([
      ['coat1', 3360],
      ['coat2', 3435],
    ]);
  });

  it('is given up where the far side comes no later, and then the first coat is not delayed at all', () => {
    expect(starts(shop([task('coat1'), task('coat2', ['coat1'], { releaseMinutes: 3500 })]))).toEqual([
      ['coat1', 480],
      ['coat2', 3500],
    ]);
  });

  it('frees the whole chain when its last link is given up', () => {
    // coat3 comes far too late for coat2, which coat1 would have to wait for in its turn.
    const tasks = [task('coat1'), task('coat2', ['coat1']), task('coat3', ['coat2'], { releaseMinutes: 9 * 1440 })];
    const schedule = makeSchedule(shop(tasks), {
      order: { firstWindow: [...firstWindow, { predecessorId: 'coat2', taskId: 'coat3' }] },
    });
    expect(schedule.tasks.map((t) => [t.id, t.startMinutes])).toEqual([
      ['coat1', 480],
      ['coat2', 555],
      ['coat3', 9 * 1440 + 480],
    ]);
  });

  it('ends where no day is long enough for both', () => {
    // Opening hours of 100 minutes: a coat, 15 minutes and another coat need 135, and the first window is over the next morning.
    const short = Array.from({ length: 30 }, (_, d) => ({ startMinutes: d * 1440 + 480, endMinutes: d * 1440 + 580 }));
    // 540 + 2880 = 3420, day 2 at 9:00; a sitting of 60 minutes ends at 3480 = 2880 + 600, after closing, so day 3 at 8:00.
    expect(starts(shop([task('coat1'), task('coat2', ['coat1'])], short))).toEqual([
      ['coat1', 480],
      ['coat2', 3 * 1440 + 480],
    ]);
  });
});

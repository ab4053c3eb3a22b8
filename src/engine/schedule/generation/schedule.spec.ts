import { describe, expect, it } from '@jest/globals';
import { EngineError } from '../../error.js';
import { makeSchedule, type Problem, type Task } from '../index.js';

const day = (d: number, from = 8, to = 17) => ({ startMinutes: d * 1440 + from * 60, endMinutes: d * 1440 + to * 60 });
const week = Array.from({ length: 30 }, (_, d) => day(d));
const task = (id: string, durationMinutes: number, more: Partial<Task> = {}): Task => ({
  id,
  durationMinutes,
  demands: [{ resourceId: 'person', amount: 1 }],
  pausable: true,
  predecessors: [],
  ...more,
});
const shop = (tasks: Task[], more: Partial<Problem> = {}): Problem => ({
  horizonMinutes: 30 * 1440,
  resources: [
    { id: 'person', capacity: 1, calendar: week },
    { id: 'rack', capacity: 2 },
    { id: 'spray', capacity: 1, calendar: week },
  ],
  tasks,
  ...more,
});
const after = (taskId: string, minWaitMinutes = 0, forbidden?: { fromMinutes: number; toMinutes: number }[]) => ({
  taskId,
  minWaitMinutes,
  forbidden,
});
const place = (problem: Problem, id: string) => makeSchedule(problem).tasks.find((t) => t.id === id)!;

// The expected minutes of this block are counted by hand from the rules stated in `problem.ts`.
describe('serial generation, one rule at a time', () => {
  it('starts at opening time and says so', () => {
    const a = place(shop([task('a', 60)]), 'a');
    expect([a.startMinutes, a.finishMinutes]).toEqual([480, 540]);
    expect(a.reasons).toEqual([
      { kind: 'now', untilMinutes: 0 },
      { kind: 'closed', resourceIds: ['person'], untilMinutes: 480 },
    ]);
  });

  it('pauses overnight, keeps its place, and names who held the person', () => {
    const problem = shop([task('a', 600, { priority: 1 }), task('b', 30)]);
    const a = place(problem, 'a');
    expect(a.worked).toEqual([
      { startMinutes: 480, endMinutes: 1020 },
      { startMinutes: 1920, endMinutes: 1980 },
    ]);
    const b = place(problem, 'b');
    expect(b.startMinutes).toBe(1980);
    expect(b.reasons.at(-1)).toEqual({ kind: 'resource', resourceId: 'person', heldBy: ['a'], untilMinutes: 1980 });
  });

  it('names last of those who held the person the one whose end let the task in', () => {
    const problem = shop([task('second', 60, { priority: 1 }), task('first', 60, { priority: 2 }), task('third', 60)]);
    expect(place(problem, 'third').reasons.at(-1)).toEqual({
      kind: 'resource',
      resourceId: 'person',
      heldBy: ['first', 'second'],
      untilMinutes: 600,
    });
  });

  it('puts a sitting that would not end before closing on the next day', () => {
    const problem = shop([task('a', 480, { priority: 1 }), task('b', 120, { pausable: false })]);
    expect(place(problem, 'b').startMinutes).toBe(1920);
    expect(place(problem, 'b').reasons.at(-1)!.kind).toBe('closed');
  });

  it('waits for the cure, and for the end of a forbidden interval when it misses the first window', () => {
    const coat = task('coat1', 60, { pausable: false, priority: 2 });
    const other = task('other', 120, { pausable: false, priority: 1 });
    const second = task('coat2', 60, {
      pausable: false,
      predecessors: [after('coat1', 15, [{ fromMinutes: 60, toMinutes: 2880 }])],
    });
    // Alone: 540 + 15 wait, inside the first hour.
    expect(place(shop([coat, second]), 'coat2').startMinutes).toBe(555);
    // The other task takes the person from 540 to 660, so the first window is missed: 540 + 2880 = 3420, day 2 at 9:00.
    const b = place(shop([coat, second, other]), 'coat2');
    expect(b.startMinutes).toBe(3420);
    expect(b.reasons.at(-1)).toEqual({
      kind: 'forbidden',
      taskId: 'coat1',
      fromMinutes: 60,
      toMinutes: 2880,
      untilMinutes: 3420,
    });
  });

  it('delays the first coat when the second is to fall into the first window', () => {
    const tasks = [
      task('coat1', 60, { pausable: false, priority: 1 }),
      task('coat2', 60, {
        pausable: false,
        releaseMinutes: 800,
        predecessors: [after('coat1', 15, [{ fromMinutes: 60, toMinutes: 2880 }])],
      }),
    ];
    const schedule = makeSchedule(shop(tasks), {
      order: { firstWindow: [{ taskId: 'coat2', predecessorId: 'coat1' }] },
    });
    // coat2 may not start before 800, so coat1 must end at 740 or later.
    expect(schedule.tasks.map((t) => [t.id, t.startMinutes])).toEqual([
      ['coat1', 680],
      ['coat2', 800],
    ]);
    expect(schedule.tasks[0]!.reasons.at(-1)).toEqual({ kind: 'delayed', forTaskIds: ['coat2'], untilMinutes: 680 });
  });

  it('keeps a weather-bound sitting inside one window', () => {
    const weather = [
      {
        id: 'paint',
        windows: [
          { startMinutes: 500, endMinutes: 550 },
          { startMinutes: 2000, endMinutes: 2200 },
        ],
      },
    ];
    const a = place(shop([task('a', 60, { pausable: false, weatherId: 'paint' })], { weather }), 'a');
    expect(a.startMinutes).toBe(2000);
    expect(a.reasons.at(-1)).toEqual({ kind: 'window', weatherId: 'paint', untilMinutes: 2000 });
    expect(place(shop([task('a', 60, { windows: weather[0]!.windows })]), 'a').startMinutes).toBe(2000);
  });

  it('waits for a part and for a place on the rack', () => {
    expect(place(shop([task('a', 60, { releaseMinutes: 700 })]), 'a').reasons).toEqual([
      { kind: 'release', untilMinutes: 700 },
    ]);
    const cure = (id: string) => task(id, 1000, { pausable: false, demands: [{ resourceId: 'rack', amount: 1 }] });
    expect(['a', 'b', 'c'].map((id) => place(shop([cure('a'), cure('b'), cure('c')]), id).startMinutes)).toEqual([
      0, 0, 1000,
    ]);
  });

  it('leaves what has happened as it happened and plans around it', () => {
    const tasks = [
      task('done', 100, { fixed: { startMinutes: -300, finishMinutes: -90 } }),
      task('underway', 100, { fixed: { startMinutes: 490 } }),
      task('next', 60, { predecessors: [after('done', 600)] }),
    ];
    const schedule = makeSchedule(shop(tasks, { nowMinutes: 550 }));
    expect(schedule.tasks.map((t) => [t.id, t.startMinutes, t.finishMinutes])).toEqual([
      ['done', -300, -90],
      ['underway', 490, 590],
      ['next', 590, 650],
    ]);
  });
});

describe('parallel generation', () => {
  it('leaves no one idle while something can start', () => {
    // Serial puts `big` (needs both places) first; parallel starts `small` at 0 only if big cannot start.
    const rack = (id: string, minutes: number, amount: number, more: Partial<Task> = {}) =>
      task(id, minutes, { pausable: false, demands: [{ resourceId: 'rack', amount }], ...more });
    const problem = shop([
      rack('first', 50, 1, { priority: 9 }),
      rack('big', 100, 2, { priority: 5 }),
      rack('small', 100, 1),
    ]);
    const starts = (scheme: 'serial' | 'parallel') =>
      Object.fromEntries(makeSchedule(problem, { scheme }).tasks.map((t) => [t.id, t.startMinutes]));
    expect(starts('serial')).toEqual({ first: 0, big: 50, small: 150 });
    expect(starts('parallel')).toEqual({ first: 0, small: 0, big: 100 });
  });
});

describe('refusals', () => {
  const refusal = (problem: Problem): EngineError => {
    try {
      makeSchedule(problem);
    } catch (error) {
      return error as EngineError;
    }
    throw new Error('nothing was refused');
  };

  it('names the circle', () => {
    const error = refusal(
      shop([
        task('a', 1, { predecessors: [after('c')] }),
        task('b', 1, { predecessors: [after('a')] }),
        task('c', 1, { predecessors: [after('b')] }),
      ]),
    );
    expect(error.code).toBe('cycle');
    expect(error.message).toMatch(/a → b → c → a|b → c → a → b|c → a → b → c/);
  });

  it.each<[string, string, Problem]>([
    ['unknown-id', 'tasks[0].predecessors[0]', shop([task('a', 1, { predecessors: [after('ghost')] })])],
    ['unknown-id', 'tasks[0].demands[0]', shop([task('a', 1, { demands: [{ resourceId: 'ghost', amount: 1 }] })])],
    ['invalid-number', 'tasks[0].durationMinutes', shop([task('a', -5)])],
    ['invalid-number', 'tasks[0].durationMinutes', shop([task('a', 1.5)])],
    ['duplicate-id', 'tasks[1].id', shop([task('a', 1), task('a', 1)])],
    [
      'demand-exceeds-capacity',
      'tasks[0].demands[0].amount',
      shop([task('a', 1, { demands: [{ resourceId: 'rack', amount: 3 }] })]),
    ],
    ['infeasible', 'tasks.a', shop([task('a', 600, { pausable: false })])],
  ])('%s at %s', (code, path, problem) => {
    const error = refusal(problem);
    expect(error).toBeInstanceOf(EngineError);
    expect([error.code, error.path]).toEqual([code, path]);
  });

  it('nothing may end after the horizon, not even a task that could start before it', () => {
    // Day 0 has 540 minutes, so 600 minutes end at 8:00 + 60 on day 1, minute 1980.
    const problem = (horizonMinutes: number): Problem => ({ ...shop([task('a', 600)]), horizonMinutes });
    expect(place(problem(1980), 'a').finishMinutes).toBe(1980);
    expect(refusal(problem(1979)).message).toBe(
      'Task a does not fit before the horizon at minute 1979: it takes 600 minutes of person and may not start before minute 0',
    );
  });

  it('one of two people away: what needs both waits, what needs one does not', () => {
    const resources = [{ id: 'pair', capacity: 2, reductions: [{ startMinutes: 0, endMinutes: 300, amount: 1 }] }];
    const lift = task('lift', 30, { demands: [{ resourceId: 'pair', amount: 2 }] });
    const file = task('file', 30, { demands: [{ resourceId: 'pair', amount: 1 }] });
    const schedule = makeSchedule(shop([lift, file], { resources }));
    expect(schedule.tasks.map((t) => [t.id, t.startMinutes])).toEqual([
      ['file', 0],
      ['lift', 300],
    ]);
    expect(schedule.tasks[1]!.reasons.at(-1)).toEqual({
      kind: 'resource',
      resourceId: 'pair',
      heldBy: ['file'],
      untilBack: true,
      untilMinutes: 300,
    });
  });

  it('says which task can never fit and why, or lists it when a partial plan is wanted', () => {
    const problem = shop([task('a', 600, { pausable: false }), task('b', 10)]);
    expect(refusal(problem).message).toBe(
      'Task a can never run: it takes 600 minutes in one sitting, and the longest time person leave open at once is 540',
    );
    const schedule = makeSchedule(problem, { partial: true });
    expect(schedule.unplaced.map((t) => t.id)).toEqual(['a']);
    expect(schedule.tasks.map((t) => t.id)).toEqual(['b']);
  });
});

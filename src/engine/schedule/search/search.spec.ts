import { describe, expect, it } from '@jest/globals';
import { lowerBound, makeSchedule, type Problem, searchSchedule, type Task } from '../index.js';
import { compile } from '../problem/compile.js';
import { Objective } from '../problem/objective.js';

const task = (id: string, durationMinutes: number, more: Partial<Task> = {}): Task => ({
  id,
  durationMinutes,
  demands: [{ resourceId: 'person', amount: 1 }],
  pausable: false,
  predecessors: [],
  ...more,
});
const one = (tasks: Task[], more: Partial<Problem> = {}): Problem => ({
  horizonMinutes: 10000,
  resources: [{ id: 'person', capacity: 1 }],
  tasks,
  ...more,
});
const ends = (problem: Problem, schedules = 300) =>
  Object.fromEntries(
    searchSchedule(problem, { seed: 1, schedules }).schedule.tasks.map((t) => [t.id, t.finishMinutes]),
  );

describe('what the search aims at', () => {
  it('weighted tardiness first: heavier per minute of length goes first when all are late', () => {
    // Smith 1956 (Naval Research Logistics Quarterly 3:59–66): on one machine with all due at 0, order by weight/length.
    const tasks = [
      task('a', 10, { dueMinutes: 0, weight: 1 }),
      task('b', 4, { dueMinutes: 0, weight: 2 }),
      task('c', 6, { dueMinutes: 0, weight: 1 }),
      task('d', 20, { dueMinutes: 0, weight: 11 }),
    ];
    const result = searchSchedule(one(tasks), { seed: 1, schedules: 600 }).schedule;
    expect(result.tasks.map((t) => t.id)).toEqual(['d', 'b', 'c', 'a']);
    expect(result.cost.weightedTardiness).toBe(11 * 20 + 2 * 24 + 30 + 40);
  });

  it('largest lateness on one machine: the earliest due date first meets every date that can be met', () => {
    // Jackson 1955: if any order meets all due dates, that of the due dates does. By hand: 5, 12, 20 with lengths 5, 7, 8.
    const tasks = [task('a', 8, { dueMinutes: 20 }), task('b', 5, { dueMinutes: 5 }), task('c', 7, { dueMinutes: 12 })];
    expect(ends(one(tasks))).toEqual({ b: 5, c: 12, a: 20 });
  });

  it('then the expected value lost, then the makespan', () => {
    const jobs = [
      {
        id: 'steep',
        valueLost: [
          { atMinutes: 0, lost: 0 },
          { atMinutes: 100, lost: 1000 },
        ],
      },
      { id: 'flat', valueLost: [{ atMinutes: 0, lost: 5 }] },
    ];
    const tasks = [task('a', 30, { jobId: 'flat' }), task('b', 30, { jobId: 'steep' })];
    expect(ends(one(tasks, { jobs }))).toEqual({ b: 30, a: 60 });
    // With a date on the flat job, that comes before any value.
    expect(ends(one(tasks, { jobs: [jobs[0]!, { ...jobs[1]!, dueMinutes: 30 }] }))).toEqual({ a: 30, b: 60 });
    const objective = new Objective(compile(one(tasks, { jobs })));
    const steep = objective.jobIds.indexOf('steep');
    // Half way along the line; flat outside it.
    expect([-5, 50, 100, 999].map((t) => objective.valueLost(steep, t))).toEqual([0, 500, 1000, 1000]);
  });

  it('a place for every task before everything else', () => {
    // `late` has weight, but only if `narrow` takes its one window can both be placed.
    const tasks = [
      task('late', 10, { dueMinutes: 0, weight: 100, priority: 5 }),
      task('narrow', 10, { windows: [{ startMinutes: 0, endMinutes: 10 }] }),
    ];
    expect(ends(one(tasks))).toEqual({ narrow: 10, late: 20 });
  });
});

describe('the search as a process', () => {
  const many = one(
    Array.from({ length: 30 }, (_, k) =>
      task(`t${k}`, 5 + ((k * 7) % 11), {
        dueMinutes: 30 + k,
        predecessors: k % 3 ? [{ taskId: `t${k - 1}`, minWaitMinutes: k % 5 }] : [],
      }),
    ),
  );

  it('stops at its budget of schedules, never above it', () => {
    for (const schedules of [3, 10, 100, 1000]) {
      const result = searchSchedule(many, { seed: 1, schedules });
      expect(result.schedules).toBeLessThanOrEqual(schedules);
      expect(result.stopped).toBe('schedules');
    }
  });

  it('stops when its time is up, or when told to, with the best so far', () => {
    let now = 0;
    const timed = searchSchedule(many, { seed: 1, schedules: 1e9, milliseconds: 50, clock: () => (now += 10) });
    expect(timed.stopped).toBe('milliseconds');
    let calls = 0;
    const cancelled = searchSchedule(many, { seed: 1, schedules: 1e9, onProgress: () => ++calls < 3 });
    expect([cancelled.stopped, calls]).toEqual(['cancelled', 3]);
    expect(cancelled.schedule.tasks.length).toBe(30);
    expect(() => searchSchedule(many, { seed: 1, schedules: 1, milliseconds: 5 })).toThrow('needs a clock');
  });

  it('more schedules are never worse, and another order to begin with is taken up', () => {
    const costs = [30, 300, 3000].map(
      (schedules) => searchSchedule(many, { seed: 1, schedules }).schedule.cost.weightedTardiness,
    );
    expect(costs).toEqual([...costs].sort((a, b) => b - a));
    const good = searchSchedule(many, { seed: 1, schedules: 3000 }).schedule;
    // Three schedules are only enough for the order it is given.
    expect(
      searchSchedule(many, { seed: 2, schedules: 3, order: good.order }).schedule.cost.weightedTardiness,
    ).toBeLessThanOrEqual(good.cost.weightedTardiness);
    const again = makeSchedule(many, { order: good.order });
    expect(again.cost).toEqual(good.cost);
  });

  it('takes up an order made before the news: gone tasks are passed over, new ones come in', () => {
    const fewer = { ...many, tasks: many.tasks.slice(0, 29) };
    const order = searchSchedule(fewer, { seed: 1, schedules: 300 }).schedule.order;
    const schedule = makeSchedule(many, { order: { taskIds: ['gone', ...order.taskIds] } });
    expect(schedule.tasks.length).toBe(30);
    const old = makeSchedule(fewer, { order }).order.taskIds;
    expect(schedule.order.taskIds.filter((id) => id !== 't29')).toEqual(old);
  });

  it('small news moves the plan little when it is asked to stay', () => {
    const before = searchSchedule(many, { seed: 1, schedules: 1500 }).schedule;
    const news = {
      ...many,
      tasks: many.tasks.map((t) => (t.id === 't12' ? { ...t, durationMinutes: t.durationMinutes + 1 } : t)),
    };
    const startMinutes = Object.fromEntries(before.tasks.map((t) => [t.id, t.startMinutes]));
    const moved = (schedule: typeof before): number =>
      schedule.tasks.reduce((sum, t) => sum + Math.abs(t.startMinutes - startMinutes[t.id]!), 0);
    const steady = searchSchedule(news, {
      seed: 2,
      schedules: 1500,
      order: before.order,
      stability: { startMinutes, tardinessTolerance: 400, lossPerMovedMinute: 1 },
    }).schedule;
    const free = searchSchedule(news, { seed: 2, schedules: 1500 }).schedule;
    expect(moved(steady)).toBeLessThan(moved(free));
    expect(steady.cost.weightedTardiness).toBeLessThan(free.cost.weightedTardiness + 800);
  });

  it('knows when nothing is left to do', () => {
    const done = one([task('a', 10, { fixed: { startMinutes: 0, finishMinutes: 10 } })]);
    expect(searchSchedule(done, { seed: 1, schedules: 100 })).toMatchObject({
      schedules: 0,
      provenOptimal: true,
      stopped: 'optimal',
    });
  });
});

describe('lower bounds, by hand', () => {
  it('critical path with waits and closing times; energy where the person is what binds', () => {
    const hours = [
      { startMinutes: 0, endMinutes: 10 },
      { startMinutes: 20, endMinutes: 40 },
    ];
    const closed = one([task('a', 8), task('b', 4, { predecessors: [{ taskId: 'a', minWaitMinutes: 1 }] })], {
      resources: [{ id: 'person', capacity: 1, calendar: hours }],
    });
    // a 0–8, b may start at 9, does not fit before 10, so 20–24.
    expect(lowerBound(compile(closed))).toMatchObject({ makespanMinutes: 24, by: { kind: 'critical-path' } });
    const busy = one(
      [
        task('a', 8, { pausable: true }),
        task('b', 7, { pausable: true }),
        task('c', 1, {
          demands: [],
          predecessors: [
            { taskId: 'a', minWaitMinutes: 5 },
            { taskId: 'b', minWaitMinutes: 2 },
          ],
        }),
      ],
      {
        resources: [{ id: 'person', capacity: 1, calendar: hours }],
      },
    );
    // 15 minutes of work end at 25 at the earliest; after the last of it at least 2 + 1 minutes follow.
    expect(lowerBound(compile(busy))).toMatchObject({
      makespanMinutes: 28,
      by: { kind: 'energy', resourceId: 'person' },
    });
  });

  it('tardiness that no plan can avoid', () => {
    const problem = one([task('a', 10, { jobId: 'j' }), task('b', 10, { dueMinutes: 3, weight: 2 })], {
      jobs: [{ id: 'j', dueMinutes: 4, weight: 5 }],
    });
    expect(lowerBound(compile(problem)).weightedTardiness).toBe(5 * 6 + 2 * 7);
  });
});

import type { Interval, Problem, Task } from '../../src/engine/schedule/index.js';

/** Small numbers from a seed; a plain linear congruential generator (Numerical Recipes), nothing of the engine's. */
export function dice(seed: number): (limit: number) => number {
  let status = (seed * 2654435761) >>> 0;
  return (limit) => {
    status = (Math.imul(status, 1664525) + 1013904223) >>> 0;
    return Math.floor((status / 4294967296) * limit);
  };
}

/**
 * A small shop with every feature: hours, sittings and pauses, waits, forbidden intervals, windows, releases, due
 * dates, reduced capacity, work under way.
 */
export function randomProblem(seed: number, taskCount: number): Problem {
  const roll = dice(seed);
  const horizonMinutes = 50 + taskCount * 13;
  const hours = (open: number, closed: number): Interval[] => {
    const list: Interval[] = [];
    for (let t = roll(4); t < horizonMinutes; t += open + closed) list.push({ startMinutes: t, endMinutes: t + open });
    return list;
  };
  const tasks: Task[] = [];
  for (let i = 0; i < taskCount; i++) {
    const predecessors: Task['predecessors'] = [];
    for (let p = 0; p < i; p++) {
      if (roll(taskCount) >= 2) continue;
      const wait = roll(3) === 0 ? 1 + roll(5) : 0;
      const forbidden =
        roll(3) === 0 ? [{ fromMinutes: wait + 1 + roll(3), toMinutes: wait + 8 + roll(6) }] : undefined;
      predecessors.push({ taskId: `t${p}`, minWaitMinutes: wait, forbidden });
    }
    const pausable = roll(2) === 0;
    const demands = [{ resourceId: 'person', amount: 1 }];
    const kind = roll(4);
    if (kind === 0) demands.push({ resourceId: 'bench', amount: 1 });
    if (kind === 1) demands.push({ resourceId: 'spray', amount: 1 });
    const rack = roll(5) === 0;
    const task: Task = {
      id: `t${i}`,
      jobId: `j${i % 2}`,
      durationMinutes: 1 + roll(pausable ? 7 : 4),
      demands: rack ? [{ resourceId: 'rack', amount: 1 + roll(2) }] : demands,
      pausable: pausable && !rack,
      predecessors,
    };
    if (roll(4) === 0) task.releaseMinutes = roll(20);
    if (roll(4) === 0)
      task.windows = [
        { startMinutes: 5 + roll(8), endMinutes: 24 + roll(9) },
        { startMinutes: 40 + roll(9), endMinutes: horizonMinutes },
      ];
    tasks.push(task);
  }
  if (roll(3) === 0)
    tasks[0]!.fixed = { startMinutes: -roll(3), ...(roll(2) === 0 ? { finishMinutes: 1 + roll(4) } : {}) };
  return {
    horizonMinutes,
    resources: [
      { id: 'person', capacity: 1, calendar: hours(7, 4) },
      { id: 'bench', capacity: 1 },
      { id: 'spray', capacity: 1, calendar: hours(9, 2) },
      {
        id: 'rack',
        capacity: 2,
        ...(roll(2) === 0
          ? { reductions: [{ startMinutes: 8 + roll(6), endMinutes: 15 + roll(8), amount: 1 + roll(2) }] }
          : {}),
      },
    ],
    tasks,
    jobs: [
      { id: 'j0', dueMinutes: 12 + roll(25), weight: 1 + roll(3) },
      { id: 'j1', dueMinutes: 12 + roll(25) },
    ],
  };
}

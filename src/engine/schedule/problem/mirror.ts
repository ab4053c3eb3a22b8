import { lookUp } from '../../look-up.js';
import { earliestTimes } from './bounds.js';
import type { Compiled } from './compile.js';
import { compile, NEVER } from './compile.js';
import type { Interval, Predecessor, Problem } from './problem.js';

/**
 * The problem seen backwards from its horizon: minute `t` becomes `horizon − t`, followers become predecessors. Waits and
 * forbidden intervals between a finish and a start keep their meaning. Releases have no counterpart and are dropped.
 * The tasks keep their ids, and so their numbers.
 */
export function mirror(compiled: Compiled): Compiled {
  const { problem, horizon } = compiled;
  const { finish } = earliestTimes(compiled);
  const turn = <T extends Interval>(list: T[]): T[] =>
    list
      .map((item) => ({ ...item, startMinutes: horizon - item.endMinutes, endMinutes: horizon - item.startMinutes }))
      .reverse();
  const followers = new Map<string, Predecessor[]>(problem.tasks.map((task) => [task.id, []]));
  for (const task of problem.tasks)
    for (const link of task.predecessors) {
      // How coats age, and waits that are kept short only where possible, are for the forward pass.
      const { ages: _ages, maxWaitMinutes: _maxWait, ...plain } = link;
      lookUp(followers, link.taskId).push({ ...plain, taskId: task.id });
    }
  const mirrored: Problem = {
    horizonMinutes: horizon,
    resources: problem.resources.map(({ calendar, reductions, ...resource }) => ({
      ...resource,
      ...(calendar ? { calendar: turn(calendar) } : {}),
      ...(reductions ? { reductions: turn(reductions) } : {}),
    })),
    weather: problem.weather?.map((set) => ({ ...set, windows: turn(set.windows) })),
    tasks: problem.tasks.map((task) => {
      const fixedFinish = Math.min(finish[lookUp(compiled.indexOf, task.id)]!, NEVER / 4);
      return {
        id: task.id,
        durationMinutes: task.durationMinutes,
        demands: task.demands,
        pausable: task.pausable,
        predecessors: lookUp(followers, task.id),
        ...(task.windows ? { windows: turn(task.windows) } : {}),
        ...(task.weatherId === undefined ? {} : { weatherId: task.weatherId }),
        ...(task.fixed
          ? { fixed: { startMinutes: horizon - fixedFinish, finishMinutes: horizon - task.fixed.startMinutes } }
          : {}),
      };
    }),
  };
  return compile(mirrored);
}

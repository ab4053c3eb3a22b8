import type { Problem, Schedule } from '../../src/engine/schedule/index.js';
import type { PsplibInstance } from './read.js';

const idOf = (i: number): string => `t${String(i + 1).padStart(3, '0')}`;

/** A PSPLIB instance as a problem of the engine; its time unit stands for a minute. */
export function asProblem(instance: PsplibInstance): Problem {
  const predecessors: string[][] = instance.durations.map(() => []);
  instance.successors.forEach((list, i) => list.forEach((j) => predecessors[j]!.push(idOf(i))));
  return {
    horizonMinutes: instance.durations.reduce((sum, d) => sum + d, 0),
    resources: instance.capacities.map((capacity, r) => ({ id: `r${r + 1}`, capacity })),
    tasks: instance.durations.map((durationMinutes, i) => ({
      id: idOf(i),
      durationMinutes,
      demands: instance.demands[i]!.flatMap((amount, r) => (amount > 0 ? [{ resourceId: `r${r + 1}`, amount }] : [])),
      pausable: false,
      predecessors: predecessors[i]!.map((taskId) => ({ taskId, minWaitMinutes: 0 })),
    })),
  };
}

export function startsOf(instance: PsplibInstance, schedule: Schedule): number[] {
  const starts = new Map(schedule.tasks.map((task) => [task.id, task.startMinutes]));
  return instance.durations.map((_, i) => starts.get(idOf(i))!);
}

import { lookUp } from '../../look-up.js';
import { topologicalOrder } from './compile.js';

/** A task as the critical path sees it: a length, and what comes before. Lengths may be fractions. */
export interface PathTask {
  id: string;
  durationMinutes: number;
  predecessors: { taskId: string; minWaitMinutes?: number }[];
}

export interface PathResult {
  id: string;
  earliestStartMinutes: number;
  earliestFinishMinutes: number;
  latestStartMinutes: number;
  latestFinishMinutes: number;
  /** How late it may start without moving the end. */
  totalFloatMinutes: number;
  /** How late it may start without moving any follower. */
  freeFloatMinutes: number;
  critical: boolean;
}

export interface CriticalPath {
  durationMinutes: number;
  /** In the order given. */
  tasks: PathResult[];
  /** One longest chain, first to last. */
  path: string[];
}

/** Floats below this are rounding. */
const ROUNDING = 1e-9;

/**
 * Critical path by forward and backward pass, from time 0, resources left aside, waits counted
 * (Kelley & Walker 1959, "Critical-path planning and scheduling"). The unit is the caller's: minutes here, but weeks serve as well.
 * @param endMinutes latest finish to count floats against; the path's own length when absent.
 * @throws EngineError `cycle`.
 */
export function criticalPath(tasks: readonly PathTask[], endMinutes?: number): CriticalPath {
  const indexOf = new Map(tasks.map((task, i) => [task.id, i]));
  const links = tasks.map((task) =>
    task.predecessors.map((link) => ({ from: lookUp(indexOf, link.taskId), wait: link.minWaitMinutes ?? 0 })),
  );
  const order = topologicalOrder(
    tasks.map(({ id, predecessors }) => ({
      id,
      predecessors: predecessors.map(({ taskId }) => ({ taskId, minWaitMinutes: 0 })),
    })),
    indexOf,
  );
  const start = new Float64Array(tasks.length);
  const finish = new Float64Array(tasks.length);
  const binding = new Int32Array(tasks.length).fill(-1);
  for (const i of order) {
    for (const { from, wait } of links[i]!) {
      if (finish[from]! + wait > start[i]! || binding[i] === -1) {
        start[i] = finish[from]! + wait;
        binding[i] = from;
      }
    }
    finish[i] = start[i]! + tasks[i]!.durationMinutes;
  }
  const duration = finish.reduce((longest, f) => Math.max(longest, f), 0);
  const end = endMinutes ?? duration;
  const latestFinish = new Float64Array(tasks.length).fill(end);
  const nextStart = new Float64Array(tasks.length).fill(duration);
  for (const i of [...order].reverse()) {
    for (const { from, wait } of links[i]!) {
      latestFinish[from] = Math.min(latestFinish[from]!, latestFinish[i]! - tasks[i]!.durationMinutes - wait);
      nextStart[from] = Math.min(nextStart[from]!, start[i]! - wait);
    }
  }
  const results = tasks.map((task, i): PathResult => {
    const totalFloatMinutes = latestFinish[i]! - finish[i]!;
    return {
      id: task.id,
      earliestStartMinutes: start[i]!,
      earliestFinishMinutes: finish[i]!,
      latestStartMinutes: latestFinish[i]! - task.durationMinutes,
      latestFinishMinutes: latestFinish[i]!,
      totalFloatMinutes,
      freeFloatMinutes: nextStart[i]! - finish[i]!,
      critical: latestFinish[i]! - finish[i]! <= end - duration + ROUNDING,
    };
  });
  const path: string[] = [];
  for (let i = finish.indexOf(duration); i >= 0; i = binding[i]!) path.unshift(tasks[i]!.id);
  return { durationMinutes: duration, tasks: results, path };
}

import type { Compiled } from './compile.js';
import { compile, NEVER } from './compile.js';
import { Objective } from './objective.js';
import type { Problem } from './problem.js';

/** No schedule can be better than this in any one of the three; each is proven by itself. */
export interface LowerBound {
  makespanMinutes: number;
  weightedTardiness: number;
  valueLost: number;
  /** Each job's own: no schedule finishes it sooner. Null: not before the horizon. */
  jobs: { id: string; finishMinutes: number | null }[];
  /** What gave the makespan bound; a refutation is a proof that no shorter schedule exists, found by the search. */
  by: { kind: 'critical-path' } | { kind: 'energy'; resourceId: string } | { kind: 'refutation' };
}

/**
 * Two classical relaxations. Critical path: every resource has room for all at once, but calendars, windows, releases and
 * waits hold. Energy: for each resource and each time, the work that cannot start before that time has to fit into the
 * capacity that is open after it, and after the last of it the shortest remaining chain follows (Klein & Scholl 1999,
 * "Computing lower bounds by destructive improvement", EJOR 112:322–346, LB1 and LB2).
 */
export function lowerBound(compiled: Compiled): LowerBound {
  const { count, conditions, demandFrom, demandResource, demandAmount, resourceIds, isFixed } = compiled;
  const { start, finish } = earliestTimes(compiled);
  const tail = tails(compiled);
  let makespan = 0;
  for (let i = 0; i < count; i++) makespan = Math.max(makespan, finish[i]! + tail[i]!);
  let by: LowerBound['by'] = { kind: 'critical-path' };
  for (let r = 0; r < resourceIds.length; r++) {
    const users: { from: number; work: number; tail: number }[] = [];
    for (let i = 0; i < count; i++) {
      if (isFixed[i]) continue;
      for (let k = demandFrom[i]!; k < demandFrom[i + 1]!; k++) {
        if (demandResource[k] === r)
          users.push({ from: start[i]!, work: conditions.duration[i]! * demandAmount[k]!, tail: tail[i]! });
      }
    }
    users.sort((a, b) => b.from - a.from);
    let work = 0;
    let shortest = Infinity;
    for (const user of users) {
      work += user.work;
      shortest = Math.min(shortest, user.tail);
      const end = endOfWork(compiled, r, user.from, Math.ceil(work / compiled.capacity[r]!));
      if (end + shortest > makespan) {
        makespan = end + shortest;
        by = { kind: 'energy', resourceId: resourceIds[r]! };
      }
    }
  }
  const objective = new Objective(compiled);
  const cost = objective.cost(finish);
  const jobs = [...objective.finishes(finish)].flatMap((end, j) =>
    end === -Infinity ? [] : [{ id: objective.jobIds[j]!, finishMinutes: end >= NEVER ? null : end }],
  );
  return {
    makespanMinutes: Math.min(makespan, NEVER),
    weightedTardiness: cost.weightedTardiness,
    valueLost: cost.valueLost,
    jobs,
    by,
  };
}

/** The same of a problem as it is given. @throws EngineError as `compile` */
export const boundOf = (problem: Problem): LowerBound => lowerBound(compile(problem));

/** Earliest start and finish of every task when resources never run out; forbidden intervals are left aside. */
export function earliestTimes(compiled: Compiled): { start: Int32Array; finish: Int32Array } {
  const { count, order, conditions, linkFrom, linkTask, linkWait, pausable, tasks, now } = compiled;
  const start = new Int32Array(count);
  const finish = new Int32Array(count);
  for (const i of order) {
    const minutes = conditions.duration[i]!;
    const calendar = minutes === 0 ? null : conditions.working[i]!;
    const fixed = tasks[i]!.fixed;
    if (fixed) {
      start[i] = fixed.startMinutes;
      const end = calendar && pausable[i] ? calendar.finish(start[i]!, minutes) : start[i]! + minutes;
      finish[i] = fixed.finishMinutes ?? (end < 0 ? NEVER : Math.max(now, end));
      continue;
    }
    let s = conditions.release[i]!;
    for (let l = linkFrom[i]!; l < linkFrom[i + 1]!; l++) s = Math.max(s, finish[linkTask[l]!]! + linkWait[l]!);
    if (calendar && s < NEVER) s = pausable[i] ? calendar.next(s) : calendar.nextSitting(s, minutes);
    if (s < 0 || s >= NEVER) {
      start[i] = finish[i] = NEVER;
      continue;
    }
    const end = calendar && pausable[i] ? calendar.finish(s, minutes) : s + minutes;
    start[i] = s;
    finish[i] = end < 0 ? NEVER : end;
  }
  return { start, finish };
}

/** Least minutes from each task's finish to the end of the last task after it; calendars left aside. */
function tails(compiled: Compiled): Float64Array {
  const { order, linkFrom, linkTask, linkWait, conditions, isFixed } = compiled;
  const tail = new Float64Array(compiled.count);
  for (let k = order.length - 1; k >= 0; k--) {
    const i = order[k]!;
    if (isFixed[i]) continue;
    for (let l = linkFrom[i]!; l < linkFrom[i + 1]!; l++) {
      const p = linkTask[l]!;
      tail[p] = Math.max(tail[p]!, linkWait[l]! + conditions.duration[i]! + tail[i]!);
    }
  }
  return tail;
}

function endOfWork(compiled: Compiled, r: number, from: number, minutes: number): number {
  const calendar = compiled.resourceCalendar[r];
  if (!calendar || minutes === 0 || from >= NEVER) return from + minutes;
  const end = calendar.finish(from, minutes);
  return end < 0 ? NEVER : end;
}

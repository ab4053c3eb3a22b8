import { EngineError } from '../../error.js';
import { required } from '../../look-up.js';
import type { Compiled } from '../problem/compile.js';
import { Objective } from '../problem/objective.js';

/**
 * A sensible first order of the free tasks, predecessors first: higher priority, then the least latest start counted back
 * from the job's due date (or the horizon), then the id.
 */
export function firstList(compiled: Compiled): Int32Array {
  const latest = latestStarts(compiled);
  const key = (i: number): [number, number] => [-(compiled.tasks[i]!.priority ?? 0), latest[i]!];
  const keys = Array.from({ length: compiled.count }, (_, i) => key(i));
  return orderBy(compiled, (a, b) => keys[a]![0] - keys[b]![0] || keys[a]![1] - keys[b]![1] || a - b);
}

/** Latest start of each task counted back from its due date, its job's, or the horizon; calendars left aside. */
export function latestStarts(compiled: Compiled): Float64Array {
  const { order, successors, tasks, horizon, conditions } = compiled;
  const objective = new Objective(compiled);
  const latest = new Float64Array(compiled.count);
  for (let k = order.length - 1; k >= 0; k--) {
    const i = order[k]!;
    const job = objective.jobOf[i]!;
    let finish = Math.min(horizon, tasks[i]!.dueMinutes ?? Infinity, job >= 0 ? objective.dueOf(job) : Infinity);
    for (const j of successors[i]!) {
      const link = tasks[j]!.predecessors.find((one) => one.taskId === tasks[i]!.id);
      finish = Math.min(finish, latest[j]! - required(link, 'link to a successor').minWaitMinutes);
    }
    latest[i] = finish - conditions.duration[i]!;
  }
  return latest;
}

/** The free tasks by `compare`, each moved behind its predecessors. */
export function orderBy(compiled: Compiled, compare: (a: number, b: number) => number): Int32Array {
  const wanted = [...compiled.free].sort(compare);
  const rank = new Int32Array(compiled.count);
  wanted.forEach((i, k) => (rank[i] = k));
  return repair(compiled, Int32Array.from(wanted));
}

/** The list with each task moved behind its predecessors, otherwise in the order given. */
export function repair(compiled: Compiled, list: Int32Array): Int32Array {
  const { linkFrom, linkTask, isFixed } = compiled;
  const done = new Uint8Array(compiled.count);
  const out = new Int32Array(list.length);
  let filled = 0;
  const put = (i: number): void => {
    if (done[i] || isFixed[i]) return;
    done[i] = 1;
    for (let l = linkFrom[i]!; l < linkFrom[i + 1]!; l++) put(linkTask[l]!);
    out[filled++] = i;
  };
  for (const i of list) put(i);
  return out;
}

/**
 * The list for an order given by task ids: unknown ids and fixed tasks are passed over (news since the order was made),
 * tasks it lacks come in where the first list has them.
 */
export function listFromIds(compiled: Compiled, ids: readonly string[]): Int32Array {
  const rank = new Map<number, number>();
  for (const id of ids) {
    const i = compiled.indexOf.get(id);
    if (i !== undefined && !compiled.isFixed[i]) {
      if (rank.has(i)) throw new EngineError('duplicate-id', `The order names task ${id} twice`, 'list');
      rank.set(i, rank.size);
    }
  }
  // A task that is new goes just before the next task of the first list whose place is known.
  let next = rank.size;
  const keys = new Float64Array(compiled.count);
  const first = firstList(compiled);
  for (let k = first.length - 1; k >= 0; k--) {
    const i = first[k]!;
    const known = rank.get(i);
    if (known === undefined) keys[i] = next - 0.5;
    else keys[i] = next = known;
  }
  const place = new Int32Array(compiled.count);
  first.forEach((i, k) => (place[i] = k));
  return orderBy(compiled, (a, b) => keys[a]! - keys[b]! || place[a]! - place[b]!);
}

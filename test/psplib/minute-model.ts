import type { Problem, Schedule, Task } from '../../src/engine/schedule/index.js';

/** When a task may start and when it is then finished, found by stepping minute by minute through the raw problem. */
export function startsAndFinishes(problem: Problem, task: Task): Map<number, number> {
  const now = problem.nowMinutes ?? 0;
  const isOpen = (t: number): boolean =>
    task.demands.every(({ resourceId }) => {
      const { calendar } = problem.resources.find((r) => r.id === resourceId)!;
      return !calendar || calendar.some((i) => i.startMinutes <= t && t < i.endMinutes);
    });
  const finishFrom = (start: number): number => {
    let left = task.durationMinutes;
    let t = start;
    for (; left > 0 && t < problem.horizonMinutes + 1000; t++) {
      if (isOpen(t)) left--;
      else if (!task.pausable) return Infinity;
    }
    return left > 0 ? Infinity : t;
  };
  const possible = new Map<number, number>();
  if (task.fixed) {
    // Work under way counts from its first open minute and is not finished before now.
    let end = task.fixed.finishMinutes;
    if (end === undefined) {
      let start = task.fixed.startMinutes;
      if (task.pausable) while (!isOpen(start)) start++;
      end = Math.max(now, task.pausable ? finishFrom(start) : task.fixed.startMinutes + task.durationMinutes);
    }
    return possible.set(task.fixed.startMinutes, end);
  }
  for (let t = Math.max(now, task.releaseMinutes ?? 0); t <= problem.horizonMinutes; t++) {
    if (task.durationMinutes > 0 && !isOpen(t)) continue;
    const end = finishFrom(t);
    if (end > problem.horizonMinutes) continue;
    const sets = [task.windows, problem.weather?.find((set) => set.id === task.weatherId)?.windows].filter(
      (set) => set !== undefined,
    );
    if (sets.every((set) => set.some((w) => w.startMinutes <= t && end <= w.endMinutes))) possible.set(t, end);
  }
  return possible;
}

/**
 * Judges a schedule by the rules alone, minute by minute; shares nothing with the engine.
 * @throws Error naming the first rule broken.
 */
export function checkSchedule(problem: Problem, schedule: Pick<Schedule, 'tasks'>): void {
  const placed = new Map(schedule.tasks.map((task) => [task.id, task]));
  for (const task of problem.tasks) {
    const at = placed.get(task.id);
    if (!at) throw new Error(`${task.id} is missing`);
    const finish = startsAndFinishes(problem, task).get(at.startMinutes);
    if (finish === undefined) throw new Error(`${task.id} may not start at ${at.startMinutes}`);
    if (finish !== at.finishMinutes)
      throw new Error(`${task.id} started at ${at.startMinutes} ends at ${finish}, not ${at.finishMinutes}`);
    const worked = at.worked.reduce((sum, w) => sum + w.endMinutes - w.startMinutes, 0);
    if (!task.fixed && worked !== task.durationMinutes)
      throw new Error(`${task.id} is worked on for ${worked} of ${task.durationMinutes}`);
    if (task.fixed) continue;
    for (const link of task.predecessors) {
      const since = at.startMinutes - placed.get(link.taskId)!.finishMinutes;
      if (since < link.minWaitMinutes)
        throw new Error(`${task.id} starts ${since} after ${link.taskId}, which needs ${link.minWaitMinutes}`);
      if (link.forbidden?.some((gap) => since > gap.fromMinutes && since < gap.toMinutes)) {
        throw new Error(`${task.id} starts ${since} after ${link.taskId}, inside a forbidden interval`);
      }
    }
  }
  for (const resource of problem.resources) {
    const users = problem.tasks.flatMap((task) => {
      const demand = task.demands.find((d) => d.resourceId === resource.id);
      return demand ? [{ ...placed.get(task.id)!, amount: demand.amount, isFree: !task.fixed }] : [];
    });
    for (let t = 0; t < problem.horizonMinutes; t++) {
      const here = users.filter((u) => u.startMinutes <= t && t < u.finishMinutes);
      const used = here.reduce((sum, u) => sum + u.amount, 0);
      // What happened may have overfilled a resource; nothing planned may.
      const away = (resource.reductions ?? []).reduce(
        (sum, r) => sum + (r.startMinutes <= t && t < r.endMinutes ? r.amount : 0),
        0,
      );
      if (used + away > resource.capacity && here.some((u) => u.isFree))
        throw new Error(`${used} of ${resource.capacity} − ${away} ${resource.id} used at ${t}`);
    }
  }
}

/** MiniZinc: least weighted tardiness of the jobs, then least makespan, over all starts the minute tables allow. */
export const EXACT_MODEL = `
int: n; int: m; int: horizon; int: jobs; int: lowest;
array[1..n] of set of int: allowed;
array[1..n, lowest..horizon] of int: ends;
array[1..n] of int: isFixed;
array[1..m] of int: capacity;
array[1..m, 1..n] of int: demand;
int: links;
array[1..links] of 1..n: before; array[1..links] of 1..n: after; array[1..links] of int: wait;
int: gaps;
array[1..gaps] of 1..links: gapLink; array[1..gaps] of int: gapFrom; array[1..gaps] of int: gapTo;
int: aways;
array[1..aways] of int: awayFrom; array[1..aways] of int: awayStart; array[1..aways] of int: awayLength; array[1..aways] of int: awayAmount;
array[1..n] of 1..jobs: job; array[1..jobs] of int: due; array[1..jobs] of int: weight;
include "cumulative.mzn";
array[1..n] of var lowest..horizon: start;
array[1..n] of var lowest..horizon: finish;
array[1..n] of var 0..horizon-lowest: length;
var 0..horizon: makespan;
var 0..100000: tardiness;
constraint forall(i in 1..n)(start[i] in allowed[i] /\\ finish[i] = ends[i, start[i]] /\\ length[i] = finish[i] - start[i]);
constraint forall(l in 1..links where isFixed[after[l]] = 0)(start[after[l]] - finish[before[l]] >= wait[l]);
constraint forall(g in 1..gaps where isFixed[after[gapLink[g]]] = 0)(
  start[after[gapLink[g]]] - finish[before[gapLink[g]]] <= gapFrom[g] \\/
    start[after[gapLink[g]]] - finish[before[gapLink[g]]] >= gapTo[g]);
constraint forall(r in 1..m)(cumulative(
  start ++ [awayStart[a] | a in 1..aways where awayFrom[a] = r],
  length ++ [awayLength[a] | a in 1..aways where awayFrom[a] = r],
  [demand[r, i] | i in 1..n] ++ [awayAmount[a] | a in 1..aways where awayFrom[a] = r],
  capacity[r]));
constraint forall(i in 1..n)(makespan >= finish[i]);
constraint tardiness = sum(j in 1..jobs)(weight[j] * max([0] ++ [finish[i] - due[j] | i in 1..n where job[i] = j]));
solve minimize 1000 * tardiness + makespan;
`;

/** The data of `EXACT_MODEL`. Jobs without a task must not exist; horizons below 1,000. */
export function exactData(problem: Problem): Record<string, unknown> {
  const { tasks, resources, horizonMinutes } = problem;
  const tables = tasks.map((task) => startsAndFinishes(problem, task));
  const lowest = Math.min(0, ...tables.flatMap((table) => [...table.keys()]));
  const jobs = problem.jobs ?? [];
  const indexOf = new Map(tasks.map((task, i) => [task.id, i + 1]));
  const links = tasks.flatMap((task) => task.predecessors.map((link) => ({ ...link, after: indexOf.get(task.id)! })));
  // A time of reduced capacity is a fixed task that takes what is away.
  const aways = resources.flatMap((r, k) => (r.reductions ?? []).map((away) => ({ from: k + 1, ...away })));
  const gaps = links.flatMap((link, l) => (link.forbidden ?? []).map((gap) => ({ link: l + 1, ...gap })));
  return {
    n: tasks.length,
    m: resources.length,
    horizon: horizonMinutes,
    lowest,
    jobs: jobs.length,
    allowed: tables.map((table) => ({ set: [...table.keys()] })),
    ends: tables.map((table) =>
      Array.from({ length: horizonMinutes - lowest + 1 }, (_, k) => table.get(lowest + k) ?? horizonMinutes),
    ),
    isFixed: tasks.map((task) => (task.fixed ? 1 : 0)),
    capacity: resources.map((r) => r.capacity),
    demand: resources.map((r) => tasks.map((task) => task.demands.find((d) => d.resourceId === r.id)?.amount ?? 0)),
    links: links.length,
    before: links.map((link) => indexOf.get(link.taskId)!),
    after: links.map((link) => link.after),
    wait: links.map((link) => link.minWaitMinutes),
    gaps: gaps.length,
    gapLink: gaps.map((gap) => gap.link),
    gapFrom: gaps.map((gap) => gap.fromMinutes),
    gapTo: gaps.map((gap) => gap.toMinutes),
    aways: aways.length,
    awayFrom: aways.map((away) => away.from),
    awayStart: aways.map((away) => away.startMinutes),
    awayLength: aways.map((away) => away.endMinutes - away.startMinutes),
    awayAmount: aways.map((away) => away.amount),
    job: tasks.map((task) => jobs.findIndex((job) => job.id === task.jobId) + 1),
    due: jobs.map((job) => job.dueMinutes ?? 100000),
    weight: jobs.map((job) => job.weight ?? 1),
  };
}

/** Who does what on a day: the people named to the tasks that the plan has on it. Pure. */
import { at, lookUp } from '../../engine/look-up.js';
import type { PlanRecords } from '../inputs/records.js';
import type { LocalMinutes } from '../inputs/shop-calendar.js';
import { calendarsOf, mayDo } from '../model/staff.js';

export interface DayTask {
  taskId: string;
  jobId: string;
  kind: string;
  /** How many it takes. */
  people: number;
  worked: readonly { startMinutes: number; endMinutes: number }[];
}

export interface Assignee {
  personId: string;
  name: string;
}

type Staffing = Pick<PlanRecords, 'people' | 'openingHours' | 'daysOff'>;
interface Span {
  startMinutes: number;
  endMinutes: number;
}
interface Worker {
  id: string;
  name: string;
  open: readonly Span[];
  /** How many of the day's kinds of task they may do. */
  breadth: number;
  busy: Span[];
  jobs: string[];
}

/** So many tries to find everybody a task that they keep to its end; beyond that, tasks are handed over. */
const MAX_TRIES = 3000;

/**
 * Shares the tasks of a day out in the order in which they begin. Whoever may do least goes first, so that those who may do
 * everything stay free for the rest; then whoever is at that machine already today, so that fewer change over. Where nobody
 * can stay to the end, one hands over to another, and both are named.
 * @returns by task
 */
export function assignPeople(
  records: Staffing,
  tasks: readonly DayTask[],
  local: LocalMinutes,
): Map<string, Assignee[]> {
  const calendars = calendarsOf(records, local);
  const kinds = [...new Set(tasks.map((task) => task.kind))];
  const workers = records.people.map((person, k): Worker & { taskKinds?: string[] } => ({
    ...person,
    open: at(calendars, k),
    breadth: kinds.filter((kind) => mayDo(person, kind)).length,
    busy: [],
    jobs: [],
  }));
  const inOrder = tasks
    .filter((task) => task.worked.length > 0)
    .sort((a, b) => at(a.worked, 0).startMinutes - at(b.worked, 0).startMinutes);
  const ableFor = new Map(
    kinds.map((kind) => {
      const able = workers.filter((worker) => mayDo(worker, kind));
      return [kind, able.length > 0 ? able : workers];
    }),
  );
  const assigned = new Map<string, Worker[]>();
  let tries = 0;
  const shareOut = (k: number): boolean => {
    const task = inOrder[k];
    if (!task) return true;
    const free = lookUp(ableFor, task.kind)
      .filter((worker) => task.worked.every((span) => isFree(worker, span)))
      .sort(
        (a, b) => a.breadth - b.breadth || Number(b.jobs.includes(task.jobId)) - Number(a.jobs.includes(task.jobId)),
      );
    const wanted = Math.min(task.people, lookUp(ableFor, task.kind).length);
    for (let from = 0; from + wanted <= free.length && (tries += 1) <= MAX_TRIES; from += 1) {
      const chosen = free.slice(from, from + wanted);
      for (const worker of chosen) {
        worker.busy.push(...task.worked);
        worker.jobs.push(task.jobId);
      }
      assigned.set(task.taskId, chosen);
      if (shareOut(k + 1)) return true;
      for (const worker of chosen) {
        worker.busy.length -= task.worked.length;
        worker.jobs.pop();
      }
    }
    return false;
  };
  const shared = shareOut(0) ? assigned : inTurns(inOrder, (kind) => lookUp(ableFor, kind));
  return new Map(
    [...shared].map(([taskId, chosen]) => [taskId, chosen.map(({ id, name }) => ({ personId: id, name }))]),
  );
}

const isFree = ({ open, busy }: Worker, { startMinutes, endMinutes }: Span): boolean =>
  open.some((span) => span.startMinutes <= startMinutes && startMinutes < span.endMinutes) &&
  busy.every((span) => span.endMinutes <= startMinutes || span.startMinutes >= endMinutes);

/**
 * From one beginning or end to the next: everybody goes on with what they are at, unless they alone may do what comes in
 * (augmenting paths: Kuhn 1955, "The Hungarian method"). The plan never has more at once than can be matched so.
 */
function inTurns(tasks: readonly DayTask[], ableFor: (kind: string) => readonly Worker[]): Map<string, Worker[]> {
  const slots = tasks.flatMap((task) =>
    Array.from({ length: task.people }, () => ({ task, now: null as Worker | null })),
  );
  const named = new Map(tasks.map((task) => [task.taskId, new Set<Worker>()]));
  const moments = [
    ...new Set(tasks.flatMap((task) => task.worked.flatMap((span) => [span.startMinutes, span.endMinutes]))),
  ].sort((a, b) => a - b);
  for (const moment of moments) {
    const active = slots.filter(({ task }) =>
      task.worked.some((span) => span.startMinutes <= moment && moment < span.endMinutes),
    );
    const held = new Map<Worker, (typeof slots)[number]>();
    for (const slot of slots) {
      if (active.includes(slot) && slot.now && !held.has(slot.now)) held.set(slot.now, slot);
      else slot.now = null;
    }
    const match = (slot: (typeof slots)[number], seen: Set<Worker>): boolean => {
      for (const worker of ableFor(slot.task.kind)) {
        if (seen.has(worker) || !worker.open.some((span) => span.startMinutes <= moment && moment < span.endMinutes))
          continue;
        seen.add(worker);
        const other = held.get(worker);
        if (other && !match(other, seen)) continue;
        held.set(worker, slot);
        slot.now = worker;
        return true;
      }
      return false;
    };
    for (const slot of active) if (!slot.now) match(slot, new Set());
    for (const { task, now } of active) if (now) lookUp(named, task.taskId).add(now);
  }
  return new Map([...named].map(([taskId, workers]) => [taskId, [...workers]]));
}

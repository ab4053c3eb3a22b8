import { lookUp } from '../../look-up.js';
import type { Compiled } from '../problem/compile.js';
import type { ScheduleGenerator } from './schedule-generator.js';

/** One thing a task waited for; it could not start before `untilMinutes` because of it. */
export type Reason =
  /** The plan begins here. */
  | { kind: 'now'; untilMinutes: number }
  /** Its parts come no earlier. */
  | { kind: 'release'; untilMinutes: number }
  /** The task before it finished, and then this much had to pass. */
  | { kind: 'predecessor'; taskId: string; waitMinutes: number; untilMinutes: number }
  /** Too late to start before a forbidden interval after that task, so it waits for the interval's end. */
  | { kind: 'forbidden'; taskId: string; fromMinutes: number; toMinutes: number; untilMinutes: number }
  /** Something it needs is closed, or closes too soon for one sitting. */
  | { kind: 'closed'; resourceIds: string[]; untilMinutes: number }
  /** No window (weather) long enough before. */
  | { kind: 'window'; weatherId?: string; untilMinutes: number }
  /**
   * Others hold the resource, or too much of it is away; nobody is named when that alone is the reason. The last one named
   * is the one that let the task in when it ended.
   */
  /** `untilBack`: it ended when units that had been missing came back, not when another task did. */
  | { kind: 'resource'; resourceId: string; heldBy: string[]; untilBack?: true; untilMinutes: number }
  /** What may not run beside it, in the same room: sparks beside vapour. */
  | { kind: 'excluded'; taskIds: string[]; untilMinutes: number }
  /** Delayed so that a follower can start inside its first window. */
  | { kind: 'delayed'; forTaskIds: string[]; untilMinutes: number };

/** Builds the schedule of `list` in `generator` and returns, per compiled task, what it waited for. */
export function explain(
  generator: ScheduleGenerator,
  list: Int32Array,
  firstWindow: Uint8Array | null,
  scheme: 'serial' | 'parallel',
): Reason[][] {
  const { compiled } = generator;
  const reasons: Reason[][] = compiled.tasks.map(() => []);
  // Who held a resource is looked up when the schedule stands.
  const waits: { task: number; resource: number; from: number; reason: Reason & { kind: 'resource' } }[] = [];
  generator.trace = (i, step, by, from, until) => {
    // The lower bound is computed first in every try, so a second one means the task is tried anew.
    if (step === 'now' || step === 'release' || step === 'link') reasons[i] = [];
    const ofTask = reasons[i]!;
    switch (step) {
      case 'now':
      case 'release':
        ofTask.push({ kind: step, untilMinutes: until });
        break;
      case 'link':
        ofTask.push({
          kind: 'predecessor',
          taskId: compiled.tasks[compiled.linkTask[by]!]!.id,
          waitMinutes: generator.linkWait[by]!,
          untilMinutes: until,
        });
        break;
      case 'delayed':
        ofTask.push({
          kind: 'delayed',
          forTaskIds: firstWindowFollowers(compiled, i, firstWindow),
          untilMinutes: until,
        });
        break;
      case 'forbidden-interval': {
        const elapsed = from - generator.finish[compiled.linkTask[by]!]!;
        const [start, end] = gapAround(generator, by, elapsed);
        ofTask.push({
          kind: 'forbidden',
          taskId: compiled.tasks[compiled.linkTask[by]!]!.id,
          fromMinutes: start,
          toMinutes: end,
          untilMinutes: until,
        });
        break;
      }
      case 'excluded':
        ofTask.push({ kind: 'excluded', taskIds: excluders(generator, i, from, until), untilMinutes: until });
        break;
      case 'closed':
        ofTask.push({ kind: 'closed', resourceIds: closedAt(compiled, i, from), untilMinutes: until });
        break;
      case 'sitting':
        pushSitting(compiled, i, from, until, ofTask);
        break;
      case 'window':
        ofTask.push(windowReason(compiled, i, until));
        break;
      case 'resource': {
        const resourceId = compiled.resourceIds[by]!;
        const last = ofTask.at(-1);
        if (last?.kind === 'resource' && last.resourceId === resourceId) last.untilMinutes = until;
        else {
          const reason: Reason & { kind: 'resource' } = {
            kind: 'resource',
            resourceId,
            heldBy: [],
            untilMinutes: until,
          };
          waits.push({ task: i, resource: by, from, reason });
          ofTask.push(reason);
        }
      }
    }
  };
  try {
    if (scheme === 'serial') generator.serial(list, compiled.conditions, firstWindow);
    else generator.parallel(list, compiled.conditions);
  } finally {
    generator.trace = null;
  }
  for (const { task, resource, from, reason } of waits) {
    reason.heldBy = holders(generator, task, resource, from, reason.untilMinutes);
    if (endedByReturn(generator, reason.heldBy, resource, from, reason.untilMinutes)) reason.untilBack = true;
  }
  return reasons;
}

function firstWindowFollowers(compiled: Compiled, i: number, firstWindow: Uint8Array | null): string[] {
  return [...compiled.successors[i]!]
    .filter((j) => {
      for (let l = compiled.linkFrom[j]!; l < compiled.linkFrom[j + 1]!; l++)
        if (compiled.linkTask[l] === i && firstWindow?.[l]) return true;
      return false;
    })
    .map((j) => compiled.tasks[j]!.id);
}

function gapAround(generator: ScheduleGenerator, link: number, elapsed: number): [number, number] {
  const { forbiddenStart, forbiddenEnd } = generator;
  const { forbiddenFrom } = generator.compiled;
  for (let g = forbiddenFrom[link]!; g < forbiddenFrom[link + 1]!; g++) {
    if (elapsed > forbiddenStart[g]! && elapsed < forbiddenEnd[g]!) return [forbiddenStart[g]!, forbiddenEnd[g]!];
  }
  return [0, elapsed];
}

/** Tasks of the other side whose stay ends at `until`, as far as they are placed by then. */
function excluders({ compiled, start, finish }: ScheduleGenerator, i: number, from: number, until: number): string[] {
  const { exclusionFrom, exclusionSlot, exclusionTail, tasks } = compiled;
  const others = new Set<number>();
  for (let k = exclusionFrom[i]!; k < exclusionFrom[i + 1]!; k++) others.add(exclusionSlot[k]! ^ 1);
  return tasks.flatMap((task, j) => {
    for (let k = exclusionFrom[j]!; k < exclusionFrom[j + 1]!; k++)
      if (
        others.has(exclusionSlot[k]!) &&
        start[j]! < until &&
        finish[j]! + exclusionTail[k]! === until &&
        until > from
      )
        return [task.id];
    return [];
  });
}

/** Resources of task `i` that are closed at `minute`; if none is, all that close at some time. */
function closedAt(compiled: Compiled, i: number, minute: number): string[] {
  const closing: number[] = [];
  for (let k = compiled.demandFrom[i]!; k < compiled.demandFrom[i + 1]!; k++) {
    if (compiled.resourceCalendar[compiled.demandResource[k]!]) closing.push(compiled.demandResource[k]!);
  }
  const closed = closing.filter((r) => compiled.resourceCalendar[r]!.next(minute) !== minute);
  return (closed.length > 0 ? closed : closing).map((r) => compiled.resourceIds[r]!);
}

/** A sitting waits for open hours and for a window at once; tells how far each of them pushed it. */
function pushSitting(compiled: Compiled, i: number, from: number, until: number, reasons: Reason[]): void {
  const calendar = compiled.taskCalendar[i];
  const open = calendar ? calendar.nextSitting(from, compiled.conditions.duration[i]!) : from;
  if (open > from)
    reasons.push({ kind: 'closed', resourceIds: closedAt(compiled, i, from), untilMinutes: Math.min(open, until) });
  if (open < until) reasons.push(windowReason(compiled, i, until));
}

function windowReason(compiled: Compiled, i: number, until: number): Reason {
  const { weatherId } = compiled.tasks[i]!;
  return { kind: 'window', ...(weatherId === undefined ? {} : { weatherId }), untilMinutes: until };
}

/** Whether missing units of resource `r` came back later than the last of the holders ended, but in time. */
function endedByReturn(
  { compiled, finish }: ScheduleGenerator,
  heldBy: readonly string[],
  r: number,
  from: number,
  until: number,
): boolean {
  const back = Math.max(
    -1,
    ...compiled.reductions
      .filter((one) => one.resource === r && one.finish > from && one.finish <= until)
      .map((one) => one.finish),
  );
  const freed = Math.max(
    -1,
    ...heldBy.map((id) => finish[lookUp(compiled.indexOf, id)]!).filter((end) => end <= until),
  );
  return back > freed;
}

/** Other tasks on resource `r` inside `[from, until)`: those that go on beyond it first, then in the order in which they end. */
function holders(generator: ScheduleGenerator, self: number, r: number, from: number, until: number): string[] {
  const { compiled, start, finish } = generator;
  const found: number[] = [];
  for (let i = 0; i < compiled.count; i++) {
    if (i === self || start[i]! >= until || finish[i]! <= from) continue;
    for (let k = compiled.demandFrom[i]!; k < compiled.demandFrom[i + 1]!; k++)
      if (compiled.demandResource[k] === r) found.push(i);
  }
  const ends = (i: number): number => (finish[i]! > until ? -1 : finish[i]!);
  return found.sort((a, b) => ends(a) - ends(b) || a - b).map((i) => compiled.tasks[i]!.id);
}

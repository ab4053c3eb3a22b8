/** What was found and not decided on, as a task of its own between what shows it and what waits for it. Pure. */
import { at } from '../../engine/look-up.js';
import type { Arrival, LengthModel, Predecessor, Task } from '../../engine/schedule/index.js';
import type { LikelyWork, PlanRecords, PlanTask } from '../inputs/records.js';
import type { LocalMinutes } from '../inputs/shop-calendar.js';

export const likelyIdOf = (jobId: string): string => `${jobId}/likely`;
export const isLikely = (id: string): boolean => id.endsWith('/likely');

const SHOWING_KINDS = ['strip', 'diagnose', 'clean'];
const WAITING_KINDS = ['assemble', 'test', 'offer'];

interface Occasion {
  work: LikelyWork;
  showing: PlanTask[];
  waiting: PlanTask[];
}

/** Only where work is still planned: a job without any has no day that it could move. */
function occasionsOf({ likelyWork, tasks }: Pick<PlanRecords, 'likelyWork' | 'tasks'>): Occasion[] {
  return likelyWork.flatMap((work) => {
    const own = tasks.filter((task) => task.jobId === work.jobId);
    if (own.every((task) => task.finishedAt)) return [];
    const first = (kinds: readonly string[], fits: (task: PlanTask) => boolean): PlanTask[] => {
      const kind = kinds.find((one) => own.some((task) => task.kind === one && fits(task)));
      return own.filter((task) => task.kind === kind && fits(task));
    };
    return [
      { work, showing: first(SHOWING_KINDS, () => true), waiting: first(WAITING_KINDS, (task) => !task.startedAt) },
    ];
  });
}

/** The tasks, and what their followers wait for besides. @param awaited whether its parts are waited for as they are likely to come */
export function likelyTasks(
  records: Pick<PlanRecords, 'likelyWork' | 'tasks'>,
  {
    demands,
    priorityOf,
    local,
    awaited,
  }: { demands: Task['demands']; priorityOf: (jobId: string) => number; local: LocalMinutes; awaited: boolean },
): { tasks: Task[]; waits: Map<string, Predecessor[]> } {
  const waits = new Map<string, Predecessor[]>();
  const tasks = occasionsOf(records).map(({ work, showing, waiting }): Task => {
    const id = likelyIdOf(work.jobId);
    for (const task of waiting) waits.set(task.id, [...(waits.get(task.id) ?? []), { taskId: id, minWaitMinutes: 0 }]);
    const median = work.partDays.length > 0 ? at(work.partDays, work.partDays.length >> 1) : 0;
    return {
      id,
      jobId: work.jobId,
      priority: priorityOf(work.jobId),
      durationMinutes: work.meanMinutes,
      demands,
      pausable: true,
      predecessors: showing.map((task) => ({ taskId: task.id, minWaitMinutes: 0 })),
      ...(awaited && median > 0 ? { releaseMinutes: local.midnight(median) } : {}),
    };
  });
  return { tasks, waits };
}

/** How long they may take, for a simulation: nothing where all of it is refused. */
export const likelyLengths = (records: Pick<PlanRecords, 'likelyWork' | 'tasks'>): Record<string, LengthModel> =>
  Object.fromEntries(
    occasionsOf(records)
      .filter(({ work }) => work.minutes.length > 0)
      .map(({ work }): [string, LengthModel] => [likelyIdOf(work.jobId), { kind: 'entries', minutes: work.minutes }]),
  );

/** When the parts of it may come. */
export const likelyArrivals = (records: Pick<PlanRecords, 'likelyWork' | 'tasks'>, local: LocalMinutes): Arrival[] =>
  occasionsOf(records)
    .filter(({ work }) => work.partDays.some((days) => days > 0))
    .map(({ work }) => ({
      id: likelyIdOf(work.jobId),
      taskIds: [likelyIdOf(work.jobId)],
      minutes: work.partDays.map((days) => (days > 0 ? local.midnight(days) : 0)),
    }));

/** Work that taking a machine apart may turn up: tasks that are in the plan until the step is done, and then are not. Pure. */
import type { LengthModel, Predecessor, Task } from '../../engine/schedule/index.js';
import type { PlanRecords, PlanTask } from '../inputs/records.js';

/** The step that shows what is wrong, and the tasks that cannot begin before what it shows is mended. */
interface Occasion {
  step: PlanTask;
  followerIds: string[];
}

export const foundIdOf = (stepId: string): string => `${stepId}/found`;
export const foundPartIdOf = (stepId: string): string => `${stepId}/found-part`;
/** The id of the step that expected work belongs to, or the id itself. */
export const stepOfFound = (id: string): string => id.replace(/\/found(-part)?$/, '');
export const isFound = (id: string): boolean => id.endsWith('/found') || id.endsWith('/found-part');

/** Steps that find work, in the order of how much they show; a job has one that counts. */
const FINDING_KINDS = ['strip', 'diagnose'];
/** What waits until it is mended, where a job has it. */
const WAITING_KINDS = ['assemble', 'test'];

/** Of each job the step that may still find something. What was found already is among its tasks. */
export function occasionsOf({ tasks, learning, jobs }: Pick<PlanRecords, 'tasks' | 'learning' | 'jobs'>): Occasion[] {
  if (!learning.foundWork) return [];
  const byJob = new Map<string, PlanTask[]>();
  for (const task of tasks) byJob.set(task.jobId, [...(byJob.get(task.jobId) ?? []), task]);
  return jobs.flatMap(({ id }): Occasion[] => {
    const own = byJob.get(id) ?? [];
    const kind = FINDING_KINDS.find((one) => own.some((task) => task.kind === one));
    const step = own.findLast((task) => task.kind === kind);
    const waiting = WAITING_KINDS.find((one) => own.some((task) => task.kind === one));
    const followers = own.filter((task) => task.kind === waiting && !task.startedAt && !task.finishedAt);
    return !step || step.finishedAt || followers.length === 0
      ? []
      : [{ step, followerIds: followers.map((task) => task.id) }];
  });
}

export interface FoundSettings {
  minutes: number;
  demands: Task['demands'];
  priorityOf: (jobId: string) => number;
}

/** The tasks, and what their followers wait for besides. */
export function foundTasks(
  records: Pick<PlanRecords, 'tasks' | 'learning' | 'jobs'>,
  { minutes, demands, priorityOf }: FoundSettings,
): { tasks: Task[]; waits: Map<string, Predecessor[]> } {
  const tasks: Task[] = [];
  const waits = new Map<string, Predecessor[]>();
  for (const { step, followerIds } of occasionsOf(records)) {
    const after = (taskId: string): Predecessor => ({ taskId, minWaitMinutes: 0 });
    const common = { jobId: step.jobId, priority: priorityOf(step.jobId) };
    tasks.push({
      ...common,
      id: foundPartIdOf(step.id),
      durationMinutes: 0,
      demands: [],
      pausable: false,
      predecessors: [after(step.id)],
    });
    tasks.push({
      ...common,
      id: foundIdOf(step.id),
      durationMinutes: minutes,
      demands,
      pausable: true,
      predecessors: [after(step.id), after(foundPartIdOf(step.id))],
    });
    for (const id of followerIds) waits.set(id, [...(waits.get(id) ?? []), after(foundIdOf(step.id))]);
  }
  return { tasks, waits };
}

/** How long they may take, for a simulation. */
export function foundLengths(records: Pick<PlanRecords, 'tasks' | 'learning' | 'jobs'>): Record<string, LengthModel> {
  return Object.fromEntries(
    occasionsOf(records).flatMap(({ step }): [string, LengthModel][] => [
      [foundIdOf(step.id), { kind: 'found', what: 'work', occasion: step.id }],
      [foundPartIdOf(step.id), { kind: 'found', what: 'part', occasion: step.id, partDays: records.learning.partDays }],
    ]),
  );
}

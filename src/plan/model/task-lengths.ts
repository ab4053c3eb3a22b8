/** How long the tasks take: the route's likely minutes, with the luck learnt from the shop's finished tasks. Pure. */
import { expectedFoundMinutes, expectedHoursFactor, learnFoundWork, learnHours } from '../../engine/learning/index.js';
import type { LengthModel, SharedLuck } from '../../engine/schedule/index.js';
import type { LearningRecords, PlanRecords, PlanTask } from '../inputs/records.js';

/** A task that was begun and has used up its hours is taken to need this much more. */
export const MIN_REMAINING_MINUTES = 15;
const LEARNING_SEED = 20_260_402;

/** A task that is nothing but time on the rack. */
export const isPureCure = (task: Pick<PlanTask, 'handsOnMinutes' | 'people'>): boolean =>
  task.handsOnMinutes === 0 && task.people === 0;

/** Hours that a shop has stated without any spread are taken at their word. */
const isExact = (task: Pick<PlanTask, 'minMinutes' | 'maxMinutes'>): boolean => task.minMinutes === task.maxMinutes;

/** Learnt once for all questions about the same records. */
const learnt = new WeakMap<LearningRecords, SharedLuck>();

export function sharedLuckOf({ learning, jobs }: Pick<PlanRecords, 'learning' | 'jobs'>): SharedLuck {
  let luck = learnt.get(learning);
  if (!luck) {
    luck = {
      hours: learnHours({
        entries: learning.hours,
        seed: LEARNING_SEED,
        machineIds: jobs.map((job) => job.id),
        season: learning.season,
      }),
      season: learning.season,
      found: learnFoundWork(learning.foundWork ?? [], LEARNING_SEED),
    };
    learnt.set(learning, luck);
  }
  return luck;
}

/**
 * The mean of what a task may take from its beginning to its end, whole minutes. The mean and not the likeliest, since a day
 * at the end of many tasks is near the sum of their means: likeliest hours, which most tasks exceed, would add up to a day
 * that is hardly ever met.
 */
export function expectedMinutes(
  task: Pick<PlanTask, 'kind' | 'jobId' | 'minMinutes' | 'handsOnMinutes' | 'maxMinutes'>,
  { hours, season }: SharedLuck,
): number {
  if (isExact(task)) return task.handsOnMinutes;
  return Math.round(
    task.handsOnMinutes * expectedHoursFactor(hours, { taskKind: task.kind, machineId: task.jobId, season }),
  );
}

export const expectedFound = ({ found }: SharedLuck): number => Math.round(expectedFoundMinutes(found));

/** What may come of it, for a simulation. Of begun work it is what is left, given how long it has taken. */
export function lengthsOf(records: Pick<PlanRecords, 'tasks'>): Record<string, LengthModel> {
  const lengths: Record<string, LengthModel> = {};
  for (const task of records.tasks) {
    if (task.finishedAt || isPureCure(task) || isExact(task)) continue;
    lengths[task.id] = {
      kind: 'learnt',
      likelyMinutes: task.handsOnMinutes,
      taskKind: task.kind,
      machineId: task.jobId,
      ...(task.startedAt ? { workedMinutes: task.workedMinutes, minRemainingMinutes: MIN_REMAINING_MINUTES } : {}),
    };
  }
  return lengths;
}

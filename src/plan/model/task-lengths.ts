/** How long the tasks take: as finished ones of their kind did here where there are enough of them, else by their three points. Pure. */
import { type LengthModel, pertMean } from '../../engine/schedule/index.js';
import type { PlanRecords, PlanTask } from '../inputs/records.js';

/** From so many finished tasks of a kind on, what they took speaks instead of the three points. */
const ENOUGH_ENTRIES = 12;
/** A task that was begun and has used up its hours is taken to need this much more. */
export const MIN_REMAINING_MINUTES = 15;

/** A task that is nothing but time on the rack. */
export const isPureCure = (task: PlanTask): boolean => task.handsOnMinutes === 0 && task.people === 0;

/** Of each kind of which enough tasks are finished, what they took over what was thought likely. */
export type Paces = Map<string, number[]>;

export const pacesOf = ({ paces }: Pick<PlanRecords, 'paces'>): Paces =>
  new Map(paces.filter((pace) => pace.ratios.length >= ENOUGH_ENTRIES).map((pace) => [pace.kind, pace.ratios]));

/**
 * The mean of what a task may take from its beginning to its end, whole minutes. The mean and not the likeliest, since a day
 * at the end of many tasks is near the sum of their means: likeliest hours, which most tasks exceed, would add up to a day
 * that is hardly ever met.
 */
export function expectedMinutes(
  task: Pick<PlanTask, 'kind' | 'minMinutes' | 'handsOnMinutes' | 'maxMinutes'>,
  paces: Paces,
): number {
  const seen = paces.get(task.kind);
  if (seen) return Math.round((task.handsOnMinutes * seen.reduce((sum, ratio) => sum + ratio, 0)) / seen.length);
  return Math.round(
    pertMean({ lowMinutes: task.minMinutes, likelyMinutes: task.handsOnMinutes, highMinutes: task.maxMinutes }),
  );
}

/** What may come of it, for a simulation. Of begun work it is what is left, were it to end so. */
export function lengthsOf(records: Pick<PlanRecords, 'tasks' | 'paces'>): Record<string, LengthModel> {
  const paces = pacesOf(records);
  const lengths: Record<string, LengthModel> = {};
  for (const task of records.tasks) {
    if (task.finishedAt || isPureCure(task)) continue;
    const left = (minutes: number): number =>
      task.startedAt ? Math.max(MIN_REMAINING_MINUTES, minutes - task.workedMinutes) : minutes;
    const seen = paces.get(task.kind);
    if (seen) lengths[task.id] = { kind: 'entries', minutes: seen.map((ratio) => left(ratio * task.handsOnMinutes)) };
    else if (task.minMinutes < task.maxMinutes)
      lengths[task.id] = {
        kind: 'three-point',
        lowMinutes: left(task.minMinutes),
        likelyMinutes: left(task.handsOnMinutes),
        highMinutes: left(task.maxMinutes),
      };
  }
  return lengths;
}

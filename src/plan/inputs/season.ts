/** The season as the plan computes with it. Pure. */
import { addDays } from '../../platform/days.js';
import { probabilityOfSnowBy, type SnowOutlook } from '../../season/first-snow.js';

/**
 * The day by which a machine for this winter should be finished: the median first snow less the shop's margin.
 * @returns null when the station's records say nothing about the first snow
 */
export function readyByDate(outlook: Pick<SnowOutlook, 'medianDate'>, marginDays: number): string | null {
  return outlook.medianDate === null ? null : addDays(outlook.medianDate, -marginDays);
}

/** Whether the records tell anything of this season's first snow: a station may have too few for that. */
export const snowIsKnown = ({ sample, happenedDate }: Pick<SnowOutlook, 'sample' | 'happenedDate'>): boolean =>
  sample.length > 0 || happenedDate !== null;

/**
 * The chance that a job finished on a day is ready: that the first snow comes no earlier than that day and the margin.
 * The finish is taken as sure here; the snow is not.
 */
export function probabilityReady(outlook: SnowOutlook, finishedDate: string | null, marginDays: number): number | null {
  if (finishedDate === null || !snowIsKnown(outlook)) return null;
  return 1 - probabilityOfSnowBy(outlook, addDays(finishedDate, marginDays - 1));
}

/** The season as the plan reckons with it. Pure. */
import { addDays } from '../../platform/days.js';
import { chanceOfSnowBy, type SnowOutlook } from '../../season/first-snow.js';

/**
 * The day by which a machine for this winter should be finished: the median first snow less the shop's margin.
 * @returns null when the station's records say nothing about the first snow
 */
export function readyByDay(outlook: Pick<SnowOutlook, 'medianDay'>, marginDays: number): string | null {
  return outlook.medianDay === null ? null : addDays(outlook.medianDay, -marginDays);
}

/** Whether the records tell anything of this season's first snow: a station may have too few for that. */
export const snowIsKnown = ({ sample, happenedDay }: Pick<SnowOutlook, 'sample' | 'happenedDay'>): boolean =>
  sample.length > 0 || happenedDay !== null;

/**
 * The chance that a job finished on a day is ready: that the first snow comes no earlier than that day and the margin.
 * The finish is taken as sure here; the snow is not.
 */
export function chanceReady(outlook: SnowOutlook, finishedOn: string | null, marginDays: number): number | null {
  if (finishedOn === null || !snowIsKnown(outlook)) return null;
  return 1 - chanceOfSnowBy(outlook, addDays(finishedOn, marginDays - 1));
}

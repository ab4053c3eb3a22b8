/**
 * What counts as ready, for all answers: to be finished before the season's first snow, less the shop's margin of days. As
 * a probability it is drawn with the plan (`../model/uncertainty.ts`, by `lastReadyMinute`) or, for one sure finish, computed
 * here; as a plain yes it is an even chance to be finished by the day to be ready by. Pure.
 */
import { addDays } from '../../platform/days.js';
import { probabilityOfSnowBy, type SnowOutlook } from '../../season/first-snow.js';
import type { LocalMinutes } from './shop-calendar.js';

/**
 * The day by which a machine for this winter should be finished: the median first snow less the shop's margin.
 * @returns null when the station's records say nothing about the first snow
 */
export function readyByDate(outlook: Pick<SnowOutlook, 'medianDate'>, marginDays: number): string | null {
  return outlook.medianDate === null ? null : addDays(outlook.medianDate, -marginDays);
}

/** @param p50Date by which the job is finished with an even chance; null answers are unknown */
export function isLikelyReady(p50Date: string | null, readyBy: string | null): boolean | null {
  return p50Date === null || readyBy === null ? null : p50Date <= readyBy;
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

/** The last minute at which a job may be finished to be ready for a first snow on `day`: the end of the day so many before. */
export function lastReadyMinute(day: string | null, marginDays: number, local: LocalMinutes): number {
  return day === null ? Infinity : local.midnight(local.offsetOf(day) - marginDays + 1) - 1;
}

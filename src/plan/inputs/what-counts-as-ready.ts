/**
 * What counts as ready, for all answers: to be finished before the season's first snow, less the shop's margin of days. As
 * a probability it is drawn with the plan (`../model/uncertainty.ts`, by `lastReadyMinute`) or, for one sure finish, computed
 * here; as a plain yes it is an even chance to be finished by the day to be ready by. Pure.
 */
import { addDays } from '../../platform/days.js';
import { probabilityOfSnowBy, type SnowOutlook } from '../../season/first-snow.js';
import type { PlanSeason } from './records.js';
import type { LocalMinutes } from './shop-calendar.js';

/**
 * The day by which a machine for this winter should be finished: the median first snow less the shop's margin.
 * @returns null when the station's records say nothing about the first snow
 */
export function readyByDate(outlook: Pick<SnowOutlook, 'medianDate'>, marginDays: number): string | null {
  return outlook.medianDate === null ? null : addDays(outlook.medianDate, -marginDays);
}

/** The day this season is over: the first of its kind after the likely snow, or after today where none is likely. */
export function seasonEndDate(
  { medianDate }: Pick<SnowOutlook, 'medianDate'>,
  today: string,
  seasonEndMonthDay: string,
): string {
  const from = medianDate !== null && medianDate > today ? medianDate : today;
  const end = `${from.slice(0, 4)}-${seasonEndMonthDay}`;
  return end >= from ? end : `${Number(from.slice(0, 4)) + 1}-${seasonEndMonthDay}`;
}

/** The share of past seasons that could be this one in which no such snow fell; null where nothing is known. */
export const probabilityNoSnow = ({ sample }: Pick<SnowOutlook, 'sample'>): number | null =>
  sample.length === 0 ? null : sample.filter((one) => one.firstSnowDate === null).length / sample.length;

/** @param p50Date by which the job is finished with an even chance; null answers are unknown */
export function isLikelyReady(p50Date: string | null, readyBy: string | null): boolean | null {
  return p50Date === null || readyBy === null ? null : p50Date <= readyBy;
}

/** Whether the records tell anything of this season's first snow: a station may have too few for that. */
export const snowIsKnown = ({ sample, happenedDate }: Pick<SnowOutlook, 'sample' | 'happenedDate'>): boolean =>
  sample.length > 0 || happenedDate !== null;

/**
 * The chance that a job finished on a day is ready: that the first snow comes no earlier than that day and the margin.
 * The finish is taken as sure here; the snow is not. After the end of the season nothing is.
 */
export function probabilityReady(
  outlook: SnowOutlook,
  finishedDate: string | null,
  season: { marginDays: number; endDate: string | null },
): number | null {
  if (finishedDate === null || !snowIsKnown(outlook)) return null;
  if (season.endDate !== null && finishedDate > season.endDate) return 0;
  return 1 - probabilityOfSnowBy(outlook, addDays(finishedDate, season.marginDays - 1));
}

/**
 * The last minute at which a job may be finished to be ready for a first snow on `day`: the end of the day so many before; in
 * a winter without, the end of the season.
 */
export function lastReadyMinute(
  day: string | null,
  { marginDays, endDate }: Pick<PlanSeason, 'marginDays' | 'endDate'>,
  local: LocalMinutes,
): number {
  if (day === null) return endDate === null ? Infinity : local.endOfDay(endDate) - 1;
  return local.midnight(local.offsetOf(day) - marginDays + 1) - 1;
}

import { isoDay, monthDay, onYear, yearOf } from '../days.js';
import { EngineError } from '../error.js';
import type { StationDay, StationRecord } from './record.js';

export type Measure = 'snowfallMillimetres' | 'lowCelsius' | 'highCelsius' | 'precipitationMillimetres';

/** What is looked for once in every season: the first day with an inch of snow, the last day of frost. */
export interface EventRule {
  measure: Measure;
  compare: 'atLeast' | 'atMost';
  value: number;
  pick: 'first' | 'last';
  /** Days of the year, MM-DD; a season may reach over New Year. The end is the day before the start when absent. */
  seasonStart: string;
  seasonEnd?: string;
  /**
   * The stretch that must have been observed for the season to say anything. All of it counts, not only the days
   * before the event: leaving out seasons by what went missing before a late event would make early ones too common.
   */
  watchFrom: string;
  watchTo: string;
  /** A season with a larger share of the watched days missing is left out. */
  maxMissingShare: number;
}

/**
 * First day of a winter with so much new snow. One inch is 25, not 25.4, since stations store whole millimetres.
 * @param thresholdMillimetres above 0: a trace is never an event
 * @param latitude of the station; south of the equator the winter lies half a year apart
 */
export function firstSnowRule(thresholdMillimetres: number, latitude = 45): EventRule {
  return {
    measure: 'snowfallMillimetres',
    compare: 'atLeast',
    value: thresholdMillimetres,
    pick: 'first',
    ...(latitude < 0
      ? { seasonStart: '01-01', watchFrom: '03-01', watchTo: '07-31' }
      : { seasonStart: '07-01', watchFrom: '09-01', watchTo: '01-31' }),
    maxMissingShare: 0.1,
  };
}

/**
 * Last day of a spring that falls to so many degrees, from when lawn machines are wanted.
 * @param latitude as for the first snow
 */
export function lastFrostRule(celsius = 0, latitude = 45): EventRule {
  return {
    measure: 'lowCelsius',
    compare: 'atMost',
    value: celsius,
    pick: 'last',
    ...(latitude < 0
      ? { seasonStart: '07-01', seasonEnd: '01-31', watchFrom: '09-01', watchTo: '12-15' }
      : { seasonStart: '01-01', seasonEnd: '07-31', watchFrom: '03-01', watchTo: '06-15' }),
    maxMissingShare: 0.1,
  };
}

/** `none`: observed to its end without an event. `running`: the record ends inside it, no event yet. */
export type SeasonStatus = 'event' | 'none' | 'running' | 'excluded';

interface ObservedSeason {
  /** Such as 2025-26, or 2026 when it lies in one year. */
  label: string;
  startYear: number;
  startDate: string;
  endDate: string;
  watchedDays: number;
  missingDays: number;
}

interface SeenEvent {
  eventDate: string;
  /** Days from the season's start to the event, 0 on its first day. */
  dayOfSeason: number;
  /** What was measured on the event's day. */
  amount: number | null;
}
type NoEvent = { [K in keyof SeenEvent]: null };

export type SeasonWithEvent = ObservedSeason & SeenEvent & { status: 'event'; knownToDayOfSeason: null; reason: null };

/** What a season tells of the event; an excluded one has the first event seen, if any, and why it is left out. */
export type Season =
  | SeasonWithEvent
  | (ObservedSeason & NoEvent & { status: 'none'; knownToDayOfSeason: null; reason: null })
  /** With the last day of season known to be without an event. */
  | (ObservedSeason & NoEvent & { status: 'running'; knownToDayOfSeason: number; reason: null })
  | (ObservedSeason & (SeenEvent | NoEvent) & { status: 'excluded'; knownToDayOfSeason: null; reason: string });

/** The first and last day numbers of the season that starts in a year. */
export function seasonSpan(
  rule: Pick<EventRule, 'seasonStart' | 'seasonEnd'>,
  startYear: number,
): { start: number; end: number } {
  const start = onYear(monthDay(rule.seasonStart, 'seasonStart'), startYear);
  if (rule.seasonEnd === undefined) return { start, end: onYear(monthDay(rule.seasonStart), startYear + 1) - 1 };
  const end = monthDay(rule.seasonEnd, 'seasonEnd');
  const sameYear = onYear(end, startYear);
  return { start, end: sameYear > start ? sameYear : onYear(end, startYear + 1) };
}

/** How a season is called. */
export function seasonLabel(rule: Pick<EventRule, 'seasonStart' | 'seasonEnd'>, startYear: number): string {
  const endYear = yearOf(seasonSpan(rule, startYear).end);
  return endYear === startYear ? String(startYear) : `${startYear}-${String(endYear % 100).padStart(2, '0')}`;
}

/** The year in which the season that holds, or next follows, a day starts. */
export function seasonStartYear(rule: Pick<EventRule, 'seasonStart' | 'seasonEnd'>, number: number): number {
  const year = yearOf(number);
  return number <= seasonSpan(rule, year - 1).end ? year - 1 : number <= seasonSpan(rule, year).end ? year : year + 1;
}

/** @throws EngineError `bad-rule`, `bad-month-day` */
export function validateRule(rule: EventRule): void {
  const fail = (message: string, path: string): never => {
    throw new EngineError('bad-rule', message, path);
  };
  if (!Number.isFinite(rule.value)) fail('the threshold must be a number', 'value');
  if (rule.measure === 'snowfallMillimetres' && (rule.compare !== 'atLeast' || rule.value <= 0)) {
    fail('a snowfall threshold must be above 0 and be reached from below: a trace is never an event', 'value');
  }
  if (!(rule.maxMissingShare >= 0 && rule.maxMissingShare <= 1))
    fail('must be a share between 0 and 1', 'maxMissingShare');
  // Leap and common years alike: 2000 and 2001.
  for (const year of [2000, 2001]) {
    const { start, end } = seasonSpan(rule, year);
    const watched = watchSpan(rule, year);
    if (watched.from > watched.to || watched.from < start || watched.to > end)
      fail('the watched days must lie inside the season', 'watchFrom');
  }
}

/** Every season that holds any observation, in order. The answer says for each what it tells and why. */
export function findSeasons(record: StationRecord, rule: EventRule): Season[] {
  validateRule(rule);
  const known: number[] = [];
  for (const [number, one] of record.byDate) if (one[rule.measure] !== null) known.push(number);
  if (known.length === 0) return [];
  const firstKnown = known.reduce((a, b) => Math.min(a, b));
  const lastKnown = known.reduce((a, b) => Math.max(a, b));
  const seasons: Season[] = [];
  const lastYear = seasonStartYear(rule, lastKnown);
  for (let year = seasonStartYear(rule, firstKnown); year <= lastYear; year += 1)
    seasons.push(readSeason(record, rule, year, lastKnown));
  return seasons;
}

function readSeason(record: StationRecord, rule: EventRule, startYear: number, lastKnown: number): Season {
  const { start, end } = seasonSpan(rule, startYear);
  const event = findEvent(record, rule, start, end);
  const watch = watchSpan(rule, startYear);
  // What lies after the record's end is not missing; it has not come yet.
  const watchTo = Math.min(watch.to, lastKnown);
  const watchedDays = Math.max(0, watchTo - watch.from + 1);
  let missingDays = 0;
  for (let number = watch.from; number <= watchTo; number += 1)
    if (valueOn(record, rule, number) === null) missingDays += 1;
  const complete = lastKnown >= end;
  const observed: ObservedSeason = {
    label: seasonLabel(rule, startYear),
    startYear,
    startDate: isoDay(start),
    endDate: isoDay(end),
    watchedDays,
    missingDays,
  };
  const seen =
    event === undefined
      ? noEvent
      : { eventDate: isoDay(event), dayOfSeason: event - start, amount: valueOn(record, rule, event) };
  if (missingDays > rule.maxMissingShare * watchedDays) {
    const reason =
      `${missingDays} of the ${watchedDays} days from ${isoDay(watch.from)} to ${isoDay(watchTo)} ` +
      `are missing, more than ${Math.round(rule.maxMissingShare * 100)} %`;
    return { ...observed, ...seen, status: 'excluded', knownToDayOfSeason: null, reason };
  }
  // The last event of an unfinished season is not known yet, whatever has been seen.
  if (seen.eventDate !== null && (rule.pick === 'first' || complete))
    return { ...observed, ...seen, status: 'event', knownToDayOfSeason: null, reason: null };
  return complete
    ? { ...observed, ...noEvent, status: 'none', knownToDayOfSeason: null, reason: null }
    : { ...observed, ...noEvent, status: 'running', knownToDayOfSeason: lastKnown - start, reason: null };
}

const noEvent: NoEvent = { eventDate: null, dayOfSeason: null, amount: null };

function watchSpan(rule: EventRule, startYear: number): { from: number; to: number } {
  const { start } = seasonSpan(rule, startYear);
  const inSeason = (text: string, path: string): number => {
    const day = monthDay(text, path);
    const number = onYear(day, startYear);
    return number >= start ? number : onYear(day, startYear + 1);
  };
  return { from: inSeason(rule.watchFrom, 'watchFrom'), to: inSeason(rule.watchTo, 'watchTo') };
}

function findEvent(record: StationRecord, rule: EventRule, start: number, end: number): number | undefined {
  const step = rule.pick === 'first' ? 1 : -1;
  for (let number = step === 1 ? start : end; number >= start && number <= end; number += step) {
    const value = valueOn(record, rule, number);
    if (value !== null && (rule.compare === 'atLeast' ? value >= rule.value : value <= rule.value)) return number;
  }
  return undefined;
}

function valueOn(record: StationRecord, rule: EventRule, number: number): number | null {
  const day: StationDay | undefined = record.byDate.get(number);
  return day?.[rule.measure] ?? null;
}

import { dayNumber, isoDay } from '../days.js';
import { EngineError } from '../error.js';
import { last } from '../look-up.js';
import { type Bootstrap, bootstrapQuantiles } from './bootstrap.js';
import { type EventRule, type Season, seasonLabel, seasonSpan, type SeasonWithEvent } from './first-event.js';
import { productLimit, type ProductLimitStep, ranksOf, survivalAfter, type Watched } from './product-limit.js';
import { DEFAULT_QUANTILE_TYPE, type QuantileType, rankedQuantile } from './quantile.js';
import { findTrend, type Trend } from './trend.js';

/** What the seasons on record say about the day of the event. */
export interface EventDistribution {
  pick: 'first' | 'last';
  /** One per season used. Time is the day of season; for a last event it runs backwards, so that it comes first. */
  watched: Watched[];
  steps: ProductLimitStep[];
}

/**
 * The product-limit estimate over seasons: a season without an event says "not by the end", one still running says
 * "not so far", an excluded one says nothing.
 */
export function eventDistribution(seasons: readonly Season[], pick: EventRule['pick'] = 'first'): EventDistribution {
  const watched = seasons.flatMap((season): Watched[] => {
    const length = dayNumber(season.endDate) - dayNumber(season.startDate) + 1;
    if (season.status === 'excluded') return [];
    if (season.status === 'event')
      return [{ time: pick === 'first' ? season.dayOfSeason : -season.dayOfSeason, event: true }];
    // No last event: it lies, if anywhere, before the season's start.
    if (season.status === 'none') return [{ time: pick === 'first' ? length : 1, event: false }];
    return pick === 'first' ? [{ time: season.knownToDayOfSeason, event: false }] : [];
  });
  return { pick, watched, steps: productLimit(watched) };
}

/** What remains likely when no first event has come up to and including a day of season. */
export function givenNoneBy(distribution: EventDistribution, dayOfSeason: number): EventDistribution {
  if (distribution.pick === 'last') throw new EngineError('bad-rule', 'only a first event can be waited for', 'pick');
  const watched = distribution.watched.filter((one) => one.time > dayOfSeason);
  return { ...distribution, watched, steps: productLimit(watched) };
}

/** Chance that the event (the last of its kind, for a last event) has come by the end of a day of season. */
export function probabilityBy(distribution: EventDistribution, dayOfSeason: number): number {
  return distribution.pick === 'first'
    ? 1 - survivalAfter(distribution.steps, dayOfSeason)
    : survivalAfter(distribution.steps, -dayOfSeason - 1);
}

/** The day of season by which the event has come with chance `p`; undefined when it lies outside the season. */
export function eventQuantile(
  distribution: EventDistribution,
  p: number,
  type: QuantileType = DEFAULT_QUANTILE_TYPE,
): number | undefined {
  const { points, count } = ranksOf(distribution.steps);
  if (distribution.pick === 'first') return rankedQuantile(points, count, p, type);
  const reversed = rankedQuantile(points, count, 1 - p, type);
  return reversed === undefined ? undefined : -reversed;
}

export interface OutlookQuestion {
  rule: EventRule;
  /** From `findSeasons` with the same rule. */
  seasons: readonly Season[];
  /** The season asked about, by the year it starts in. */
  startYear: number;
  /** No event is known up to and including this day; ask given that. Leave out to ask before the season. */
  noneByDate?: string | null;
  probabilities?: readonly number[];
  quantileType?: QuantileType;
  /** Days whose chance is wanted. */
  days?: readonly string[];
  /** What a trend is looked for in, where the outlook itself is told from fewer; `seasons` when absent. */
  trendSeasons?: readonly Season[];
  /** Seeded; intervals are left out when absent. */
  bootstrap?: Bootstrap;
}

export interface OutlookQuantile {
  probability: number;
  /** Rounded to the nearest day; null when the event stays away longer than the season in that share of years. */
  day: string | null;
  dayOfSeason: number | null;
  /** Bootstrap interval; null beyond the season or when not asked for. */
  earliestLikelyDate: string | null;
  latestLikelyDate: string | null;
}

export interface Outlook {
  seasonLabel: string;
  startDate: string;
  endDate: string;
  quantileType: QuantileType;
  /** Set when the record already holds the event of the season asked about. */
  happenedDate: string | null;
  used: { event: number; none: number; running: number };
  excluded: { label: string; reason: string }[];
  /** Of the seasons used, those that also had none by `noneByDate`; all of them when it was not given. */
  seasonsAlike: number;
  earliest: { day: string; label: string } | null;
  latest: { day: string; label: string } | null;
  /** Given none by `noneByDate`, when given. Empty when no season on record is alike. */
  quantiles: OutlookQuantile[];
  probabilities: { day: string; probability: number | null }[];
  /** Chance that it has come by the end of each day on which it rises, and on the season's first and last day. */
  curve: { day: string; probability: number }[];
  /** Chance that the season passes without. */
  probabilityNever: number | null;
  trend: Trend;
  reasons: string[];
}

/**
 * When the event of one season is to be expected, from all others.
 * @throws EngineError `bad-rule`, `bad-day`, `out-of-range`
 */
export function eventOutlook(question: OutlookQuestion): Outlook {
  const {
    rule,
    seasons,
    startYear,
    quantileType = DEFAULT_QUANTILE_TYPE,
    probabilities = [0.1, 0.25, 0.5, 0.75, 0.9],
  } = question;
  const { start, end } = seasonSpan(rule, startYear);
  const others = seasons.filter((season) => season.startYear !== startYear);
  const own = seasons.find((season) => season.startYear === startYear);
  const all = eventDistribution(others, rule.pick);
  const noneBy = question.noneByDate
    ? Math.min(dayNumber(question.noneByDate, 'noneByDate') - start, end - start)
    : undefined;
  const distribution = noneBy === undefined || noneBy < 0 ? all : givenNoneBy(all, noneBy);
  const dayOf = (dayOfSeason: number | undefined): string | null =>
    dayOfSeason === undefined || dayOfSeason === Infinity ? null : isoDay(start + Math.floor(dayOfSeason + 0.5));
  const alike = distribution.watched.length;
  const intervals =
    question.bootstrap && alike > 0
      ? bootstrapQuantiles(distribution.watched, probabilities, quantileType, rule.pick, question.bootstrap)
      : [];
  const quantiles =
    alike === 0
      ? []
      : probabilities.map((probability, k): OutlookQuantile => {
          const value = eventQuantile(distribution, probability, quantileType);
          const interval = intervals[k];
          return {
            probability,
            day: dayOf(value),
            dayOfSeason: value ?? null,
            earliestLikelyDate: dayOf(interval?.low),
            latestLikelyDate: dayOf(interval?.high),
          };
        });
  const withEvent = others.filter((season) => season.status === 'event').sort((a, b) => a.dayOfSeason - b.dayOfSeason);
  const named = (season: SeasonWithEvent | undefined) =>
    season ? { day: season.eventDate, label: season.label } : null;
  const count = (status: Season['status']): number => others.filter((season) => season.status === status).length;
  const trend = findTrend(
    trendPoints(
      (question.trendSeasons ?? others).filter((season) => season.startYear !== startYear),
      rule.pick,
    ),
  );
  return {
    seasonLabel: seasonLabel(rule, startYear),
    startDate: isoDay(start),
    endDate: isoDay(end),
    quantileType,
    happenedDate: own?.status === 'event' ? own.eventDate : null,
    used: { event: count('event'), none: count('none'), running: rule.pick === 'first' ? count('running') : 0 },
    excluded: others.filter((season) => season.status === 'excluded').map(({ label, reason }) => ({ label, reason })),
    seasonsAlike: alike,
    earliest: named(withEvent[0]),
    latest: named(withEvent.at(-1)),
    quantiles,
    probabilities: (question.days ?? []).map((day) => ({
      day,
      probability: alike === 0 ? null : probabilityBy(distribution, dayNumber(day, 'days') - start),
    })),
    curve: alike === 0 ? [] : curveOf(distribution, start, end),
    probabilityNever:
      alike === 0
        ? null
        : rule.pick === 'first'
          ? 1 - probabilityBy(distribution, end - start)
          : probabilityBy(distribution, -1),
    trend,
    reasons: explain(question, others, alike, trend),
  };
}

function curveOf(distribution: EventDistribution, start: number, end: number): { day: string; probability: number }[] {
  const days = new Set([0, end - start]);
  for (const { time } of distribution.steps) days.add(distribution.pick === 'first' ? time : -time);
  return [...days]
    .sort((a, b) => a - b)
    .map((day) => ({ day: isoDay(start + day), probability: probabilityBy(distribution, day) }));
}

function trendPoints(seasons: readonly Season[], pick: EventRule['pick']): { year: number; value: number }[] {
  return seasons.flatMap((season) => {
    if (season.status === 'event') return [{ year: season.startYear, value: season.dayOfSeason }];
    return season.status === 'none' ? [{ year: season.startYear, value: pick === 'first' ? Infinity : -Infinity }] : [];
  });
}

function explain(question: OutlookQuestion, others: readonly Season[], alike: number, trend: Trend): string[] {
  const used = others.filter((season) => season.status === 'event' || season.status === 'none');
  const excluded = others.filter((season) => season.status === 'excluded').length;
  const none = used.filter((season) => season.status === 'none').length;
  if (used.length === 0) return ['No season on record was observed well enough to say anything.'];
  const span =
    used.length === 1
      ? `The season ${used[0]!.label} was`
      : `${used.length} seasons from ${used[0]!.label} to ${last(used).label} were`;
  const reasons = [
    `${span} observed well enough${excluded > 0 ? `; ${excluded} ${excluded === 1 ? 'was' : 'were'} not` : ''}.`,
  ];
  if (none > 0) reasons.push(`${none} of them passed without one and count as "not by the end".`);
  if (question.noneByDate) {
    reasons.push(
      alike === 0
        ? `No season on record had none by ${question.noneByDate}, so the record cannot say.`
        : `${alike} of them also had none by ${question.noneByDate}; the chances are computed from those.`,
    );
  }
  if (trend.sentence) reasons.push(trend.sentence);
  return reasons;
}

/** When the first snow is to be expected, from a station's record. Pure. */
import {
  type Backtest,
  backtestSeasons,
  eventOutlook,
  type EventRule,
  findSeasons,
  firstSnowRule,
  type QuantileType,
  type Season,
  seasonSpan,
  seasonStartYear,
} from '../engine/weather/index.js';
import { addDays, dayAt, numberOfDay } from '../platform/days.js';
import { type PackedWeather, type StationWeather, unpacked } from './stations/station-record.js';

/** Intervals are drawn anew with the same seed, so that the same records give the same answer. */
export const bootstrapSeed = 1;

/** Beside all seasons, as many as describe a climate by the custom of the World Meteorological Organization. */
const usualSeasons = 30;

export interface SnowQuestion {
  weather: PackedWeather;
  thresholdMillimetres: number;
  today: string;
  /** Month and day, such as `03-15`. */
  seasonEndMonthDay: string;
  /** So many of the latest seasons tell of the coming one; all of them when null. */
  latestSeasons?: number | null;
}

export interface Asked {
  rule: EventRule;
  /** Those that tell of the season asked about, and it itself. */
  seasons: Season[];
  /** All on record. */
  allSeasons: Season[];
  startYear: number;
  /** The day up to which none has fallen, while the season asked about runs without. */
  noneByDate: string | null;
}

/** Which season is meant: the one that runs, until the shop's season is over; then the next. */
function askedSeason(weather: StationWeather, question: SnowQuestion): Asked {
  const { thresholdMillimetres, today, seasonEndMonthDay, latestSeasons = null } = question;
  const rule = firstSnowRule(thresholdMillimetres, weather.station.latitude);
  const allSeasons = findSeasons(weather.record, rule);
  const running = seasonStartYear(rule, numberOfDay(today));
  // Days of the year in the order of a season, which may reach over New Year.
  const place = (monthDay: string) => `${monthDay < rule.seasonStart ? 1 : 0} ${monthDay}`;
  const isOver = place(today.slice(5)) > place(seasonEndMonthDay);
  const startYear = isOver ? running + 1 : running;
  const own = allSeasons.find((season) => season.startYear === startYear);
  const seasons =
    latestSeasons === null ? allSeasons : allSeasons.filter((season) => season.startYear >= startYear - latestSeasons);
  const hasFallen = own?.status === 'event' && own.eventDate <= today;
  const yesterday = addDays(today, -1);
  const hasBegun = numberOfDay(yesterday) >= seasonSpan(rule, startYear).start;
  return { rule, seasons, allSeasons, startYear, noneByDate: hasBegun && !hasFallen ? yesterday : null };
}

export interface SnowOutlook {
  /** Null when no station has snowfall on record; then nothing below is known. */
  stationName: string | null;
  seasonLabel: string | null;
  /** The year in which the season asked about begins. */
  startYear: number | null;
  /** None has fallen up to and with this day; null before the season and once it has. */
  noneByDate: string | null;
  thresholdMillimetres: number;
  /** The day it fell, when the season asked about already has its first snow. */
  happenedDate: string | null;
  /** Given that none has fallen so far; the day itself once it has. */
  medianDate: string | null;
  quantileDays: { probability: number; day: string | null }[];
  /** Chance that it has fallen by the end of each day on which the chance rises, in order. */
  curve: { day: string; probability: number }[];
  /**
   * Each past season that could be this one, named by the year it began in, with its first snow laid onto this
   * season; null when it passed without. To be drawn from with equal weight.
   */
  sample: { weatherYear: number; firstSnowDate: string | null }[];
  /** The first snow of each season on record that had one, on its own date, oldest first. */
  pastDates: string[];
  reasons: string[];
}

export const unknownSnow = (thresholdMillimetres: number): SnowOutlook => ({
  stationName: null,
  seasonLabel: null,
  startYear: null,
  noneByDate: null,
  thresholdMillimetres,
  happenedDate: null,
  medianDate: null,
  quantileDays: [],
  curve: [],
  sample: [],
  pastDates: [],
  reasons: ['No weather station has daily snowfall on record, so nothing is known about the first snow.'],
});

export const snowOutlookOf = (question: SnowQuestion): SnowOutlook => outlookAndSeasons(question).outlook;

/** The outlook, with the seasons it rests on. */
export function outlookAndSeasons(question: SnowQuestion): { outlook: SnowOutlook; asked: Asked } {
  const weather = unpacked(question.weather);
  const asked = askedSeason(weather, question);
  const found = eventOutlook({ ...asked, trendSeasons: asked.allSeasons });
  const happenedDate = found.happenedDate !== null && found.happenedDate <= question.today ? found.happenedDate : null;
  const outlook = {
    stationName: weather.station.name,
    seasonLabel: found.seasonLabel,
    startYear: asked.startYear,
    noneByDate: asked.noneByDate,
    thresholdMillimetres: question.thresholdMillimetres,
    happenedDate,
    medianDate: happenedDate ?? found.quantiles.find((one) => one.probability === 0.5)?.day ?? null,
    quantileDays: found.quantiles.map(({ probability, day: at }) => ({ probability, day: happenedDate ?? at })),
    curve: happenedDate ? [{ day: happenedDate, probability: 1 }] : found.curve,
    sample: sampleOf(asked, happenedDate),
    pastDates: asked.seasons.flatMap((season) =>
      season.status === 'event' && season.eventDate <= question.today ? [season.eventDate] : [],
    ),
    reasons: [...reasonsOf(question, weather, asked, happenedDate), ...found.reasons],
  };
  return { outlook, asked };
}

/** Chance that it has snowed by the end of a day, from an outlook's curve. */
export const probabilityOfSnowBy = (outlook: Pick<SnowOutlook, 'curve'>, at: string): number =>
  outlook.curve.findLast((point) => point.day <= at)?.probability ?? 0;

function sampleOf({ rule, seasons, startYear, noneByDate }: Asked, happenedDate: string | null): SnowOutlook['sample'] {
  const { start } = seasonSpan(rule, startYear);
  const passed = noneByDate === null ? -1 : numberOfDay(noneByDate) - start;
  return seasons
    .filter(
      (season) =>
        season.startYear !== startYear &&
        (season.status === 'none' ||
          (season.status === 'event' && (happenedDate !== null || season.dayOfSeason > passed))),
    )
    .map((season) => ({
      weatherYear: season.startYear,
      firstSnowDate: happenedDate ?? (season.status === 'event' ? dayAt(start + season.dayOfSeason) : null),
    }));
}

function reasonsOf(
  { today, latestSeasons = null }: SnowQuestion,
  { station, record }: StationWeather,
  { noneByDate, seasons, allSeasons }: Asked,
  happenedDate: string | null,
): string[] {
  const reasons = [
    `${station.name}, ${station.distanceKilometres} km away, has records up to ${dayAt(record.lastDayNumber)}.`,
    ...station.choiceReasons,
  ];
  if (latestSeasons !== null && seasons.length < allSeasons.length)
    reasons.push(
      `It is told from the latest ${latestSeasons} seasons alone, as the shop has set it; ` +
        `${allSeasons.length - seasons.length} earlier ones are left out.`,
    );
  if (happenedDate) reasons.push(`It fell on ${happenedDate}.`);
  // A record that stops before yesterday says nothing about the days since.
  else if (noneByDate && dayAt(record.lastDayNumber) < noneByDate)
    reasons.push(
      `No record tells of the days since; none is taken to have fallen up to ${noneByDate}, seen from ${today}.`,
    );
  return reasons;
}

/** The answer to a person: the season's whole distribution, and given that none has fallen so far. */
export function firstSnowOf({
  quantileType,
  byDays,
  ...asking
}: SnowQuestion & { quantileType: QuantileType; byDays: string[] }) {
  const weather = unpacked(asking.weather);
  const asked = askedSeason(weather, asking);
  const question = {
    rule: asked.rule,
    seasons: asked.seasons,
    trendSeasons: asked.allSeasons,
    startYear: asked.startYear,
    quantileType,
    days: byDays,
    bootstrap: { seed: bootstrapSeed },
  };
  const outlook = eventOutlook(question);
  const given = asked.noneByDate ? eventOutlook({ ...question, noneByDate: asked.noneByDate }) : null;
  const listed = asked.seasons.map((season) => ({
    label: season.label,
    status: season.status,
    day: season.eventDate,
    millimetres: season.amount,
    reason: season.reason,
  }));
  const named = (one: { label: string } | null) =>
    one ? (listed.find((season) => season.label === one.label) ?? null) : null;
  const { station } = weather;
  const backtest = backtestSeasons(asked.allSeasons, asking.latestSeasons ?? usualSeasons, { quantileType });
  return {
    ...outlook,
    stationId: station.id,
    stationName: station.name,
    distanceKilometres: station.distanceKilometres,
    thresholdMillimetres: asking.thresholdMillimetres,
    seasonsWithSnow: outlook.used.event,
    seasonsWithout: outlook.used.none,
    seasonsRunning: outlook.used.running,
    seasons: listed,
    earliest: named(outlook.earliest),
    latest: named(outlook.latest),
    latestSeasons: asking.latestSeasons ?? null,
    trend: outlook.trend.sentence,
    trendPValue: outlook.trend.pValue,
    backtest,
    noneSoFar: given && asked.noneByDate ? { ...given, noneByDate: asked.noneByDate } : null,
    reasons: [
      ...reasonsOf(asking, weather, asked, outlook.happenedDate),
      ...(given ?? outlook).reasons,
      ...backtestWords(backtest),
    ],
  };
}

/** What either way of telling would have been worth, in words. */
function backtestWords(backtest: Backtest | null): string[] {
  if (!backtest) return [];
  const { seasons, latestSeasons, all, latest } = backtest;
  const score = (one: Backtest['all']): string =>
    `the median missed by ${one.medianMissDays.toFixed(1)} days in the mean, ` +
    `and ${Math.round(100 * one.within80Share)} % came between the tenth and the ninetieth percentile`;
  const better =
    Math.abs(all.lossDays - latest.lossDays) < 0.02 * all.lossDays
      ? 'Neither is clearly better.'
      : `${all.lossDays < latest.lossDays ? 'All seasons are' : `The latest ${latestSeasons} are`} the better guide here.`;
  return [
    `Put to the test on ${seasons} past seasons, each told from those before it alone: from all of them ${score(all)}; ` +
      `from the latest ${latestSeasons}, ${score(latest)}. ${better}`,
  ];
}

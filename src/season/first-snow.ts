/** When the first snow is to be expected, from a station's record. Pure. */
import {
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

export interface SnowQuestion {
  weather: PackedWeather;
  thresholdMillimetres: number;
  today: string;
  /** Month and day, such as `03-15`. */
  seasonEndMonthDay: string;
}

export interface Asked {
  rule: EventRule;
  seasons: Season[];
  startYear: number;
  /** The day up to which none has fallen, while the season asked about runs without. */
  noneByDate: string | null;
}

/** Which season is meant: the one that runs, until the shop's season is over; then the next. */
function askedSeason(weather: StationWeather, { thresholdMillimetres, today, seasonEndMonthDay }: SnowQuestion): Asked {
  const rule = firstSnowRule(thresholdMillimetres, weather.station.latitude);
  const seasons = findSeasons(weather.record, rule);
  const running = seasonStartYear(rule, numberOfDay(today));
  // Days of the year in the order of a season, which may reach over New Year.
  const place = (monthDay: string) => `${monthDay < rule.seasonStart ? 1 : 0} ${monthDay}`;
  const isOver = place(today.slice(5)) > place(seasonEndMonthDay);
  const startYear = isOver ? running + 1 : running;
  const own = seasons.find((season) => season.startYear === startYear);
  const hasFallen = own?.status === 'event' && own.eventDate <= today;
  const yesterday = addDays(today, -1);
  const hasBegun = numberOfDay(yesterday) >= seasonSpan(rule, startYear).start;
  return { rule, seasons, startYear, noneByDate: hasBegun && !hasFallen ? yesterday : null };
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
  const found = eventOutlook(asked);
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
  { today }: SnowQuestion,
  { station, record }: StationWeather,
  { noneByDate }: Asked,
  happenedDate: string | null,
): string[] {
  const reasons = [
    `${station.name}, ${station.distanceKilometres} km away, has records up to ${dayAt(record.lastDayNumber)}.`,
    ...station.choiceReasons,
  ];
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
    trend: outlook.trend.sentence,
    noneSoFar: given && asked.noneByDate ? { ...given, noneByDate: asked.noneByDate } : null,
    reasons: [...reasonsOf(asking, weather, asked, outlook.happenedDate), ...(given ?? outlook).reasons],
  };
}

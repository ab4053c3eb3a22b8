/** When the first snow is to be expected: asked by a person, and by the plan. */
import { z } from 'zod';
import { eventOutlook, findSeasons, firstSnowRule, seasonSpan, seasonStartYear, type EventRule, type Outlook, type QuantileType as Type, type Season } from '../engine/weather/index.js';
import { Refused } from '../platform/errors.js';
import { query, type Call } from '../platform/operation/operation.js';
import { day, decimal, id } from '../platform/shapes.js';
import { addDays, dayAt, numberOfDay } from '../platform/days.js';
import { FirstSnow, QuantileType } from './season.shapes.js';
import { stationWeather, type StationWeather } from './weather-record.js';

/** Intervals are drawn anew with the same seed, so that the same records give the same answer. */
export const bootstrapSeed = 1;

interface Asked {
  rule: EventRule;
  seasons: Season[];
  startYear: number;
  /** The day up to which none has fallen, while the season asked about runs without. */
  noneByDay: string | null;
}

/**
 * Which season is meant: the one that runs, until the shop's season is over; then the next.
 * @param seasonEndsOn month and day, such as `03-15`
 */
function askedSeason(weather: StationWeather, thresholdMillimetres: number, today: string, seasonEndsOn: string): Asked {
  const rule = firstSnowRule(thresholdMillimetres, weather.station.latitude);
  const seasons = findSeasons(weather.record, rule);
  const running = seasonStartYear(rule, numberOfDay(today));
  // Days of the year in the order of a season, which may reach over New Year.
  const place = (monthDay: string) => `${monthDay < rule.seasonStart ? 1 : 0} ${monthDay}`;
  const isOver = place(today.slice(5)) > place(seasonEndsOn);
  const startYear = isOver ? running + 1 : running;
  const own = seasons.find((season) => season.startYear === startYear);
  const hasFallen = own?.status === 'event' && own.eventDay! <= today;
  const yesterday = addDays(today, -1);
  const hasBegun = numberOfDay(yesterday) >= seasonSpan(rule, startYear).start;
  return { rule, seasons, startYear, noneByDay: hasBegun && !hasFallen ? yesterday : null };
}

async function shopSettings(call: Call): Promise<{ threshold: number; seasonEndsOn: string }> {
  const shop = await call.tx.shop.findUniqueOrThrow({ where: { id: call.shop.id }, select: { snowThresholdMillimetres: true, seasonEndsOn: true } });
  return { threshold: Number(shop.snowThresholdMillimetres), seasonEndsOn: shop.seasonEndsOn };
}

export interface SnowOutlook {
  /** Null when there is no station with records; then nothing below is known. */
  stationName: string | null;
  seasonLabel: string | null;
  /** The year in which the season asked about begins. */
  startYear: number | null;
  /** None has fallen up to and with this day; null before the season and once it has. */
  noneByDay: string | null;
  thresholdMillimetres: number;
  /** The day it fell, when the season asked about already has its first snow. */
  happenedDay: string | null;
  /** Given that none has fallen so far; the day itself once it has. */
  medianDay: string | null;
  quantileDays: { probability: number; day: string | null }[];
  /** Chance that it has fallen by the end of each day on which the chance rises, in order. */
  curve: { day: string; chance: number }[];
  /**
   * Each past season that could be this one, named by the year it began in, with its first snow laid onto this
   * season; null when it passed without. To be drawn from with equal weight.
   */
  sample: { weatherYear: number; firstSnowDay: string | null }[];
  why: string[];
}

/** The first snow as the plan reckons with it. Three statements, constant. */
export async function snowOutlook(call: Call): Promise<SnowOutlook> {
  const { threshold, seasonEndsOn } = await shopSettings(call);
  const weather = await stationWeather(call, 'snow');
  if (!weather) {
    const why = ['There is no weather station with records, so nothing is known about the first snow.'];
    return { stationName: null, seasonLabel: null, startYear: null, noneByDay: null, thresholdMillimetres: threshold, happenedDay: null, medianDay: null, quantileDays: [], curve: [], sample: [], why };
  }
  const asked = askedSeason(weather, threshold, call.today, seasonEndsOn);
  const outlook = eventOutlook(asked);
  const happenedDay = outlook.happenedDay !== null && outlook.happenedDay <= call.today ? outlook.happenedDay : null;
  return {
    stationName: weather.station.name,
    seasonLabel: outlook.seasonLabel,
    startYear: asked.startYear,
    noneByDay: asked.noneByDay,
    thresholdMillimetres: threshold,
    happenedDay,
    medianDay: happenedDay ?? outlook.quantiles.find((one) => one.probability === 0.5)?.day ?? null,
    quantileDays: outlook.quantiles.map(({ probability, day: at }) => ({ probability, day: happenedDay ?? at })),
    curve: happenedDay ? [{ day: happenedDay, chance: 1 }] : outlook.curve,
    sample: sampleOf(asked, happenedDay),
    why: [...whyOf(call, weather, asked, happenedDay), ...outlook.why],
  };
}

/** Chance that it has snowed by the end of a day, from an outlook's curve. */
export const chanceOfSnowBy = (outlook: Pick<SnowOutlook, 'curve'>, at: string): number => outlook.curve.findLast((point) => point.day <= at)?.chance ?? 0;

function sampleOf({ rule, seasons, startYear, noneByDay }: Asked, happenedDay: string | null): SnowOutlook['sample'] {
  const { start } = seasonSpan(rule, startYear);
  const passed = noneByDay === null ? -1 : numberOfDay(noneByDay) - start;
  return seasons
    .filter((season) => season.startYear !== startYear && (season.status === 'none' || (season.status === 'event' && (happenedDay !== null || season.dayOfSeason! > passed))))
    .map((season) => ({ weatherYear: season.startYear, firstSnowDay: happenedDay ?? (season.status === 'event' ? dayAt(start + season.dayOfSeason!) : null) }));
}

function whyOf(call: Call, { station, record }: StationWeather, { noneByDay }: Asked, happenedDay: string | null): string[] {
  const why = [`${station.name}, ${station.distanceKilometres} km away, has records up to ${dayAt(record.lastDayNumber)}.`];
  if (happenedDay) why.push(`It fell on ${happenedDay}.`);
  // A record that stops before yesterday says nothing about the days since.
  else if (noneByDay && dayAt(record.lastDayNumber) < noneByDay) why.push(`No record tells of the days since; none is taken to have fallen up to ${noneByDay}, seen from ${call.today}.`);
  return why;
}

export const firstSnowQuery = query({
  name: 'firstSnow',
  summary: 'When the first snow of the season is to be expected, and given that none has fallen so far',
  rest: { method: 'GET', path: '/first-snow' },
  input: z.strictObject({
    stationId: id.nullish().meta({ scalar: 'ID', description: 'The nearest with records unless said.' }),
    thresholdMillimetres: decimal(0.1, 1000).nullish().meta({ scalar: 'Float', description: 'The shop\'s own unless said. One inch is 25, as stations store it; a trace is never an event.' }),
    quantileType: QuantileType.nullish().meta({ description: 'How quantiles are drawn (Hyndman and Fan 1996); medianUnbiased unless said.' }),
    byDays: z.array(day).max(60).nullish().meta({ description: 'Days whose chance is wanted.' }),
  }),
  output: FirstSnow,
  async run(call, input) {
    const settings = await shopSettings(call);
    const weather = await stationWeather(call, 'snow', input.stationId);
    if (!weather || weather.record.byDay.size === 0) throw new Refused('no-station-records', 'No weather station has daily records yet: add a station, then import its days.');
    const threshold = input.thresholdMillimetres ?? settings.threshold;
    const asked = askedSeason(weather, threshold, call.today, settings.seasonEndsOn);
    const question = {
      rule: asked.rule,
      seasons: asked.seasons,
      startYear: asked.startYear,
      quantileType: (input.quantileType ?? 'medianUnbiased') as Type,
      days: input.byDays ?? [],
      bootstrap: { seed: bootstrapSeed },
    };
    const outlook = eventOutlook(question);
    const given = asked.noneByDay ? eventOutlook({ ...question, noneByDay: asked.noneByDay }) : null;
    return { ...answerOf(weather, asked, outlook), thresholdMillimetres: threshold, noneSoFar: given && { ...given, noneByDay: asked.noneByDay }, why: [...whyOf(call, weather, asked, outlook.happenedDay), ...(given ?? outlook).why] };
  },
});

function answerOf({ station }: StationWeather, { seasons }: Asked, outlook: Outlook) {
  const listed = seasons.map((season) => ({ label: season.label, status: season.status, day: season.eventDay, millimetres: season.amount, reason: season.reason }));
  const named = (one: { label: string } | null) => (one ? (listed.find((season) => season.label === one.label) ?? null) : null);
  return {
    ...outlook,
    stationId: station.id,
    stationName: station.name,
    distanceKilometres: station.distanceKilometres,
    seasonsWithSnow: outlook.used.event,
    seasonsWithout: outlook.used.none,
    seasonsRunning: outlook.used.running,
    seasons: listed,
    earliest: named(outlook.earliest),
    latest: named(outlook.latest),
    trend: outlook.trend.sentence,
  };
}

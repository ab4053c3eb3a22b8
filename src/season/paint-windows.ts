/** The stretches of time in which a coat may go on: one expected set, and one for each weather year. Pure. */
import { at as elementAt } from '../engine/look-up.js';
import {
  type MinuteSpan,
  paintDate,
  type PaintDayRefusal,
  paintDays,
  type PaintSettings,
  type StationDay,
  STEP_MINUTES,
  weatherPath,
  weatherYears,
} from '../engine/weather/index.js';
import { dayAt, numberOfDay } from '../platform/days.js';
import { outlookAndSeasons, type SnowOutlook, type SnowQuestion } from './first-snow.js';
import { LocalTime } from './local-time.js';
import { type PackedWeather, type StationWeather, unpacked } from './stations/station-record.js';

/** The latest years that vote on the days to come. */
const votingYears = 20;
const steps = 1440 / STEP_MINUTES;

export interface PaintAhead {
  day: string;
  /** Share of the latest years in which the day can be painted in; null when no year says. */
  probability: number | null;
  /** What most often stands against it, when it is not expected to serve. */
  refusal: PaintDayRefusal | null;
  /** The expected hours, minutes after local midnight. */
  windows: MinuteSpan[];
}

/**
 * The days to come, each expected to serve when it does in at least half of the latest twenty years; its hours are
 * those that qualify in at least half of them. The forecast is the same in every year, so it decides alone.
 */
export function paintAhead(
  { record }: StationWeather,
  forecast: readonly StationDay[],
  startDate: string,
  endDate: string,
  settings: PaintSettings,
): PaintAhead[] {
  const horizon = { startDate, days: numberOfDay(endDate) - numberOfDay(startDate) + 1 };
  const paths = weatherYears(record, horizon)
    .usable.slice(-votingYears)
    .map(({ sourceYear }) => weatherPath(record, horizon, sourceYear, forecast));
  return Array.from({ length: horizon.days }, (_, k): PaintAhead => {
    const number = numberOfDay(startDate) + k;
    const days = paths.map((path) => paintDate(path, number, settings)).filter((one) => one.paintable !== null);
    const fit = days.filter((one) => one.paintable).length;
    const probability = days.length === 0 ? null : fit / days.length;
    if (probability === null || probability < 0.5)
      return { day: dayAt(number), probability, refusal: mostOften(days.map((one) => one.refusal)), windows: [] };
    return { day: dayAt(number), probability, refusal: null, windows: commonHours(days.map((one) => one.windows)) };
  });
}

function commonHours(years: readonly MinuteSpan[][]): MinuteSpan[] {
  const votes = new Uint16Array(steps);
  for (const windows of years) {
    for (const { fromMinute, toMinute } of windows) {
      for (let step = Math.ceil(fromMinute / STEP_MINUTES); (step + 1) * STEP_MINUTES <= toMinute; step += 1)
        votes[step] = (votes[step] ?? 0) + 1;
    }
  }
  const common: MinuteSpan[] = [];
  votes.forEach((count, step) => {
    if (count * 2 < years.length) return;
    const last = common.at(-1);
    if (last && last.toMinute === step * STEP_MINUTES) last.toMinute += STEP_MINUTES;
    else common.push({ fromMinute: step * STEP_MINUTES, toMinute: (step + 1) * STEP_MINUTES });
  });
  return common;
}

function mostOften(refusals: readonly (PaintDayRefusal | null)[]): PaintDayRefusal | null {
  const counts = new Map<PaintDayRefusal, number>();
  for (const one of refusals) if (one) counts.set(one, (counts.get(one) ?? 0) + 1);
  return [...counts].sort((a, b) => b[1] - a[1])[0]?.[0] ?? null;
}

/** What is asked of the paint weather from one day to another, both included. */
export interface PaintQuestion {
  /** Null where no station has records. */
  weather: PackedWeather | null;
  forecast: StationDay[];
  startDate: string;
  endDate: string;
  settings: PaintSettings & { minWindowMinutes: number };
  timeZone: string;
}

/** From and to, alternating, whole minutes since 1970, in order. */
export type PaintSpans = number[];

/**
 * The stretches in which a coat may be expected to go on.
 * @returns every hour the shop is open, when no station tells anything: not knowing the weather must not stop the plan
 */
export function paintWindowsOf({
  weather,
  forecast,
  startDate,
  endDate,
  settings,
  timeZone,
}: PaintQuestion): PaintSpans {
  const spansOn = spansIn(timeZone, settings.minWindowMinutes);
  const ahead = weather ? paintAhead(unpacked(weather), forecast, startDate, endDate, settings) : [];
  if (ahead.some((one) => one.probability !== null)) return ahead.flatMap((one) => spansOn(one.day, one.windows));
  const always = [settings.hours ?? { fromMinute: 0, toMinute: 1440 }];
  return Array.from({ length: numberOfDay(endDate) - numberOfDay(startDate) + 1 }, (_, k) =>
    dayAt(numberOfDay(startDate) + k),
  ).flatMap((day) => spansIn(timeZone, 0)(day, always));
}

function spansIn(timeZone: string, minMinutes: number) {
  const local = new LocalTime(timeZone);
  const minute = (day: string, at: number): number => Math.floor(local.moment(day, at).getTime() / 60_000);
  return (day: string, windows: readonly MinuteSpan[]): PaintSpans =>
    windows
      .filter((one) => one.toMinute - one.fromMinute >= minMinutes)
      .flatMap((one) => [minute(day, one.fromMinute), minute(day, one.toMinute)]);
}

/** One year of the record laid over the days to come: its paint weather and its first snow belong together. */
export interface PaintWeatherYear {
  /** The year of the record in which `startDate` falls. */
  sourceYear: number;
  /** On the calendar of the season asked about; null when that winter passed without. */
  firstSnowDate: string | null;
  windows: PaintSpans;
}

/**
 * Every usable year for a simulation to draw from with equal weight; years in which the first snow had come by now
 * are left out while none has come this season.
 * @returns none when no station has years that reach over the whole stretch
 */
export function paintYearsOf({
  weather,
  forecast,
  startDate,
  endDate,
  settings,
  timeZone,
  snow,
}: PaintQuestion & { snow: SnowQuestion | null }): PaintWeatherYear[] {
  if (!weather || !snow) return [];
  const { record } = unpacked(weather);
  const { outlook, asked } = outlookAndSeasons(snow);
  const horizon = { startDate, days: numberOfDay(endDate) - numberOfDay(startDate) + 1 };
  const spansOn = spansIn(timeZone, settings.minWindowMinutes);
  const tied = weatherYears(record, { ...horizon, event: asked }).usable.map(({ sourceYear, eventDate }) => ({
    sourceYear,
    firstSnowDate: eventDate,
  }));
  return (tied.length > 0 ? tied : paired(weatherYears(record, horizon).usable, outlook.sample)).map(
    ({ sourceYear, firstSnowDate }) => ({
      sourceYear,
      firstSnowDate: outlook.happenedDate ?? firstSnowDate,
      windows: paintDays(weatherPath(record, horizon, sourceYear, forecast), startDate, endDate, settings).flatMap(
        ({ day, windows }) => spansOn(day, windows),
      ),
    }),
  );
}

/** Where the stations that tell of air and of snow have no year in common, their years are put together in order. */
function paired(years: readonly { sourceYear: number }[], winters: SnowOutlook['sample']) {
  return winters.length === 0
    ? []
    : years.map(({ sourceYear }, k) => ({
        sourceYear,
        firstSnowDate: elementAt(winters, k % winters.length).firstSnowDate,
      }));
}

/** The stretches of time in which the plan may apply a coat: one expected set, and one for each weather year. */
import { findSeasons, firstSnowRule, paintDay, paintDays, seasonStartYear, STEP_MINUTES, weatherPath, weatherYears, type MinuteSpan, type PaintDayRefusal, type PaintLimits, type PaintSettings, type StationDay } from '../engine/weather/index.js';
import type { Call } from '../platform/operation/operation.js';
import { dayAt, numberOfDay } from '../platform/days.js';
import { snowOutlook } from './first-snow.queries.js';
import { LocalTime } from './local-time.js';
import { paintingHours, paintingPlace } from './paint-settings.js';
import { forecastFrom, stationWeather, type StationWeather } from './weather-record.js';

/** A stretch must hold so long in one piece to be worth mixing paint for. */
const leastWindowMinutes = 240;
/** The latest years that vote on the days to come. */
const votingYears = 20;
const steps = 1440 / STEP_MINUTES;

export interface PaintAhead {
  day: string;
  /** Share of the latest years in which the day can be painted in; null when no year says. */
  chance: number | null;
  /** What most often stands against it, when it is not expected to serve. */
  refusal: PaintDayRefusal | null;
  /** The expected hours, minutes after local midnight. */
  windows: MinuteSpan[];
}

/**
 * The days to come, each expected to serve when it does in at least half of the latest twenty years; its hours are
 * those that qualify in at least half of them. The forecast is the same in every year, so it decides alone.
 */
export function paintAhead({ record }: StationWeather, forecast: readonly StationDay[], fromDay: string, toDay: string, settings: PaintSettings): PaintAhead[] {
  const horizon = { fromDay, days: numberOfDay(toDay) - numberOfDay(fromDay) + 1 };
  const paths = weatherYears(record, horizon).usable.slice(-votingYears).map(({ sourceYear }) => weatherPath(record, horizon, sourceYear, forecast));
  return Array.from({ length: horizon.days }, (_, k): PaintAhead => {
    const number = numberOfDay(fromDay) + k;
    const days = paths.map((path) => paintDay(path, number, settings)).filter((one) => one.paintable !== null);
    const fit = days.filter((one) => one.paintable).length;
    const chance = days.length === 0 ? null : fit / days.length;
    if (chance === null || chance < 0.5) return { day: dayAt(number), chance, refusal: mostOften(days.map((one) => one.refusal)), windows: [] };
    return { day: dayAt(number), chance, refusal: null, windows: commonHours(days.map((one) => one.windows)) };
  });
}

function commonHours(years: readonly MinuteSpan[][]): MinuteSpan[] {
  const votes = new Uint16Array(steps);
  for (const windows of years) {
    for (const { fromMinute, toMinute } of windows) {
      for (let step = Math.ceil(fromMinute / STEP_MINUTES); (step + 1) * STEP_MINUTES <= toMinute; step += 1) votes[step]! += 1;
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

async function planSettings(call: Call, limits?: PaintLimits): Promise<PaintSettings> {
  const { place } = await paintingPlace(call);
  const shop = await call.tx.shop.findUniqueOrThrow({ where: { id: call.shop.id }, select: { openingHours: true } });
  return { place, limits, hours: paintingHours(shop.openingHours), leastWindowMinutes };
}

/**
 * The stretches in which a coat may be expected to go on, in order, from forecast and climate; one kind of place,
 * the warmest the shop sprays in. A constant number of statements.
 * @param limits the product's; common ones when left out
 * @returns every hour the shop is open, when no station tells anything: not knowing the weather must not stop the plan
 */
export async function paintWindows(call: Call, fromDay: string, toDay: string, limits?: PaintLimits): Promise<{ from: Date; to: Date }[]> {
  const settings = await planSettings(call, limits);
  const weather = await stationWeather(call, 'air');
  const local = new LocalTime(call.shop.timeZone);
  const onDay = (day: string, spans: readonly MinuteSpan[]) => spans.map((span) => ({ from: local.moment(day, span.fromMinute), to: local.moment(day, span.toMinute) }));
  const ahead = weather ? paintAhead(weather, await forecastFrom(call, fromDay), fromDay, toDay, settings) : [];
  if (ahead.some((one) => one.chance !== null)) return ahead.flatMap((one) => onDay(one.day, one.windows.filter((span) => span.toMinute - span.fromMinute >= leastWindowMinutes)));
  const always = [settings.hours ?? { fromMinute: 0, toMinute: 1440 }];
  return Array.from({ length: numberOfDay(toDay) - numberOfDay(fromDay) + 1 }, (_, k) => dayAt(numberOfDay(fromDay) + k)).flatMap((day) => onDay(day, always));
}

/** One year of the record laid over the days to come: its paint weather and its first snow belong together. */
export interface PaintWeatherYear {
  /** The year of the record in which `fromDay` falls. */
  sourceYear: number;
  /** On the calendar of the season asked about; null when that winter passed without. */
  firstSnowDay: string | null;
  windows: { from: Date; to: Date }[];
}

/**
 * Every usable year for a simulation to draw from with equal weight; years in which the first snow had come by now
 * are left out while none has come this season. A constant number of statements.
 * @returns none when no station has years that reach over the whole stretch
 */
export async function paintWeatherYears(call: Call, fromDay: string, toDay: string, limits?: PaintLimits): Promise<PaintWeatherYear[]> {
  const air = await stationWeather(call, 'air');
  const snow = await stationWeather(call, 'snow');
  if (!air || !snow) return [];
  const settings = await planSettings(call, limits);
  const outlook = await snowOutlook(call);
  const forecast = await forecastFrom(call, fromDay);
  const rule = firstSnowRule(outlook.thresholdMillimetres, snow.station.latitude);
  const horizon = { fromDay, days: numberOfDay(toDay) - numberOfDay(fromDay) + 1 };
  const startYear = outlook.startYear ?? seasonStartYear(rule, numberOfDay(fromDay));
  const event = { rule, seasons: findSeasons(snow.record, rule), startYear, noneByDay: outlook.noneByDay };
  const local = new LocalTime(call.shop.timeZone);
  return weatherYears(air.record, { ...horizon, event }).usable.map(({ sourceYear, eventDay }) => ({
    sourceYear,
    firstSnowDay: outlook.happenedDay ?? eventDay,
    windows: paintDays(weatherPath(air.record, horizon, sourceYear, forecast), fromDay, toDay, settings).flatMap(({ day, windows }) =>
      windows.filter((one) => one.toMinute - one.fromMinute >= leastWindowMinutes).map((one) => ({ from: local.moment(day, one.fromMinute), to: local.moment(day, one.toMinute) })),
    ),
  }));
}

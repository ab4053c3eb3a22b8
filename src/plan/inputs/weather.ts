/**
 * The weather as the plan computes with it, and what it does to the coats. Thirty years of days take a while to read and to
 * compute through, and change seldom, so what came of them is kept at hand until the records it rests on, or the day, change.
 */
import { LRUCache } from 'lru-cache';
import type { ClockQuestion, PlaceClock } from '../../finish/age-tables.js';
import type { JobCuring } from '../../finish/curing.js';
import { curing } from '../../finish/curing.queries.js';
import { paintClocks } from '../../finish/paint-clocks.queries.js';
import { addDays } from '../../platform/days.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import type { SnowOutlook } from '../../season/first-snow.js';
import { snowOutlook } from '../../season/first-snow.queries.js';
import { paintWeatherYears, paintWindows } from '../../season/paint-weather.queries.js';
import type { PaintWeatherYear } from '../../season/paint-windows.js';
import { HORIZON_DAYS, type PlanRecords } from './records.js';

interface PlanWeather {
  key: string;
  outlook?: Promise<SnowOutlook>;
  windows?: Promise<PlanRecords['paintWindows']>;
  years?: Promise<PaintWeatherYear[]>;
  cures?: Promise<Map<string, JobCuring>>;
  curesKey?: string;
  clocks?: Promise<PlaceClock[]>;
  clocksKey?: string;
  coatRevision: number;
}

const weatherCache = new LRUCache<string, PlanWeather>({ max: 50 });
const ofCall = new WeakMap<OperationContext, PlanWeather>();

/** Once a call one statement. What a call itself writes about the weather is not seen before it has been committed. */
async function weatherOf(context: OperationContext): Promise<PlanWeather> {
  const known = ofCall.get(context);
  if (known) return known;
  const [row] = await context.tx.$queryRaw<
    { weather: number; coats: number }[]
  >`select "weatherRevision" as weather, "coatRevision" as coats from "PlanRequest" where "shopId" = ${context.shop.id}::uuid`;
  const key = `${row?.weather ?? 0} ${context.today}`;
  let weather = weatherCache.get(context.shop.id);
  // Before anything has been counted (while a shop is filled in one transaction) nothing may be kept.
  if (!row || weather?.key !== key) weather = { key, coatRevision: 0 };
  weather.coatRevision = row?.coats ?? 0;
  if (row) weatherCache.set(context.shop.id, weather);
  ofCall.set(context, weather);
  return weather;
}

export const planSnowOutlook = (context: OperationContext): Promise<SnowOutlook> =>
  kept(context, 'outlook', () => snowOutlook(context));

/** Hours in which a coat may be expected to go on, up to the plan's horizon. */
export const planPaintWindows = (context: OperationContext): Promise<PlanRecords['paintWindows']> =>
  kept(context, 'windows', () => paintWindows(context, context.today, lastPlannedDay(context.today)));

export const planWeatherYears = (context: OperationContext): Promise<PaintWeatherYear[]> =>
  kept(context, 'years', () => paintWeatherYears(context, context.today, lastPlannedDay(context.today)));

/** How the shop's paints age in each of the weather years, and what to expect. */
export async function planClocks(
  context: OperationContext,
  questions: readonly ClockQuestion[],
): Promise<PlaceClock[]> {
  const weather = await weatherOf(context);
  const key = questions.map((one) => one.id).join();
  if (weather.clocksKey !== key) delete weather.clocks;
  weather.clocksKey = key;
  return kept(context, 'clocks', async () =>
    paintClocks(context, {
      clocks: questions,
      days: HORIZON_DAYS,
      sourceYears: (await planWeatherYears(context)).map((year) => year.sourceYear),
    }),
  );
}

const HOUR_MILLISECONDS = 3_600_000;

/** When the paint on each job lets it be assembled. The coats' clocks go on, so it is computed anew each hour. */
export async function planCuring(context: OperationContext, jobIds: string[]): Promise<Map<string, JobCuring>> {
  const weather = await weatherOf(context);
  const key = `${weather.coatRevision} ${Math.floor(context.now.getTime() / HOUR_MILLISECONDS)} ${jobIds.join()}`;
  if (weather.curesKey !== key) delete weather.cures;
  weather.curesKey = key;
  return kept(context, 'cures', () => curing(context, jobIds));
}

async function kept<K extends 'outlook' | 'windows' | 'years' | 'cures' | 'clocks'>(
  context: OperationContext,
  what: K,
  read: () => NonNullable<PlanWeather[K]>,
): Promise<Awaited<NonNullable<PlanWeather[K]>>> {
  const weather = await weatherOf(context);
  const known = weather[what] ?? (weather[what] = read() as PlanWeather[K]);
  try {
    return (await known) as Awaited<NonNullable<PlanWeather[K]>>;
  } catch (error) {
    // A reading that failed with its transaction says nothing about the next.
    if (weather[what] === known) delete weather[what];
    throw error;
  }
}

const lastPlannedDay = (today: string): string => addDays(today, HORIZON_DAYS);

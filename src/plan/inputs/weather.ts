/**
 * The weather as the plan reckons with it, and what it does to the coats. Thirty years of days take a while to read and to
 * reckon through, and change seldom, so what came of them is kept at hand until the records it rests on, or the day, change.
 */
import type { JobCuring } from '../../finish/curing.js';
import { curing } from '../../finish/curing.queries.js';
import { addDays } from '../../platform/days.js';
import type { Call } from '../../platform/operation/operation.js';
import type { SnowOutlook } from '../../season/first-snow.js';
import { snowOutlook } from '../../season/first-snow.queries.js';
import { paintWeatherYears, paintWindows } from '../../season/paint-weather.queries.js';
import type { PaintWeatherYear } from '../../season/paint-windows.js';
import { HORIZON_DAYS, type PlanRecords } from '../model/problem.js';

interface PlanWeather {
  key: string;
  outlook?: Promise<SnowOutlook>;
  windows?: Promise<PlanRecords['paintWindows']>;
  years?: Promise<PaintWeatherYear[]>;
  cures?: Promise<Map<string, JobCuring>>;
  curesKey?: string;
  coatRevision: number;
}

const atHand = new Map<string, PlanWeather>();
const SHOPS_AT_HAND = 50;
const ofCall = new WeakMap<Call, PlanWeather>();

/** Once a call one statement. What a call itself writes about the weather is not seen before it has been committed. */
async function weatherOf(call: Call): Promise<PlanWeather> {
  const known = ofCall.get(call);
  if (known) return known;
  const [row] = await call.tx.$queryRaw<
    { weather: number; coats: number }[]
  >`select "weatherRevision" as weather, "coatRevision" as coats from "PlanRequest" where "shopId" = ${call.shop.id}::uuid`;
  const key = `${row?.weather ?? 0} ${call.today}`;
  let weather = atHand.get(call.shop.id);
  // Before anything has been counted (while a shop is filled in one transaction) nothing may be kept.
  if (!row || weather?.key !== key) weather = { key, coatRevision: 0 };
  weather.coatRevision = row?.coats ?? 0;
  if (row) {
    atHand.delete(call.shop.id);
    atHand.set(call.shop.id, weather);
    if (atHand.size > SHOPS_AT_HAND) atHand.delete(atHand.keys().next().value!);
  }
  ofCall.set(call, weather);
  return weather;
}

export const planSnowOutlook = (call: Call): Promise<SnowOutlook> => kept(call, 'outlook', () => snowOutlook(call));

/** Hours in which a coat may be expected to go on, up to the plan's horizon. */
export const planPaintWindows = (call: Call): Promise<PlanRecords['paintWindows']> =>
  kept(call, 'windows', () => paintWindows(call, call.today, lastPlannedDay(call.today)));

export const planWeatherYears = (call: Call): Promise<PaintWeatherYear[]> =>
  kept(call, 'years', () => paintWeatherYears(call, call.today, lastPlannedDay(call.today)));

const HOUR_MILLISECONDS = 3_600_000;

/** When the paint on each job lets it be assembled. The coats' clocks go on, so it is reckoned anew each hour. */
export async function planCuring(call: Call, jobIds: string[]): Promise<Map<string, JobCuring>> {
  const weather = await weatherOf(call);
  const key = `${weather.coatRevision} ${Math.floor(call.now.getTime() / HOUR_MILLISECONDS)} ${jobIds.join()}`;
  if (weather.curesKey !== key) delete weather.cures;
  weather.curesKey = key;
  return kept(call, 'cures', () => curing(call, jobIds));
}

async function kept<K extends 'outlook' | 'windows' | 'years' | 'cures'>(
  call: Call,
  what: K,
  read: () => NonNullable<PlanWeather[K]>,
): Promise<Awaited<NonNullable<PlanWeather[K]>>> {
  const weather = await weatherOf(call);
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

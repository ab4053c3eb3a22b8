/**
 * The weather as the plan reckons with it. Thirty years of days take a while to read and to reckon through, and change
 * seldom, so what came of them is kept at hand until the shop's weather records, or its day, change.
 */
import type { Call } from '../platform/operation/operation.js';
import { asDay } from '../platform/operation/records.js';
import { snowOutlook, type SnowOutlook } from '../season/first-snow.queries.js';
import { paintWeatherYears, paintWindows } from '../season/paint-weather.queries.js';
import { HORIZON_DAYS, type PlanRecords, type PlanWeatherYear } from './problem.js';

interface PlanWeather {
  key: string;
  outlook?: Promise<SnowOutlook>;
  windows?: Promise<PlanRecords['paintWindows']>;
  years?: Promise<PlanWeatherYear[]>;
}

const atHand = new Map<string, PlanWeather>();
const SHOPS_AT_HAND = 50;
const ofCall = new WeakMap<Call, PlanWeather>();

/** Once a call one statement. What a call itself writes about the weather is not seen before it has been committed. */
async function weatherOf(call: Call): Promise<PlanWeather> {
  const known = ofCall.get(call);
  if (known) return known;
  const [row] = await call.tx.$queryRaw<{ revision: number }[]>`select "weatherRevision" as revision from "PlanRequest" where "shopId" = ${call.shop.id}::uuid`;
  const key = `${row?.revision ?? 0} ${call.today}`;
  let weather = atHand.get(call.shop.id);
  // Before anything has been counted (while a shop is filled in one transaction) nothing may be kept.
  if (!row || weather?.key !== key) weather = { key };
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
export const planPaintWindows = (call: Call): Promise<PlanRecords['paintWindows']> => kept(call, 'windows', () => paintWindows(call, call.today, lastPlannedDay(call.today)));

export const planWeatherYears = (call: Call): Promise<PlanWeatherYear[]> =>
  kept(call, 'years', async () => {
    const epochMinute = (moment: Date): number => Math.floor(moment.getTime() / 60_000);
    const years = await paintWeatherYears(call, call.today, lastPlannedDay(call.today));
    return years.map(({ sourceYear, firstSnowDay, windows }) => ({ sourceYear, firstSnowDay, windows: windows.flatMap(({ from, to }) => [epochMinute(from), epochMinute(to)]) }));
  });

async function kept<K extends 'outlook' | 'windows' | 'years'>(call: Call, what: K, read: () => NonNullable<PlanWeather[K]>): Promise<Awaited<NonNullable<PlanWeather[K]>>> {
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

const lastPlannedDay = (today: string): string => asDay(new Date(Date.parse(`${today}T00:00:00Z`) + HORIZON_DAYS * 86_400_000));

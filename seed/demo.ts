/**
 * The demo shop, loaded through the same operations as a user's input, in one transaction: it is there whole or not at
 * all. People, place, makers, models, suppliers, prices and weather are invented; days are relative to the day of loading.
 */
import type { Database } from '../src/platform/database/database.js';
import { dayIn } from '../src/platform/operation/execute.js';
import { openShop } from '../src/shop/open-shop.js';
import { addAccessKey } from '../src/shop/shop.operations.js';
import { type DemoRoutes, loadOpenJobs } from './demo-jobs.js';
import { loadComparables, loadPastJobs } from './demo-past.js';
import { type DemoSeason, demoSeason } from './demo-season.js';
import { demoShop, loadShop } from './demo-shop.js';
import { Loader } from './loader.js';
import { standardRoutes } from './routes.js';
import { makeStationDays } from './weather.js';

const SEED = 20_260_401;
const WINTERS = 30;

export async function loadDemo(database: Database, now: Date): Promise<{ shopId: string; ownerKey: string }> {
  const today = dayIn(now, demoShop.timeZone);
  const season = demoSeason(today);
  const settings = { ...demoShop, latitude: season.latitude, seasonEndMonthDay: season.seasonEndMonthDay };
  const { shopId, filled } = await openShop(database, settings, async (tx, id) => {
    const load = new Loader(tx, { id, currency: settings.currency, timeZone: settings.timeZone }, now, SEED);
    const shop = await loadShop(load);
    const routes = await loadRoutes(load);
    const daysToSnow = -load.daysAgo(season.firstSnow);
    await loadComparables(load, daysToSnow);
    await loadPastJobs(load, shop, routes, daysToSnow);
    await loadOpenJobs(load, shop, routes);
    // Last, because every step before it forecasts the open jobs, and thirty winters make that slower.
    await loadWeather(load, season);
    return addAccessKey(tx, id, 'Owner', 'owner');
  });
  return { shopId, ownerKey: filled.key };
}

async function loadRoutes(load: Loader): Promise<DemoRoutes> {
  const routes: Partial<DemoRoutes> = {};
  for (const route of standardRoutes) {
    const { id } = await load.do('createRoute', route, load.day(780));
    if (route.machineKind !== 'other') routes[route.machineKind] = id;
  }
  return routes as DemoRoutes;
}

async function loadWeather(load: Loader, season: DemoSeason): Promise<void> {
  const station = await load.do('createStation', {
    name: 'Lake Orrin',
    latitude: season.latitude + 0.05,
    longitude: demoShop.longitude,
    source: 'Invented: made by seed/weather.ts',
  });
  const days = makeStationDays({
    seed: SEED,
    endDate: load.day(1),
    years: WINTERS,
    coldestDayOfYear: season.coldestDayOfYear,
  });
  for (let at = 0; at < days.length; at += 4000)
    await load.do('importStationDays', { id: station.id, days: days.slice(at, at + 4000) });
}

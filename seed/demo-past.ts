/** Two seasons of finished jobs, so that hours, delivery times and prices can be learnt from; and what others ask. */
import { at, lookUp } from '../src/engine/look-up.js';
import type { DemoRoutes } from './demo-jobs.js';
import type { DemoPart, DemoShop } from './demo-shop.js';
import { partPrices } from './demo-shop.js';
import { openDemoJob, orderParts, passSafetyChecks, takeMachine, useParts, workOn } from './demo-work.js';
import type { Loader } from './loader.js';

const makers = { Norvane: 1.05, Pikestone: 0.97, Hallgrim: 1.1 } as const;
const models = {
  singleStageThrower: ['Drift 21', 'Gale 20', 'Flurry 20'],
  twoStageThrower: ['Ridge 26', 'Tundra 28', 'Boreal 24'],
} as const;
type Kind = keyof typeof models;
/** What a machine in condition 4 brings at the height of the season. */
const basePrice: Record<Kind, number> = { singleStageThrower: 365, twoStageThrower: 760 };
const conditionFactor = [0, 0.25, 0.45, 0.72, 1, 1.25];
/** Days each supplier usually names, how far that varies from order to order, and how far it then misses (both log scale). */
const delivery = {
  tarn: { days: 6, varies: 0.5, misses: 0.3 },
  kell: { days: 9, varies: 0.45, misses: 0.35 },
  brack: { days: 6, varies: 0.35, misses: 0.2 },
} as const;

function pick<T>(load: Loader, list: readonly T[]): T {
  return at(list, Math.floor(load.probability() * list.length));
}

function normal(load: Loader): number {
  return Math.sqrt(-2 * Math.log(1 - load.probability())) * Math.cos(2 * Math.PI * load.probability());
}

const cents = (value: number): string => value.toFixed(2);

/** In season a machine brings more: highest about the first snow. @param toSnow days until it */
const seasonFactor = (toSnow: number): number => 1 + 0.18 * Math.exp(-((toSnow - 5) ** 2) / (2 * 35 ** 2));

/** @param daysToSnow from today to the demo's median first snow */
export async function loadPastJobs(
  load: Loader,
  shop: DemoShop,
  routes: DemoRoutes,
  daysToSnow: number,
): Promise<void> {
  for (const yearsAgo of [2, 1]) {
    const snowDaysAgo = 365 * yearsAgo - daysToSnow;
    for (let index = 0; index < 7; index += 1) {
      const kind: Kind = index % 3 === 2 ? 'twoStageThrower' : 'singleStageThrower';
      await loadPastJob(load, shop, routes, kind, snowDaysAgo + 150 - index * 12, snowDaysAgo);
    }
  }
}

async function loadPastJob(
  load: Loader,
  shop: DemoShop,
  routes: DemoRoutes,
  kind: Kind,
  acquiredDaysAgo: number,
  snowDaysAgo: number,
): Promise<void> {
  const maker = pick(load, Object.keys(makers) as (keyof typeof makers)[]);
  const price = Math.round(basePrice[kind] * load.between(0.12, 0.3));
  const machine = await takeMachine(load, {
    machine: { kind, maker, model: pick(load, models[kind]), condition: 2, valueAsFound: cents(price) },
    source: pick(load, ['classified', 'auction', 'donation', 'classified']),
    price: cents(price),
    haulKilometres: Math.round(load.between(4, 60)),
    acquiredDaysAgo,
  });
  const { job, tasks } = await openDemoJob(load, machine, routes[kind], acquiredDaysAgo - 1);
  const wanted: { part: DemoPart; quantity: number; code: string }[] =
    kind === 'singleStageThrower'
      ? [
          { part: 'paddles', quantity: 1, code: 'paddles' },
          { part: 'carburettorKit', quantity: 1, code: 'engine' },
          { part: 'scraperBolt', quantity: 3, code: 'scraper-bar' },
        ]
      : [
          { part: 'shearBolt', quantity: 4, code: 'augers' },
          { part: 'belt', quantity: 1, code: 'assemble' },
          { part: 'bushing', quantity: 2, code: 'augers' },
        ];
  const ready = new Map<string, string>();
  for (const { part, quantity, code } of wanted) {
    const { days, varies, misses } = delivery[partPrices[part].supplier];
    const named = Math.max(2, Math.round(days * Math.exp(varies * normal(load))));
    const lead = Math.max(2, Math.round(named * Math.exp(misses * normal(load))));
    const { arrivesDaysAgo } = await orderParts(
      load,
      shop,
      [{ part, quantity, taskId: lookUp(tasks, code).id }],
      acquiredDaysAgo - 4,
      lead,
      named,
    );
    const arrives = load.day(arrivesDaysAgo);
    if (arrives > (ready.get(code) ?? '')) ready.set(code, arrives);
  }
  const done = await workOn(load, tasks, 'safety', load.day(acquiredDaysAgo - 2), ready);
  if (!done) throw new Error("The demo's past job was not finished in its season");
  const doneDaysAgo = Math.floor((load.now.getTime() - done.getTime()) / 86_400_000);
  await useParts(load, job.id, load.day(doneDaysAgo));
  await load.do(
    'createLedgerEntry',
    { jobId: job.id, kind: 'consumable', amount: cents(load.between(24, 46)), description: 'Paint, abrasives, grease' },
    load.day(doneDaysAgo),
  );
  await passSafetyChecks(load, job.id, kind, load.day(doneDaysAgo));
  const soldDaysAgo = Math.max(1, Math.min(doneDaysAgo - 1, snowDaysAgo + Math.round(load.between(-25, 30))));
  const asked = basePrice[kind] * makers[maker] * seasonFactor(soldDaysAgo - snowDaysAgo) * 1.08;
  await load.do(
    'createOffer',
    { jobId: job.id, askPrice: cents(Math.round(asked / 5) * 5), channel: 'classifieds' },
    load.day(Math.min(doneDaysAgo, soldDaysAgo + 6)),
  );
  await load.do(
    'createSale',
    {
      jobId: job.id,
      price: cents(Math.round((asked * load.between(0.84, 1)) / 5) * 5),
      sellingCost: '6.00',
      buyer: pick(load, ['A young couple', 'A caretaker', 'A neighbour', 'A landlord']),
      channel: 'classifieds',
    },
    load.day(soldDaysAgo),
  );
}

/** Sixty prices seen elsewhere, over two seasons. */
export async function loadComparables(load: Loader, daysToSnow: number): Promise<void> {
  for (let index = 0; index < 60; index += 1) {
    const kind: Kind = index % 5 < 3 ? 'singleStageThrower' : 'twoStageThrower';
    const maker = pick(load, Object.keys(makers) as (keyof typeof makers)[]);
    const condition = 2 + Math.floor(load.probability() * 4);
    const seenDaysAgo = Math.round(load.between(3, 640));
    // The nearest first snow before or after the day it was seen.
    const toSnow = at(
      [-1, 0, 1, 2].map((years) => seenDaysAgo + daysToSnow - 365 * years).sort((a, b) => Math.abs(a) - Math.abs(b)),
      0,
    );
    const sold = index % 4 === 0;
    const price =
      basePrice[kind] *
      makers[maker] *
      at(conditionFactor, condition) *
      seasonFactor(toSnow) *
      (sold ? 1 : 1.1) *
      Math.exp(0.12 * normal(load));
    await load.do(
      'createComparable',
      {
        kind,
        maker,
        model: pick(load, models[kind]),
        condition,
        yearEstimate: 1985 + Math.floor(load.probability() * 28),
        clearingWidthMillimetres: kind === 'singleStageThrower' ? 533 : 610,
        priceKind: sold ? 'sold' : 'asking',
        price: cents(Math.max(20, Math.round(price / 5) * 5)),
        seenDate: load.day(seenDaysAgo),
        place: pick(load, ['Orrin Mills', 'Cold Ford', 'Westering', 'Lake Orrin']),
        distanceKilometres: Math.round(load.between(2, 120)),
      },
      load.day(seenDaysAgo),
    );
  }
}

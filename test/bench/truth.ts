/**
 * `npm run bench:truth`: are the stated chances true? Simulated shops whose truth is a file (its schema: truth/world.ts)
 * learn from a past of their own, make a plan as the service would, and have it played out in futures by people who follow
 * the plan's order and know no future.
 */
import path from 'node:path';
import { parseArgs } from 'node:util';
import { dayNumber } from '../../src/engine/days.js';
import { referenceDirectory } from '../psplib/read.js';
import { execute } from './truth/executor.js';
import { makeHistory, makePastOrders } from './truth/history.js';
import { drawFuture, type Future } from './truth/luck.js';
import { executeWeekly } from './truth/replan.js';
import { Score, type WorldRow } from './truth/score.js';
import { planShop, recordsOf, seasonEndOf, weatherOf } from './truth/service.js';
import { DAY, makeShop, type SimShop } from './truth/shop.js';
import { readWorldFile, type World, type WorldFile } from './truth/world.js';

const MARGIN_DAYS = 7;

export interface TruthOptions {
  file: WorldFile;
  shops: number;
  futures: number;
  seed: number;
  /** How many pasts each shop is given, one after another. */
  histories: number;
  /** Seasons of each past. */
  seasons: number;
  schedules: number;
  scenarios: number;
  /** The plan is made anew each week; else it is followed as it was. */
  weekly: boolean;
}

/** Plays one world. Every shop, past and future follows from the seed. */
export function playWorld(world: World, options: TruthOptions): Score {
  const { file, seed, shops, futures, histories, seasons } = options;
  const score = new Score();
  const truth = { file, world, seed };
  for (let number = 0; number < shops; number += 1) {
    const shop = makeShop(file, seed, number);
    const weather = recordedWeather(shop, file, seed + number);
    const orders = makePastOrders(file, seed, shop);
    const played = Array.from({ length: futures }, (_, k): Future => drawFuture(truth, shop, k));
    for (let variant = 0; variant < histories; variant += 1) {
      const past = makeHistory(truth, shop, seasons, variant);
      const plan = planShop(recordsOf(shop, world, { orders, past, weather }), options);
      const ends = played.map((future) =>
        options.weekly
          ? executeWeekly(shop, world, future, { plan, known: { orders, past, weather } })
          : execute(shop, world, future, plan.instructions),
      );
      for (const promise of plan.promises)
        score.add(
          promise,
          ends.map((finishes) => {
            const finish = finishes.get(promise.jobId) ?? null;
            return finish === null ? null : Math.floor(finish / DAY);
          }),
          played.map((future) =>
            future.firstSnow === null
              ? dayNumber(seasonEndOf(shop.today)) - dayNumber(shop.today)
              : future.firstSnow - MARGIN_DAYS,
          ),
        );
    }
  }
  return score;
}

/** A shop's records of the weather are the same in all worlds. */
const recorded = new Map<number, ReturnType<typeof weatherOf>>();

function recordedWeather(shop: SimShop, file: WorldFile, seed: number): ReturnType<typeof weatherOf> {
  let weather = recorded.get(shop.number);
  if (!weather) {
    weather = weatherOf(shop, file, seed);
    recorded.set(shop.number, weather);
  }
  return weather;
}

const percent = (value: number | null): string =>
  value === null ? '   –' : `${(100 * value).toFixed(0)} %`.padStart(5);

export function main(args: string[]): void {
  const { values } = parseArgs({
    args,
    options: {
      world: { type: 'string' },
      only: { type: 'string' },
      shops: { type: 'string' },
      futures: { type: 'string' },
      seed: { type: 'string', default: '1' },
      histories: { type: 'string', default: '1' },
      history: { type: 'string', default: '1' },
      schedules: { type: 'string', default: '300' },
      scenarios: { type: 'string', default: '1000' },
      weekly: { type: 'boolean', default: false },
      json: { type: 'boolean', default: false },
    },
  });
  const file = readWorldFile(values.world ?? path.join(referenceDirectory(), 'worlds.json'));
  const whole = (text: string, name: string, min = 1): number => {
    const value = Number(text);
    if (!Number.isInteger(value) || value < min) throw new Error(`--${name} must be a whole number of at least ${min}`);
    return value;
  };
  const options: TruthOptions = {
    file,
    shops: whole(values.shops ?? String(file.shop.count), 'shops'),
    futures: whole(values.futures ?? String(file.shop.futures), 'futures'),
    seed: whole(values.seed, 'seed', 0),
    histories: whole(values.histories, 'histories'),
    seasons: values.history === 'none' ? 0 : whole(values.history, 'history', 0),
    schedules: whole(values.schedules, 'schedules', 0),
    scenarios: whole(values.scenarios, 'scenarios'),
    weekly: values.weekly,
  };
  const rows: WorldRow[] = [];
  if (!values.json) console.log('P50    P80    P95    readiness off by  jobs  world');
  for (const world of file.worlds) {
    if (values.only && !values.only.split(';').includes(world.world)) continue;
    const score = playWorld(world, options);
    const row = score.row(world.world);
    rows.push(row);
    if (!values.json)
      console.log(
        `${percent(row.p50)}  ${percent(row.p80)}  ${percent(row.p95)}  ` +
          `${percent(row.readinessError)}  ${String(row.jobs).padStart(14)}  ${row.world}` +
          `   ${score.bins
            .map((bin) =>
              bin.count === 0
                ? '–'
                : `${(bin.stated / bin.count).toFixed(2)}→${(bin.came / bin.count).toFixed(2)} ` + `(${bin.count})`,
            )
            .join('  ')}`,
      );
  }
  if (values.json) console.log(JSON.stringify(rows));
}

import { describe, expect, it } from '@jest/globals';
import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import {
  type ArrivalLine,
  forecastArrival,
  learnArrivals,
  probabilityByDate,
  type PromiseMade,
} from '../src/engine/arrival/index.js';
import { dayNumber, isoDay } from '../src/engine/days.js';
import { normalQuantile } from '../src/engine/statistics/index.js';

/**
 * Calibration by simulation: shops are made up whose truth differs from the stated prior, forecasts are asked on one
 * day for the lines then out and for lines ordered that day, and the truth is looked up. Stated 80 % intervals are to
 * cover 75–85 %.
 *
 * Days are whole, so an interval between whole days covers more than it states when lead times are short. The chance
 * that is compared is therefore spread evenly over the day on which the goods came (the randomised probability
 * integral transform), which is exact for whole days.
 */
interface World {
  shops: number;
  suppliers: number;
  families: number;
  lines: number;
  medianDays: number;
  supplierSpread: number;
  familySpread: number;
  /** Least and greatest standard deviation of the log within a supplier and family. */
  within: readonly [number, number];
  promises?: 'none' | 'supplierGuesses' | 'supplierKnows';
  /** Share of lines whose goods are not in stock: they take about so many days, whoever sells them. */
  outOfStock?: { share: number; medianDays: number };
}

function simulate(world: World, seed: number): { inside: number; early: number; late: number } {
  const generator = xoroshiro128plus(seed);
  const uniform = () => uniformFloat64(generator);
  const normal = () => normalQuantile(Math.min(Math.max(uniform(), 1e-12), 1 - 1e-12));
  const tally = { inside: 0, early: 0, late: 0 };
  const today = 20_000;
  for (let shop = 0; shop < world.shops; shop++) {
    const base = Math.log(world.medianDays) + 0.3 * normal();
    const suppliers = Array.from({ length: world.suppliers }, () => world.supplierSpread * normal());
    const families = Array.from({ length: world.families }, () => world.familySpread * normal());
    const [least, greatest] = world.within;
    const cells = suppliers.map((s) =>
      families.map((f) => ({ mean: base + s + f + 0.15 * normal(), sd: least + (greatest - least) * uniform() })),
    );
    const slips = suppliers.map(() => ({ mean: 0.15 + 0.2 * normal(), sd: 0.15 + 0.35 * uniform() }));
    const truths: { line: ArrivalLine; comes: number }[] = [];
    for (let k = 0; k < world.lines + 6; k++) {
      const s = Math.floor(uniform() * world.suppliers);
      const f = Math.floor(uniform() * world.families);
      // The last six are ordered on the day of asking.
      const ordered = k < world.lines ? today - Math.floor(500 * uniform()) : today;
      const { mean, sd } = cells[s]![f]!;
      const slip = Math.exp(slips[s]!.mean + slips[s]!.sd * normal());
      const unstocked = world.outOfStock && uniform() < world.outOfStock.share;
      const wait = Math.exp(unstocked ? Math.log(world.outOfStock!.medianDays) + 0.6 * normal() : mean + sd * normal());
      // Either the promise is a guess at the true wait, or the true wait is what became of the promise.
      const took = Math.floor(world.promises === 'supplierKnows' ? wait * slip : wait);
      const promised = ordered + Math.max(0, Math.round(world.promises === 'supplierKnows' ? wait : wait / slip));
      const comes = ordered + took;
      const promises: PromiseMade[] =
        world.promises === 'none' ? [] : [{ statedDate: isoDay(ordered), promisedDate: isoDay(promised) }];
      if (world.promises === 'supplierGuesses' && promised < comes) {
        // Passed: a new guess at what is left, or one in five times no date at all.
        const left = Math.max(0, Math.round((comes - promised) / Math.exp(slips[s]!.mean + slips[s]!.sd * normal())));
        promises.push({ statedDate: isoDay(promised), promisedDate: uniform() < 0.2 ? null : isoDay(promised + left) });
      }
      truths.push({
        comes,
        line: {
          id: `${k}`,
          supplierId: `S${s}`,
          family: `F${f}`,
          orderedDate: isoDay(ordered),
          receivedDate: isoDay(comes),
          promises,
        },
      });
    }
    const model = learnArrivals(
      truths.map((t) => t.line),
      isoDay(today),
    );
    for (const { line, comes } of truths) {
      if (comes < today) continue;
      // As it stood: not come, and only what had been said.
      const open = {
        ...line,
        receivedDate: null,
        promises: line.promises!.filter((p) => dayNumber(p.statedDate) <= today),
      };
      const forecast = forecastArrival(model, open, isoDay(today));
      const before = comes > today ? probabilityByDate(forecast, isoDay(comes - 1)) : 0;
      const place = before + uniform() * (probabilityByDate(forecast, isoDay(comes)) - before);
      if (place < 0.1) tally.early++;
      else if (place > 0.9) tally.late++;
      else tally.inside++;
    }
  }
  return tally;
}

const ordinary: World = {
  shops: 30,
  suppliers: 4,
  families: 4,
  lines: 70,
  medianDays: 8,
  supplierSpread: 0.4,
  familySpread: 0.4,
  within: [0.3, 0.5],
};

describe('stated 80 % intervals cover 75 to 85 %', () => {
  it.each<[string, World]>([
    ['no promises', { ...ordinary, promises: 'none' }],
    [
      'slow suppliers that differ much',
      { ...ordinary, medianDays: 25, supplierSpread: 0.8, within: [0.15, 0.7], promises: 'none' },
    ],
    ['suppliers all alike', { ...ordinary, supplierSpread: 0.05, familySpread: 0.05, promises: 'none' }],
    ['a young shop with few orders', { ...ordinary, shops: 60, lines: 8, suppliers: 3, promises: 'none' }],
    ['promises that guess at the wait', { ...ordinary, shops: 30, promises: 'supplierGuesses' }],
    ['promises that the wait follows', { ...ordinary, shops: 30, promises: 'supplierKnows' }],
    ['slow, promised', { ...ordinary, medianDays: 25, shops: 60, promises: 'supplierGuesses' }],
    [
      'goods out of stock, whose date says so',
      { ...ordinary, promises: 'supplierGuesses', outOfStock: { share: 0.15, medianDays: 60 } },
    ],
  ])('%s', (_name, world) => {
    const { inside, early, late } = simulate(world, 12_345);
    const all = inside + early + late;
    expect(all).toBeGreaterThan(200);
    expect(inside / all).toBeGreaterThanOrEqual(0.75);
    expect(inside / all).toBeLessThanOrEqual(0.85);
    // And centred: neither tail, of 10 % each, takes much more than its share.
    expect(Math.max(early, late) / all).toBeLessThan(0.16);
  });
});

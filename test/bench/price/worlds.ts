/** Made-up markets whose truth is known. */
import { z } from 'zod';
import { dayNumber } from '../../../src/engine/days.js';
import type { MachineTraits } from '../../../src/engine/price/market-model.js';
import { effectNames, usualBeliefs } from '../../../src/engine/price/price-beliefs.js';
import { type Seasonality, seasonNearness } from '../../../src/engine/price/seasonality.js';
import { normalQuantile } from '../../../src/engine/statistics/index.js';
import { Random } from '../../../src/engine/statistics/random.js';

const deviation = z.number().min(0);
const share = z.number().min(0).max(1);
const range = z.tuple([z.number(), z.number()]);
const Distribution = z.strictObject({ mean: z.number(), deviation });

/** One way in which buyers may truly behave, or several with a probability each. */
export const TrueMarket = z.strictObject({
  truth: z.string().min(1).max(60),
  behaviours: z
    .array(
      z.strictObject({
        probability: z.number().positive().max(1),
        behaviour: z.strictObject({
          sharedNoise: share.default(0.4),
          scatter: z.number().positive().nullable().default(null),
          elasticity: z.number().min(0).max(20).default(4),
          mostEnquiries: z.number().min(1).max(20).default(1.5),
          offerShare: share.default(0.5),
          offersUnder: z.tuple([share, share]).readonly().default([0.02, 0.15]),
          usualDiscount: z.number().min(0).max(0.9).default(0),
          stale: z.strictObject({ above: z.number().positive(), factor: share }).nullable().default(null),
        }),
      }),
    )
    .min(1),
});

/**
 * A world: what every market in it is drawn from. All of it may be left out; what is left out is as the estimator
 * believes. Logs are natural. See `worlds.md` beside this file for the meaning of each field.
 */
export const World = z.strictObject({
  world: z.string().min(1).max(60),
  description: z.string().optional(),
  comparables: z.array(z.int().min(1).max(2000)).min(1).default([3, 8, 20, 60]),
  noise: z
    .union([z.number().positive(), z.array(z.number().positive()).min(1)])
    .nullable()
    .default(null),
  noiseShape: z.union([z.literal('normal'), z.strictObject({ studentFreedom: z.number().gt(2) })]).default('normal'),
  effects: z.strictObject(Object.fromEntries(effectNames.map((name) => [name, Distribution.optional()]))).default({}),
  makerDeviation: deviation.default(usualBeliefs.makerDeviation),
  modelDeviation: deviation.default(usualBeliefs.modelDeviation),
  noiseBelief: z.strictObject({ median: z.number().positive(), logDeviation: deviation }).default(usualBeliefs.noise),
  drift: z
    .strictObject({
      perYear: z.number().default(0),
      deviation: deviation.default(0),
      walkPerYear: deviation.default(0),
    })
    .prefault({}),
  distanceEffectPer100Kilometres: Distribution.default({ mean: 0, deviation: 0 }),
  mistypedShare: share.default(0),
  makers: z.int().min(1).max(200).default(5),
  modelsPerMaker: z.int().min(1).max(200).default(3),
  askingShare: share.default(0.6),
  daysBack: range.default([3, 1095]),
  kilometres: range.default([2, 200]),
  conditions: z.array(z.int().min(1).max(5)).min(1).default([2, 3, 4, 5]),
  soldCondition: z.int().min(1).max(5).default(4),
  years: range.default([1985, 2015]),
  widthsMillimetres: z.array(z.number().positive()).min(1).default([533, 610, 711]),
  equipmentBalances: z.array(z.int().min(-5).max(5)).min(1).default([0, 0, 0, 1, -1]),
  soldInDays: range.default([0, 90]),
  truths: z.array(TrueMarket).min(1).optional(),
  rates: z
    .array(
      z.strictObject({
        trueRate: z.number().positive().max(100),
        listings: z.int().min(0).max(1000),
        offersRecorded: z.boolean(),
        elasticity: z.number().min(0).max(20).default(4),
      }),
    )
    .optional(),
});
export type World = z.output<typeof World>;

export interface SeenInMarket extends MachineTraits {
  priceKind: 'asking' | 'sold';
  logPrice: number;
  /** Day number. */
  seenOn: number;
  distanceKilometres: number;
}

export interface Market {
  kind: string;
  today: number;
  seasonality: Seasonality;
  machine: MachineTraits;
  /** Day number of the sale. */
  on: number;
  seen: SeenInMarket[];
  /** What is paid in the end: its log. */
  logPaid: number;
  noise: number;
}

const KIND = 'thrower';
const seasonality: Seasonality = { usualPeak: '12-01' };

/** One market of a world; the same seed and number give the same market. */
export function drawMarket(world: World, noise: number | null, count: number, seed: number, market: number): Market {
  const random = new Random(seed, market);
  const normal = (): number => normalQuantile((random.next() * 0xffffffff + 0.5) / 0x100000000);
  const draw = (of: { mean: number; deviation: number }): number => of.mean + of.deviation * normal();
  const pick = <T>(list: readonly T[]): T => list[random.below(list.length)]!;
  const between = ([low, high]: readonly [number, number]): number => low + (high - low) * random.next();

  const effects = effectNames.map((name) => draw(world.effects[name] ?? usualBeliefs.effects[name]));
  const sigma = noise ?? world.noiseBelief.median * Math.exp(world.noiseBelief.logDeviation * normal());
  const makers = Array.from({ length: world.makers }, () => draw({ mean: 0, deviation: world.makerDeviation }));
  const models = makers.map(() =>
    Array.from({ length: world.modelsPerMaker }, () => draw({ mean: 0, deviation: world.modelDeviation })),
  );
  const constant = Math.log(400) + 0.7 * normal();
  const distanceEffect = draw(world.distanceEffectPer100Kilometres);
  const trend = world.drift.perYear + world.drift.deviation * normal();
  const today = dayNumber('2026-09-01') + random.below(365);
  // The level's walk, month by month into the past.
  const walk = [0];
  while (walk.length <= 12 * 30) walk.push(walk.at(-1)! + world.drift.walkPerYear * Math.sqrt(1 / 12) * normal());
  const level = (day: number): number =>
    (trend * (day - today)) / 365.25 + walk[Math.min(walk.length - 1, Math.max(0, Math.round((today - day) / 30.44)))]!;
  const unit = (): number => {
    if (world.noiseShape === 'normal') return normal();
    const { studentFreedom } = world.noiseShape;
    let squares = 0;
    for (let k = 0; k < Math.round(studentFreedom); k++) squares += normal() ** 2;
    // Scaled to a standard deviation of one.
    return normal() * Math.sqrt((studentFreedom - 2) / squares);
  };

  const traits = (condition: number): MachineTraits & { maker: number; modelIndex: number } => {
    const maker = random.below(world.makers);
    return {
      kind: KIND,
      maker: maker as never,
      modelIndex: random.below(world.modelsPerMaker),
      condition,
      yearEstimate: Math.round(between(world.years)),
      clearingWidthMillimetres: pick(world.widthsMillimetres),
      equipmentBalance: pick(world.equipmentBalances),
    };
  };
  const logOf = (its: ReturnType<typeof traits>, asking: boolean, day: number, kilometres: number): number => {
    const columns = [
      its.condition - 3,
      (its.condition - 3) ** 2,
      asking ? 1 : 0,
      (2000 - its.yearEstimate!) / 10,
      Math.log(its.clearingWidthMillimetres! / 600),
      seasonNearness(seasonality, day),
      (today - day) / 365.25,
      its.equipmentBalance!,
    ];
    return (
      constant +
      columns.reduce((sum, value, j) => sum + value * effects[j]!, 0) +
      makers[its.maker]! +
      models[its.maker]![its.modelIndex]! +
      level(day) +
      (distanceEffect * kilometres) / 100 +
      sigma * unit()
    );
  };
  const named = ({ modelIndex, ...its }: ReturnType<typeof traits>): MachineTraits => ({
    ...its,
    maker: `maker ${its.maker}`,
    model: `model ${modelIndex}`,
  });

  const seen = Array.from({ length: count }, (): SeenInMarket => {
    const its = traits(pick(world.conditions));
    const asking = random.next() < world.askingShare;
    const seenOn = today - Math.round(between(world.daysBack));
    const distanceKilometres = between(world.kilometres);
    const slip = random.next() < world.mistypedShare ? (random.next() < 0.5 ? Math.log(10) : -Math.log(10)) : 0;
    return {
      ...named(its),
      priceKind: asking ? 'asking' : 'sold',
      logPrice: logOf(its, asking, seenOn, distanceKilometres) + slip,
      seenOn,
      distanceKilometres,
    };
  });
  const its = traits(world.soldCondition);
  const on = today + Math.round(between(world.soldInDays));
  return {
    kind: KIND,
    today,
    seasonality,
    machine: named(its),
    on,
    seen,
    logPaid: logOf(its, false, on, 0),
    noise: sigma,
  };
}

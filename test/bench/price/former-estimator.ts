/**
 * The price estimator that the present one replaced, frozen, so that both can be measured on the same markets: one
 * regression with conjugate beliefs in which old, distant and asking prices count as parts of an observation, and the
 * prediction is a Student t. Nothing but the benchmark reads it.
 */
import type { MachineTraits } from '../../../src/engine/price/market-model.js';
import { seasonNearness } from '../../../src/engine/price/seasonality.js';
import { studentQuantile } from '../../../src/engine/statistics/index.js';
import { leastSquares } from '../../oracles/least-squares.js';
import type { Market, SeenInMarket } from './worlds.js';

const beliefs = [
  { mean: 0.25, deviation: 0.12 }, // a grade of condition
  { mean: 0.11, deviation: 0.06 }, // asking
  { mean: -0.2, deviation: 0.15 }, // ten years older
  { mean: 0.8, deviation: 0.4 }, // width elasticity
  { mean: 0.1, deviation: 0.08 }, // season
  { mean: 0, deviation: 0.15 }, // another maker
  { mean: 0, deviation: 0.1 }, // another model
];
const spread = { deviation: 0.25, observations: 5 };
const HALF_LIFE_DAYS = 730;
const HALF_DISTANCE_KILOMETRES = 200;
const ASKING_WEIGHT = 0.5;

export interface FormerEstimate {
  logLocation: number;
  logScale: number;
  freedom: number;
}

export function formerEstimate({ machine, seen, on, today, seasonality }: Market): FormerEstimate {
  const observations = seen.map((one) => observe(one, machine, seasonNearness(seasonality, on)));
  let trust = observations.map(() => 1);
  let constant = 0;
  let variance = 0;
  let scale = spread.deviation;
  let freedom = 0;
  for (let round = 0; round < 40; round++) {
    const roots = observations.map((each, i) => Math.sqrt(each.weight * trust[i]!));
    const rows = observations.map((each, i) => [1, ...each.differences].map((value) => value * roots[i]!));
    const y = observations.map((each, i) => each.logPrice * roots[i]!);
    beliefs.forEach(({ mean, deviation }, j) => {
      const precision = spread.deviation / deviation;
      rows.push([0, ...beliefs.map((_, k) => (k === j ? precision : 0))]);
      y.push(mean * precision);
    });
    const { coefficients, inverse, residualSumOfSquares } = leastSquares(rows, y);
    const counted = observations.reduce((sum, each, i) => sum + each.weight * trust[i]!, 0);
    freedom = spread.observations + Math.max(0, counted - 1);
    scale = Math.sqrt((spread.observations * spread.deviation ** 2 + residualSumOfSquares) / freedom);
    [constant, variance] = [coefficients[0]!, inverse[0]![0]!];
    const next = observations.map((each) => {
      const fitted = [1, ...each.differences].reduce((sum, value, i) => sum + value * coefficients[i]!, 0);
      return Math.min(1, (2 / ((each.logPrice - fitted) / scale)) ** 2);
    });
    const moved = Math.max(...next.map((value, i) => Math.abs(value - trust[i]!)));
    trust = next;
    if (moved < 1e-6) break;
  }
  return { logLocation: constant, logScale: scale * Math.sqrt(1 + variance), freedom };

  function observe(one: SeenInMarket, ours: MachineTraits, nearness: number) {
    const otherMaker = different(one.maker, ours.maker);
    return {
      logPrice: one.logPrice,
      differences: [
        one.condition - ours.condition,
        one.priceKind === 'asking' ? 1 : 0,
        (ours.yearEstimate! - one.yearEstimate!) / 10,
        Math.log(one.clearingWidthMillimetres! / ours.clearingWidthMillimetres!),
        seasonNearness(seasonality, one.seenOn) - nearness,
        otherMaker,
        otherMaker === 1 ? 1 : different(one.model, ours.model),
      ],
      weight:
        (0.5 ** ((today - one.seenOn) / HALF_LIFE_DAYS) /
          (1 + (one.distanceKilometres / HALF_DISTANCE_KILOMETRES) ** 2)) *
        (one.priceKind === 'asking' ? ASKING_WEIGHT : 1),
    };
  }
}

const different = (theirs: string | null | undefined, ours: string | null | undefined): number =>
  !theirs || !ours ? 0.5 : theirs === ours ? 0 : 1;

export function formerQuantile({ logLocation, logScale, freedom }: FormerEstimate, p: number): number {
  return logLocation + logScale * studentQuantile(p, freedom);
}

/** Five situations in which an ask has to be one a dealer would not laugh at. Invented. */
import { dayNumber, isoDay } from '../../../src/engine/days.js';
import { type AskInput, type AskPlan, planAsk } from '../../../src/engine/price/ask-plan.js';
import { learnDemand } from '../../../src/engine/price/demand.js';
import { estimateFromCost, estimateFromMarket, seasonShift } from '../../../src/engine/price/expected-price.js';
import { learnMarket, type SeenPrice } from '../../../src/engine/price/market-model.js';
import { usualBeliefs } from '../../../src/engine/price/price-beliefs.js';
import type { Seasonality } from '../../../src/engine/price/seasonality.js';
import { normalQuantile } from '../../../src/engine/statistics/index.js';
import { Random } from '../../../src/engine/statistics/random.js';

export interface AskRow {
  measure: 'ask';
  case: string;
  comparables: number;
  /** What is likely paid at the season's height. */
  likely: number;
  ask: number;
}

const KIND = 'thrower';
const TODAY = '2026-10-20';
const PEAK = '2026-12-05';
const seasonality: Seasonality = { usualPeak: '12-05' };

const at = (daysAgo: number): string => isoDay(dayNumber(TODAY) - daysAgo);
const one = (price: number, priceKind: 'asking' | 'sold', daysAgo: number, condition = 4): SeenPrice => ({
  kind: KIND,
  maker: 'Norvane',
  model: 'Drift 21',
  condition,
  priceKind,
  price: price.toFixed(2),
  seenDate: at(daysAgo),
});

/** As the demo shop's: makers, conditions, ages and seasons mixed, three in four asking. */
function manySeen(): SeenPrice[] {
  const random = new Random(46);
  const worth = { Norvane: 1, Pikestone: 0.9, Hallgrim: 1.15 };
  const grades = { 2: 0.5, 3: 0.72, 4: 1, 5: 1.3 };
  const pick = <T>(list: readonly T[]): T => list[random.below(list.length)]!;
  return Array.from({ length: 46 }, (_, k) => {
    const maker = pick(Object.keys(worth) as (keyof typeof worth)[]);
    const condition = pick([2, 3, 4, 5] as const);
    const sold = k % 4 === 0 || k >= 40;
    const daysAgo = 3 + random.below(640);
    const price =
      380 *
      worth[maker] *
      grades[condition] *
      (sold ? 1 : 1.1) *
      Math.exp(0.12 * normalQuantile(random.next() * 0.998 + 0.001));
    return {
      kind: KIND,
      maker,
      model: pick(['Drift 18', 'Drift 21']),
      condition,
      yearEstimate: 1985 + random.below(28),
      clearingWidthMillimetres: 533,
      priceKind: sold ? 'sold' : 'asking',
      price: (5 * Math.round(price / 5)).toFixed(2),
      seenDate: at(daysAgo),
    };
  });
}

export const askCases: { name: string; seen: SeenPrice[]; fullCost: string }[] = [
  { name: 'many', seen: manySeen(), fullCost: '190.00' },
  {
    name: 'ten around 380',
    seen: [360, 395, 380, 410, 350]
      .map((price, k) => one(price, 'sold', 30 + 70 * k))
      .concat([420, 440, 399, 430, 450].map((price, k) => one(price, 'asking', 10 + 50 * k))),
    fullCost: '190.00',
  },
  {
    name: 'four between 180 and 325',
    seen: [one(180, 'sold', 40), one(230, 'sold', 300), one(260, 'asking', 15), one(325, 'asking', 90)],
    fullCost: '120.00',
  },
  {
    name: 'sixteen, twelve sold at 225 to 280',
    seen: [225, 240, 250, 250, 255, 260, 260, 265, 270, 275, 280, 280]
      .map((price, k) => one(price, 'sold', 20 + 45 * k))
      .concat([285, 300, 310, 325].map((price, k) => one(price, 'asking', 10 + 60 * k))),
    fullCost: '120.00',
  },
  {
    name: 'one sold at 450, one asking 695',
    seen: [one(450, 'sold', 200), one(695, 'asking', 20)],
    fullCost: '220.00',
  },
  { name: 'none', seen: [], fullCost: '220.00' },
];

export function askInputOf({ seen, fullCost }: (typeof askCases)[number]): AskInput {
  const currency = 'USD';
  const estimate =
    seen.length > 0
      ? estimateFromMarket(
          learnMarket({ kind: KIND, seen, today: TODAY, seasonality, currency, beliefs: usualBeliefs }),
          {
            kind: KIND,
            maker: 'Norvane',
            model: 'Drift 21',
            condition: 4,
            yearEstimate: 2000,
            clearingWidthMillimetres: 533,
          },
          TODAY,
          currency,
        )
      : estimateFromCost({ fullCost, markupPercent: 25, on: TODAY, seasonality, beliefs: usualBeliefs, currency });
  return {
    estimate,
    listFrom: TODAY,
    deadline: '2027-04-15',
    terms: { tax: { kind: 'none' }, purchasePrice: '60.00' },
    holdingCostPerWeek: '2.10',
    unsold: { kind: 'nextSeason', share: 0.85, cost: '110.00', atLeast: '20.00' },
    demand: learnDemand([]),
  };
}

export const likelyAtHeight = ({ estimate }: AskInput): number =>
  estimate.p50.toNumber() * Math.exp(seasonShift(estimate, dayNumber(PEAK)));

export function askRows(): (AskRow & { plan: AskPlan })[] {
  return askCases.map((each) => {
    const input = askInputOf(each);
    const plan = planAsk(input);
    return {
      measure: 'ask',
      case: each.name,
      comparables: each.seen.length,
      likely: likelyAtHeight(input),
      ask: plan.ask.toNumber(),
      plan,
    };
  });
}

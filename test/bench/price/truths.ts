/**
 * What a policy of asks and least acceptable offers would earn if buyers truly behaved in one of several ways, against
 * the best policy for that behaviour. Nobody knows the machine's market level, in any of them.
 */
import type { z } from 'zod';
import { type AskInput, type AskPlan, planAsk } from '../../../src/engine/price/ask-plan.js';
import { enquiryOutcome, offerDiscounts, usualBehaviour } from '../../../src/engine/price/buyers-model.js';
import { mixtureQuantile } from '../../../src/engine/price/price-distribution.js';
import { askCases, askInputOf } from './ask-cases.js';
import type { TrueMarket } from './worlds.js';

export type Truth = z.output<typeof TrueMarket>;
type TrueBehaviour = Truth['behaviours'][number]['behaviour'];

const thisModel: TrueBehaviour = { ...usualBehaviour, scatter: null, usualDiscount: 0, stale: null };
const allShared: TrueBehaviour = {
  sharedNoise: 1,
  scatter: 0.1,
  elasticity: 0,
  mostEnquiries: 1,
  offerShare: 0,
  offersUnder: [0.02, 0.15],
  usualDiscount: 0.11,
  stale: null,
};

export const usualTruths: Truth[] = [
  { truth: 'all spread shared', behaviours: [{ probability: 1, behaviour: allShared }] },
  { truth: 'this model', behaviours: [{ probability: 1, behaviour: thisModel }] },
  {
    truth: 'mixture',
    behaviours: [
      { probability: 0.5, behaviour: allShared },
      { probability: 0.5, behaviour: thisModel },
    ],
  },
  {
    truth: 'stale if overpriced',
    behaviours: [{ probability: 1, behaviour: { ...thisModel, stale: { above: 1.15, factor: 0.5 } } }],
  },
  { truth: 'elasticity 8', behaviours: [{ probability: 1, behaviour: { ...thisModel, elasticity: 8 } }] },
];

/** One ask and one least acceptable offer for each week, as logs. */
export interface FixedPolicy {
  asks: number[];
  leastAccepted: number[];
}

interface TrueState {
  probability: number;
  behaviour: TrueBehaviour;
  level: number;
  scatter: number;
  discounts: number[];
}

const LEVELS = 21;

/** What is true of one machine, as far as nobody knows it. */
function statesOf(truth: Truth, { estimate }: AskInput): TrueState[] {
  const { components } = estimate.distribution;
  const noiseVariance = components.reduce((sum, part) => sum + part.weight * part.noise ** 2, 0);
  return truth.behaviours.flatMap(({ probability, behaviour }) => {
    const parts = components.map(({ weight, mean, meanVariance, noise }) => ({
      weight,
      mean,
      deviation: Math.sqrt(meanVariance + behaviour.sharedNoise * noise ** 2),
    }));
    return Array.from({ length: LEVELS }, (_, k): TrueState => ({
      probability: probability / LEVELS,
      behaviour,
      level: mixtureQuantile(parts, (k + 0.5) / LEVELS),
      scatter: behaviour.scatter ?? Math.sqrt((1 - behaviour.sharedNoise) * noiseVariance),
      discounts: offerDiscounts({ ...usualBehaviour, offersUnder: behaviour.offersUnder }),
    }));
  });
}

/** Expected net of a policy in a truth, exact but for the grid of levels. */
export function netIn(truth: Truth, input: AskInput, plan: AskPlan): (policy: FixedPolicy) => number {
  const states = statesOf(truth, input);
  const { situation } = plan;
  const { weeks, rates, holding, net, unsold } = situation;
  return ({ asks, leastAccepted }) =>
    states.reduce((sum, { probability, behaviour, level, scatter, discounts }) => {
      let stale = 1;
      const course = weeks.map(({ shift, demand }, week) => {
        const ask = asks[week]!;
        const over = ask - level - shift;
        const paid = ask + Math.log(1 - behaviour.usualDiscount);
        const model = { ...usualBehaviour, offerShare: behaviour.offerShare };
        const { pays, offers } = enquiryOutcome(
          model,
          discounts,
          scatter,
          paid - level - shift,
          leastAccepted[week]! - level - shift,
        );
        const enquiries = stale * demand * Math.min(behaviour.mostEnquiries, Math.exp(-behaviour.elasticity * over));
        if (behaviour.stale && over > Math.log(behaviour.stale.above)) stale = behaviour.stale.factor;
        let buys = pays;
        let brings = pays * net(paid);
        if (behaviour.offerShare > 0)
          for (const offer of offers) {
            if (offer.probability === 0) continue;
            buys += offer.probability;
            brings += offer.probability * net(level + shift + Math.log(offer.meanOverGoing));
          }
        return { hazard: enquiries * buys, netOfSale: buys > 0 ? brings / buys : 0 };
      });
      let value = 0;
      for (const rate of rates) {
        let there = rate.probability;
        for (const { hazard, netOfSale } of course) {
          const sold = -Math.expm1(-rate.perWeek * hazard);
          value += there * (sold * netOfSale - holding);
          there *= 1 - sold;
        }
        value += there * unsold(level);
      }
      return sum + probability * value;
    }, 0);
}

export const policyOf = ({ situation, policy }: AskPlan): FixedPolicy => ({
  asks: situation.weeks.map(
    (_, week) => situation.asks[policy.choice[situation.blocks.findLastIndex((start) => start <= week)]!]!,
  ),
  leastAccepted: policy.leastAccepted,
});

const STEP = 0.03;

/** The best policy for a truth: every block's ask and least offer moved in turn, from several starts, until nothing improves. */
export function bestIn(truth: Truth, input: AskInput, plan: AskPlan): number {
  const value = netIn(truth, input, plan);
  const { blocks, weeks } = plan.situation;
  const middle = plan.situation.values.levels[7]!.log;
  const spread = (perBlock: readonly number[]): number[] =>
    weeks.map((_, week) => perBlock[blocks.findLastIndex((start) => start <= week)]!);
  const grid = Array.from({ length: 41 }, (_, k) => middle + STEP * (k - 18));
  const own = policyOf(plan);
  const starts = [
    { asks: blocks.map((week) => own.asks[week]!), least: blocks.map((week) => own.leastAccepted[week]!) },
    { asks: blocks.map((_, k) => middle + 0.45 - 0.2 * k), least: blocks.map((_, k) => middle + 0.3 - 0.2 * k) },
    { asks: blocks.map((_, k) => middle - 0.06 * k), least: blocks.map((_, k) => middle - 0.1 - 0.06 * k) },
  ];
  return Math.max(
    // Its thresholds change every week, so the plan's own policy may be the best there is.
    value(own),
    ...starts.map((start) => {
      let best = value({ asks: spread(start.asks), leastAccepted: spread(start.least) });
      for (let improved = true; improved;) {
        improved = false;
        for (const list of [start.asks, start.least])
          for (let block = 0; block < blocks.length; block++)
            for (const price of grid) {
              const before = list[block]!;
              list[block] = price;
              const now = value({ asks: spread(start.asks), leastAccepted: spread(start.least) });
              if (now > best * (1 + 1e-7)) {
                best = now;
                improved = true;
              } else list[block] = before;
            }
      }
      return best;
    }),
  );
}

export interface RegretRow {
  measure: 'regret';
  truth: string;
  /** What the plan's policy leaves less than the best policy for this truth, in percent, as a mean over the ask cases. */
  percent: number;
  worstPercent: number;
}

export function regretRow(truth: Truth): RegretRow {
  const percents = askCases.map((each) => {
    const input = askInputOf(each);
    const plan = planAsk(input);
    return 100 * (1 - netIn(truth, input, plan)(policyOf(plan)) / bestIn(truth, input, plan));
  });
  return {
    measure: 'regret',
    truth: truth.truth,
    percent: percents.reduce((sum, each) => sum + each, 0) / percents.length,
    worstPercent: Math.max(...percents),
  };
}

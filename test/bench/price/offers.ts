/**
 * What rules for offers earn on the same machines and the same buyers. The asks are the plan's in all of them; only what is
 * done about an offer differs.
 */
import { planAsk } from '../../../src/engine/price/ask-plan.js';
import {
  enquiryFactor,
  enquiryOutcome,
  offerDensity,
  offerDiscounts,
  splitPrediction,
} from '../../../src/engine/price/buyers-model.js';
import { waitingWithoutNews } from '../../../src/engine/price/offer-advice.js';
import type { LogPriceDistribution } from '../../../src/engine/price/price-distribution.js';
import { followPath, type SellingPolicy, type SellingSituation, statesOf } from '../../../src/engine/price/selling.js';
import { normalQuantile } from '../../../src/engine/statistics/index.js';
import { Random } from '../../../src/engine/statistics/random.js';
import { askCases, askInputOf } from './ask-cases.js';

export type OfferPolicy = 'fullBayes' | 'advice' | 'withoutNews' | 'aboveReservation';

export interface OffersRow {
  measure: 'offers';
  policy: OfferPolicy;
  machines: number;
  /** Mean of what is left, as a share of what full Bayes leaves. */
  share: number;
  meanNet: number;
}

/** What a rule believes and decides by. */
interface Rule {
  /** Probability of each state after all that has been seen, and the worth of going on; null where a rule ignores them. */
  belief: Belief | null;
  accepts(offer: number, week: number, part: number, belief: Float64Array | null): boolean;
}

interface Belief {
  situation: SellingSituation;
  course: Pick<SellingPolicy, 'continuation'>;
  states: ReturnType<typeof statesOf>;
  /** By week and state: what is seen of buyers, per unit of time in the week. */
  hazard: Float64Array[];
  askOf: readonly number[];
  discounts: number[];
}

const FINE_LEVELS = 41;
const FINE_RATES = 11;

export function offersRows(machines: number, seed: number): OffersRow[] {
  const input = askInputOf(askCases.find(({ name }) => name === 'four between 180 and 325')!);
  const plan = planAsk(input);
  const { situation, policy } = plan;
  const askOf = situation.weeks.map(
    (_, week) => situation.asks[policy.choice[situation.blocks.findLastIndex((start) => start <= week)]!]!,
  );
  const coarse = beliefOf(situation, policy);
  const fine = beliefOf(
    {
      ...situation,
      values: splitPrediction(input.estimate.distribution, situation.behaviour, FINE_LEVELS),
      rates: Array.from({ length: FINE_RATES }, (_, k) => ({
        probability: 1 / FINE_RATES,
        perWeek: 1.5 * Math.exp(0.8 * normalQuantile((k + 0.5) / FINE_RATES)),
      })),
    },
    policy,
  );
  const reservation = (price: number): boolean =>
    situation.net(price) >=
    situation.values.levels.reduce((sum, { log, probability }) => sum + probability * situation.unsold(log), 0);
  const byBelief = (belief: Belief): Rule => ({
    belief,
    accepts: (offer, week, part, now) => situation.net(offer) >= waiting(belief, offer, week, part, now!),
  });
  const rules: Record<OfferPolicy, Rule> = {
    fullBayes: byBelief(fine),
    advice: byBelief(coarse),
    withoutNews: { belief: null, accepts: (offer, week) => situation.net(offer) >= waitingWithoutNews(policy, week) },
    aboveReservation: { belief: null, accepts: reservation },
  };
  const mean = Object.fromEntries(
    Object.entries(rules).map(([name, rule]) => {
      let sum = 0;
      for (let machine = 0; machine < machines; machine++)
        sum += sell(situation, askOf, input.estimate.distribution, rule, new Random(seed, machine));
      return [name, sum / machines];
    }),
  ) as Record<OfferPolicy, number>;
  return (Object.keys(rules) as OfferPolicy[]).map((policyName) => ({
    measure: 'offers',
    policy: policyName,
    machines,
    share: mean[policyName] / mean.fullBayes,
    meanNet: mean[policyName],
  }));

  function beliefOf(its: SellingSituation, { choice, leastAccepted }: SellingPolicy): Belief {
    const states = statesOf(its);
    const discounts = offerDiscounts(its.behaviour);
    return {
      situation: its,
      course: followPath(its, states, discounts, choice, leastAccepted),
      states,
      askOf,
      discounts,
      hazard: its.weeks.map(({ shift, demand }, week) =>
        Float64Array.from(states, (state) => {
          const over = askOf[week]! - state.level - shift;
          const { pays, offers } = enquiryOutcome(its.behaviour, discounts, its.values.scatter, over, -Infinity);
          const seen = offers.reduce((all, each) => all + each.probability, pays);
          return state.perWeek * demand * enquiryFactor(its.behaviour, over) * seen;
        }),
      ),
    };
  }
}

/** Log of how likely each state makes an offer, up to a constant. */
function offerLikelihood({ situation, states, askOf, discounts }: Belief, offer: number, week: number): number[] {
  const { shift } = situation.weeks[week]!;
  return states.map((state) => {
    const over = askOf[week]! - state.level - shift;
    return (
      state.perWeek *
      enquiryFactor(situation.behaviour, over) *
      offerDensity(situation.behaviour, discounts, situation.values.scatter, over, offer - state.level - shift)
    );
  });
}

function waiting(belief: Belief, offer: number, week: number, part: number, now: Float64Array): number {
  const likelihood = offerLikelihood(belief, offer, week);
  let total = 0;
  let sum = 0;
  now.forEach((probability, s) => {
    const rest = belief.course.continuation[s]!;
    const weight = probability * likelihood[s]!;
    total += weight;
    sum += weight * ((1 - part) * rest[week]! + part * rest[week + 1]!);
  });
  return total > 0 ? sum / total : Infinity;
}

/** One machine with its hidden level and rate; what its sale leaves under a rule. */
function sell(
  { weeks, behaviour, values, net, holding, unsold }: SellingSituation,
  askOf: readonly number[],
  distribution: LogPriceDistribution,
  rule: Rule,
  random: Random,
): number {
  const normal = (): number => normalQuantile(random.next() * 0.9999999 + 5e-8);
  const pick = random.next();
  let reached = 0;
  const part =
    distribution.components.find((each) => (reached += each.weight) >= pick) ?? distribution.components.at(-1)!;
  const level = part.mean + normal() * Math.sqrt(part.meanVariance + behaviour.sharedNoise * part.noise ** 2);
  const perWeek = 1.5 * Math.exp(0.8 * normal());
  const belief = rule.belief ? Float64Array.from(rule.belief.states, (state) => state.probability) : null;
  for (let week = 0; week < weeks.length; week++) {
    const { shift, demand } = weeks[week]!;
    const ask = askOf[week]!;
    const rate = perWeek * demand * enquiryFactor(behaviour, ask - level - shift);
    let seenUpTo = 0;
    for (let time = 0; ;) {
      time += -Math.log(1 - random.next()) / rate;
      const worth = level + shift + values.scatter * normal();
      const [offers, under] = [random.next() < behaviour.offerShare, random.next()];
      if (time >= 1) break;
      if (worth >= ask) return net(ask) - holding * (week + 1);
      if (!offers) continue;
      const [least, most] = behaviour.offersUnder;
      const offer = worth + Math.log(1 - least - (most - least) * under);
      if (belief) learn(rule.belief!.hazard[week]!, time - seenUpTo);
      seenUpTo = time;
      if (rule.accepts(offer, week, time, belief)) return net(offer) - holding * (week + 1);
      if (belief) {
        const likelihood = offerLikelihood(rule.belief!, offer, week);
        belief.forEach((probability, s) => (belief[s] = probability * likelihood[s]!));
      }
    }
    if (belief) learn(rule.belief!.hazard[week]!, 1 - seenUpTo);
  }
  return unsold(level) - holding * weeks.length;

  function learn(hazard: Float64Array, time: number): void {
    belief!.forEach((probability, s) => (belief![s] = probability * Math.exp(-hazard[s]! * time)));
  }
}

import {
  type BuyerBehaviour,
  enquiryFactor,
  enquiryOutcome,
  offerDensity,
  offerDiscounts,
  type ReservationValues,
} from './buyers-model.js';
import { bestPricePath, type PathStage } from './price-path.js';

/** A machine on offer in a market that is not fully known. Prices are logs of what a buyer hands over in all. */
export interface SellingSituation {
  values: ReservationValues;
  /** Enquiries a week at the going price at the height of demand, with the probability of each rate. */
  rates: readonly { probability: number; perWeek: number }[];
  /** Probability of each level (first index) and rate together, where the listing's own history says more; they add up to one. */
  jointProbabilities?: readonly (readonly number[])[];
  behaviour: BuyerBehaviour;
  weeks: readonly {
    /** Shift of the going price against the level, in the log. */
    shift: number;
    /** Demand as a share of the height's, times the part of the week that is left. */
    demand: number;
  }[];
  /** What a sale at a price leaves. */
  net(price: number): number;
  /** Cost of each week begun unsold. */
  holding: number;
  /** Worth of the machine at the end if it is unsold and the level is so high. */
  unsold(level: number): number;
  /** Logs of the candidate asks, rising. */
  asks: readonly number[];
  /** First week of each block; the ask changes only there. */
  blocks: readonly number[];
  mayRaise: boolean;
}

export interface SellingState {
  level: number;
  perWeek: number;
  probability: number;
}

export interface SellingPolicy {
  states: SellingState[];
  /** Index of the ask of each block. */
  choice: number[];
  /** Log of the least offer to accept in each week: what waiting is worth, given that such an offer came. */
  leastAccepted: number[];
  expectedNet: number;
  /** By state and week: probability of being there unsold, and what the rest is then worth; one entry more than weeks. */
  reach: Float64Array[];
  continuation: Float64Array[];
  /** Every end: a price (not its log) after so many weeks, or null for unsold with what it is then worth. */
  endings: { price: number | null; net: number; weeks: number; probability: number }[];
}

const ROUNDS = 3;
const OFFER_GRID = 40;

/**
 * The asks and the least acceptable offers of greatest expected net proceeds.
 *
 * Path and thresholds depend on each other and are found in turn: the path of `bestPricePath` for given thresholds, then
 * thresholds from what waiting is worth on that path. An offer is news of the market: what waiting is worth is taken
 * over the states as they are likely given that it came.
 */
export function planSelling(situation: SellingSituation): SellingPolicy {
  const { asks } = situation;
  const discounts = offerDiscounts(situation.behaviour);
  const states = statesOf(situation);
  // To begin with: a tenth under the median going price.
  let leastAccepted = situation.weeks.map(({ shift }) => middleLevel(states) + shift - 0.1);
  let choice: number[] = situation.blocks.map(() => asks.length - 1);
  for (let round = 0; round < ROUNDS; round++) {
    const stages = stagesOf(situation, states, discounts, leastAccepted);
    ({ choice } = bestPricePath({
      states: states.map((state) => state.probability),
      stages,
      salvage: states.map((state) => situation.unsold(state.level)),
      mayRaise: situation.mayRaise,
    }));
    for (let inner = 0; inner < 2; inner++) {
      const course = followPath(situation, states, discounts, choice, leastAccepted);
      leastAccepted = thresholds(situation, states, discounts, choice, course);
    }
  }
  const course = followPath(situation, states, discounts, choice, leastAccepted);
  return {
    states,
    choice,
    leastAccepted,
    ...course,
    endings: endingsOf(situation, states, discounts, choice, leastAccepted, course.reach),
  };
}

export function statesOf({ values, rates, jointProbabilities }: SellingSituation): SellingState[] {
  return values.levels.flatMap(({ log, probability }, i) =>
    rates.map((rate, j) => ({
      level: log,
      perWeek: rate.perWeek,
      probability: jointProbabilities?.[i]?.[j] ?? probability * rate.probability,
    })),
  );
}

function middleLevel(states: readonly SellingState[]): number {
  return states.reduce((sum, state) => sum + state.probability * state.level, 0);
}

const blockOf = ({ blocks }: SellingSituation, week: number): number => blocks.findLastIndex((start) => start <= week);

/** How many enquire in a week, as a multiple of the rate, the probability that one buys, and what that leaves. */
interface Enquiry {
  enquiries: number;
  buys: number;
  netOfSale: number;
}

function perEnquiry(
  { behaviour, values, weeks, net }: SellingSituation,
  discounts: readonly number[],
  level: number,
  week: number,
  ask: number,
  leastAccepted: number,
): Enquiry {
  const { shift, demand } = weeks[week]!;
  const going = level + shift;
  const { pays, offers } = enquiryOutcome(behaviour, discounts, values.scatter, ask - going, leastAccepted - going);
  let buys = pays;
  let sum = pays * net(ask);
  for (const { probability, meanOverGoing } of offers) {
    buys += probability;
    sum += probability * net(going + Math.log(meanOverGoing));
  }
  return { enquiries: demand * enquiryFactor(behaviour, ask - going), buys, netOfSale: buys > 0 ? sum / buys : 0 };
}

function stagesOf(
  situation: SellingSituation,
  states: readonly SellingState[],
  discounts: readonly number[],
  leastAccepted: readonly number[],
): PathStage[][] {
  const { asks, blocks, weeks, holding, values, rates } = situation;
  const stages = states.map(() =>
    blocks.map(() => ({ gain: new Float64Array(asks.length), stay: new Float64Array(asks.length).fill(1) })),
  );
  values.levels.forEach(({ log }, i) => {
    for (let week = 0; week < weeks.length; week++) {
      const block = blockOf(situation, week);
      for (let ask = 0; ask < asks.length; ask++) {
        const { enquiries, buys, netOfSale } = perEnquiry(
          situation,
          discounts,
          log,
          week,
          asks[ask]!,
          leastAccepted[week]!,
        );
        for (let j = 0; j < rates.length; j++) {
          const { gain, stay } = stages[i * rates.length + j]![block]!;
          const sale = -Math.expm1(-rates[j]!.perWeek * enquiries * buys);
          gain[ask]! += stay[ask]! * (sale * netOfSale - holding);
          stay[ask]! *= 1 - sale;
        }
      }
    }
  });
  return stages;
}

/** Follows one path of asks through all states. */
export function followPath(
  situation: SellingSituation,
  states: readonly SellingState[],
  discounts: readonly number[],
  choice: readonly number[],
  leastAccepted: readonly number[],
): Pick<SellingPolicy, 'reach' | 'continuation' | 'expectedNet'> {
  const { weeks, holding, asks } = situation;
  const reach: Float64Array[] = [];
  const continuation: Float64Array[] = [];
  let expectedNet = 0;
  for (const state of states) {
    const sales = weeks.map((_, week) => {
      const ask = asks[choice[blockOf(situation, week)]!]!;
      const { enquiries, buys, netOfSale } = perEnquiry(
        situation,
        discounts,
        state.level,
        week,
        ask,
        leastAccepted[week]!,
      );
      return { probability: -Math.expm1(-state.perWeek * enquiries * buys), netOfSale };
    });
    const there = new Float64Array(weeks.length + 1);
    const rest = new Float64Array(weeks.length + 1);
    there[0] = state.probability;
    sales.forEach(({ probability }, week) => (there[week + 1] = there[week]! * (1 - probability)));
    rest[weeks.length] = situation.unsold(state.level);
    for (let week = weeks.length - 1; week >= 0; week--) {
      const { probability, netOfSale } = sales[week]!;
      rest[week] = probability * netOfSale - holding + (1 - probability) * rest[week + 1]!;
    }
    reach.push(there);
    continuation.push(rest);
    expectedNet += state.probability * rest[0]!;
  }
  return { reach, continuation, expectedNet };
}

function thresholds(
  situation: SellingSituation,
  states: readonly SellingState[],
  discounts: readonly number[],
  choice: readonly number[],
  course: Pick<SellingPolicy, 'reach' | 'continuation'>,
): number[] {
  const { weeks, asks, net } = situation;
  return weeks.map((_, week) => {
    const ask = asks[choice[blockOf(situation, week)]!]!;
    const low = ask - 0.9;
    const step = 0.9 / OFFER_GRID;
    const gain = (offer: number): number =>
      net(offer) - waitingWorth(situation, states, discounts, course, week, ask, offer);
    // From the ask down, as far as accepting is better.
    let least = ask;
    let above = gain(ask - 1e-9);
    if (above < 0) return ask;
    while (least - step > low) {
      const below = gain(least - step);
      if (below < 0) return least - (step * above) / (above - below);
      least -= step;
      above = below;
    }
    return least;
  });
}

/** What waiting is worth in a week, over the states as they are likely given that such an offer came. */
export function waitingWorth(
  { behaviour, values, weeks }: SellingSituation,
  states: readonly SellingState[],
  discounts: readonly number[],
  { reach, continuation }: Pick<SellingPolicy, 'reach' | 'continuation'>,
  week: number,
  ask: number,
  offer: number,
): number {
  const { shift } = weeks[week]!;
  let total = 0;
  let sum = 0;
  let withoutNews = 0;
  let all = 0;
  states.forEach((state, s) => {
    const going = state.level + shift;
    const there = reach[s]![week]!;
    // Half way through the week.
    const rest = (continuation[s]![week]! + continuation[s]![week + 1]!) / 2;
    const likelihood =
      there *
      state.perWeek *
      enquiryFactor(behaviour, ask - going) *
      offerDensity(behaviour, discounts, values.scatter, ask - going, offer - going);
    total += likelihood;
    sum += likelihood * rest;
    all += there;
    withoutNews += there * rest;
  });
  if (total > 1e-12 * all) return sum / total;
  return all > 0 ? withoutNews / all : continuation[0]![week]!;
}

function endingsOf(
  situation: SellingSituation,
  states: readonly SellingState[],
  discounts: readonly number[],
  choice: readonly number[],
  leastAccepted: readonly number[],
  reach: readonly Float64Array[],
): SellingPolicy['endings'] {
  const { weeks, behaviour, values, asks, holding, net } = situation;
  const endings: SellingPolicy['endings'] = [];
  weeks.forEach(({ shift }, week) => {
    const ask = asks[choice[blockOf(situation, week)]!]!;
    const byOffer = discounts.map(() => ({ probability: 0, sum: 0 }));
    let atAsk = 0;
    states.forEach((state, s) => {
      const sold = reach[s]![week]! - reach[s]![week + 1]!;
      if (sold <= 0) return;
      const going = state.level + shift;
      const { pays, offers } = enquiryOutcome(
        behaviour,
        discounts,
        values.scatter,
        ask - going,
        leastAccepted[week]! - going,
      );
      const buys = offers.reduce((all, each) => all + each.probability, pays);
      if (buys <= 0) return;
      atAsk += (sold * pays) / buys;
      offers.forEach(({ probability, meanOverGoing }, k) => {
        const part = (sold * probability) / buys;
        byOffer[k]!.probability += part;
        byOffer[k]!.sum += part * Math.exp(going) * meanOverGoing;
      });
    });
    const add = (price: number, probability: number): void => {
      if (probability > 0)
        endings.push({ price, net: net(Math.log(price)) - holding * (week + 1), weeks: week + 1, probability });
    };
    add(Math.exp(ask), atAsk);
    for (const { probability, sum } of byOffer) if (probability > 0) add(sum / probability, probability);
  });
  states.forEach((state, s) => {
    const probability = reach[s]![weeks.length]!;
    if (probability > 0)
      endings.push({
        price: null,
        net: situation.unsold(state.level) - holding * weeks.length,
        weeks: weeks.length,
        probability,
      });
  });
  return endings;
}

/** Whether the rate of enquiries is learnt from a shop's own listings. The true levels stay hidden from the learner. */
import {
  type BuyerBehaviour,
  enquiryFactor,
  type ReservationValues,
  usualBehaviour,
} from '../../../src/engine/price/buyers-model.js';
import { learnDemand, type PastListing } from '../../../src/engine/price/demand.js';
import { normalQuantile } from '../../../src/engine/statistics/index.js';
import { Random } from '../../../src/engine/statistics/random.js';

export interface RateRow {
  measure: 'rate';
  trueRate: number;
  trueElasticity: number;
  listings: number;
  offersRecorded: boolean;
  experiments: number;
  /** Mean of the estimates over all experiments. */
  learntRate: number;
  /** Mean of |estimate ÷ truth − 1|. */
  meanError: number;
  learntElasticity: number;
}

const LEVEL_DEVIATION = 0.18;
const SCATTER = 0.19;
const LEVELS = 15;
/** Demand by week: a bell around the ninth. */
const demandIn = (week: number): number => 0.15 + 0.85 * Math.exp(-0.5 * ((week - 9) / 6.4) ** 2);
const shiftIn = (week: number): number => 0.12 * (Math.exp(-0.5 * ((week - 9) / 6.4) ** 2) - 0.4);

export const values: ReservationValues = {
  levels: Array.from({ length: LEVELS }, (_, k) => ({
    probability: 1 / LEVELS,
    log: LEVEL_DEVIATION * normalQuantile((k + 0.5) / LEVELS),
  })),
  scatter: SCATTER,
};

/** One machine offered for half a year at asks that come down, offers accepted above a threshold that comes down with them. */
function drawListing(random: Random, perWeek: number, behaviour: BuyerBehaviour, offersRecorded: boolean): PastListing {
  const normal = (): number => normalQuantile(random.next() * 0.999999 + 5e-7);
  const level = LEVEL_DEVIATION * normal();
  const first = Math.log(1.05 + 0.2 * random.next());
  const stretches: PastListing['history']['stretches'][number][] = [];
  const offers: { stretch: number; amount: number }[] = [];
  for (let week = 0; week < 26; week++) {
    const ask = first - 0.08 * Math.floor(week / 5);
    const leastAccepted = ask - 0.045;
    const [shift, demand] = [shiftIn(week), demandIn(week)];
    // Enquirers come one by one; the first who buys ends it.
    for (let time = 0; ;) {
      const perDay = (perWeek * demand * enquiryFactor(behaviour, ask - level - shift)) / 7;
      time += -Math.log(1 - random.next()) / perDay;
      if (time >= 7) break;
      const worth = level + shift + SCATTER * normal();
      const sold = (price: number, byOffer: boolean): PastListing => {
        stretches.push({ demandWeeks: (demand * time) / 7, shift, ask, leastAccepted });
        return {
          values,
          history: { stretches, offersRecorded, offers, sale: { stretch: stretches.length - 1, price, byOffer } },
        };
      };
      if (worth >= ask) return sold(ask, false);
      if (random.next() >= behaviour.offerShare) continue;
      const [least, most] = behaviour.offersUnder;
      const amount = worth + Math.log(1 - least - (most - least) * random.next());
      offers.push({ stretch: stretches.length, amount });
      if (amount >= leastAccepted) return sold(amount, true);
    }
    stretches.push({ demandWeeks: demand, shift, ask, leastAccepted });
  }
  return { values, history: { stretches, offersRecorded, offers, sale: null } };
}

export function rateRow(
  trueRate: number,
  listings: number,
  offersRecorded: boolean,
  seed: number,
  experiments = 60,
  trueElasticity = usualBehaviour.elasticity,
): RateRow {
  const behaviour = { ...usualBehaviour, elasticity: trueElasticity };
  const learnt = Array.from({ length: experiments }, (_, k) => {
    const random = new Random(seed * 1000 + k, Math.round(trueRate * 100));
    return learnDemand(
      Array.from({ length: listings }, () => drawListing(random, trueRate, behaviour, offersRecorded)),
    );
  });
  const mean = (of: (one: (typeof learnt)[number]) => number): number =>
    learnt.reduce((sum, one) => sum + of(one), 0) / learnt.length;
  return {
    measure: 'rate',
    trueRate,
    trueElasticity,
    listings,
    offersRecorded,
    experiments,
    learntRate: mean((one) => one.perWeek),
    meanError: mean((one) => Math.abs(one.perWeek / trueRate - 1)),
    learntElasticity: mean((one) => one.elasticity),
  };
}

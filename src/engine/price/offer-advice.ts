import { offerDiscounts } from './buyers-model.js';
import { type SellingPolicy, type SellingSituation, waitingWorth } from './selling.js';

/** What to do about an offer; amounts are what a sale leaves, prices are logs of what the buyer hands over. */
export interface OfferAdvice {
  action: 'accept' | 'counter' | 'refuse';
  /** The price to counter with. */
  counter: number | null;
  /** What accepting, and what waiting would leave, given that such an offer came. */
  accepting: number;
  waiting: number;
  /** What waiting seemed worth before the offer was known. */
  waitingBefore: number;
  /** Expected of the counter: it may be taken, or the buyer goes and waiting is what is left. */
  countering: number | null;
  /** Probability that the counter is taken. */
  probabilityTaken: number | null;
}

/** Share of buyers who leave on any counter, even one within what the machine is worth to them. Judgement, no source. */
const LEAVES_ON_COUNTER = 0.1;
/** A counter has to promise this much more than the better of accepting and waiting. */
const WORTH_THE_TALK = 0.005;
const COUNTERS = 30;

/**
 * Accept an offer when it leaves at least what waiting is worth given that it came; else, or besides, counter where that
 * promises more. A buyer offers 2 to 15 percent under what the machine is worth to them, so a counter up to that is
 * taken, unless they leave; one who leaves is lost.
 * @param week of the situation in which the offer stands
 */
export function adviseOnOffer(
  situation: SellingSituation,
  policy: SellingPolicy,
  week: number,
  ask: number,
  offer: number,
): OfferAdvice {
  const { behaviour, net } = situation;
  const discounts = offerDiscounts(behaviour);
  const waiting = waitingWorth(situation, policy.states, discounts, policy, week, ask, offer);
  const waitingBefore = waitingWithoutNews(policy, week);
  const accepting = net(offer);
  let counter: { price: number; value: number; taken: number } | null = null;
  for (let k = 1; k <= COUNTERS; k++) {
    const price = offer + ((ask - offer) * k) / COUNTERS;
    const taken = (1 - LEAVES_ON_COUNTER) * probabilityWorth(situation, policy, discounts, week, ask, offer, price);
    const value = taken * net(price) + (1 - taken) * waiting;
    if (!counter || value > counter.value) counter = { price, value, taken };
  }
  const best = Math.max(accepting, waiting);
  const talks = counter && counter.value > best + WORTH_THE_TALK * Math.abs(best) && counter.taken > 0.05;
  const made = talks ? counter : null;
  return {
    action: made ? 'counter' : accepting >= waiting ? 'accept' : 'refuse',
    counter: made?.price ?? null,
    accepting,
    waiting,
    waitingBefore,
    countering: made?.value ?? null,
    probabilityTaken: made?.taken ?? null,
  };

  /** Probability that the machine is worth a price to whoever made the offer. */
  function probabilityWorth(
    { weeks, values: { scatter } }: SellingSituation,
    { states, reach }: SellingPolicy,
    slices: readonly number[],
    at: number,
    asked: number,
    offered: number,
    price: number,
  ): number {
    let all = 0;
    let worth = 0;
    states.forEach((state, s) => {
      const going = state.level + weeks[at]!.shift;
      for (const slice of slices) {
        const value = offered - slice;
        if (value >= asked) continue;
        const likelihood = reach[s]![at]! * state.perWeek * Math.exp(-0.5 * ((value - going) / scatter) ** 2);
        all += likelihood;
        if (value >= price) worth += likelihood;
      }
    });
    return all > 0 ? worth / all : 0;
  }
}

/** What waiting is worth in a week, half way through it, without news. */
export function waitingWithoutNews({ reach, continuation }: SellingPolicy, week: number): number {
  const all = reach.reduce((sum, there) => sum + there[week]!, 0);
  return (
    reach.reduce(
      (sum, there, s) => sum + (there[week]! * (continuation[s]![week]! + continuation[s]![week + 1]!)) / 2,
      0,
    ) / (all || 1)
  );
}

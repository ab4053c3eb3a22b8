import { normalCdf } from '../statistics/index.js';
import type { LogPriceDistribution } from './price-distribution.js';
import { mixtureQuantile } from './price-distribution.js';

/** How buyers behave: what no comparable tells. */
export interface BuyerBehaviour {
  /** Share of the noise's variance that all buyers of one machine share; the rest lies between buyers. */
  sharedNoise: number;
  /** Enquiries fall with the ask over the going price to this power … */
  elasticity: number;
  /** … and rise at most by this factor when it lies below. */
  mostEnquiries: number;
  /** Share of the buyers to whom it is worth less than the ask who make an offer. */
  offerShare: number;
  /** An offer lies this much under what it is worth to the buyer, as shares, all between alike likely. */
  offersUnder: readonly [number, number];
}

/**
 * Judgement, no source: two fifths of the noise is the machine's, the rest the buyers'; enquiries fall with the fourth
 * power of the ask over the going price and rise by at most half; half of those who find the ask too high make an offer,
 * 2 to 15 percent under what the machine is worth to them.
 */
export const usualBehaviour: BuyerBehaviour = {
  sharedNoise: 0.4,
  elasticity: 4,
  mostEnquiries: 1.5,
  offerShare: 0.5,
  offersUnder: [0.02, 0.15],
};

/** What one machine's buyers would pay: a level that they share and nobody knows, and a scatter between them. */
export interface ReservationValues {
  /** The market level, in the log, with the probability of each. */
  levels: { probability: number; log: number }[];
  /** Standard deviation of the log of a buyer's reservation value around the level. */
  scatter: number;
}

/** Splits a predicted price into the market level (all that is not known of the mean, and the shared noise) and the scatter. */
export function splitPrediction(
  { components }: LogPriceDistribution,
  { sharedNoise }: BuyerBehaviour,
  count = 11,
): ReservationValues {
  const parts = components.map(({ weight, mean, meanVariance, noise }) => ({
    weight,
    mean,
    deviation: Math.sqrt(meanVariance + sharedNoise * noise * noise),
  }));
  const variance = components.reduce((sum, { weight, noise }) => sum + weight * noise * noise, 0);
  return {
    levels: Array.from({ length: count }, (_, k) => ({
      probability: 1 / count,
      log: mixtureQuantile(parts, (k + 0.5) / count),
    })),
    scatter: Math.sqrt((1 - sharedNoise) * variance),
  };
}

/** Slices of the range in which offers lie under the reservation value. */
const OFFER_SLICES = 3;

/** Logs of one less the middle of each slice. */
export function offerDiscounts({ offersUnder: [least, most] }: BuyerBehaviour): number[] {
  return Array.from({ length: OFFER_SLICES }, (_, k) =>
    Math.log(1 - least - ((most - least) * (k + 0.5)) / OFFER_SLICES),
  );
}

/** Enquiries at a log ask over the going price, as a multiple of those at the going price. */
export function enquiryFactor({ elasticity, mostEnquiries }: BuyerBehaviour, logOver: number): number {
  return Math.min(mostEnquiries, Math.exp(-elasticity * logOver));
}

/** What one enquirer does at an ask, all prices as logs over the going price. */
export interface EnquiryOutcome {
  /** Probability of paying the ask. */
  pays: number;
  /** Probability of an offer at or above the least that is accepted, and the mean of such an offer over the going price. */
  offers: { probability: number; meanOverGoing: number }[];
}

export function enquiryOutcome(
  behaviour: BuyerBehaviour,
  discounts: readonly number[],
  scatter: number,
  logAsk: number,
  leastAccepted: number,
): EnquiryOutcome {
  const below = normalCdf(logAsk / scatter);
  const offers: EnquiryOutcome['offers'] = [];
  let belowTilted = -1;
  for (const discount of discounts) {
    const least = leastAccepted - discount;
    if (least >= logAsk) continue;
    const within = below - normalCdf(least / scatter);
    if (within < 1e-9) continue;
    if (belowTilted < 0) belowTilted = normalCdf(logAsk / scatter - scatter);
    offers.push({
      probability: (behaviour.offerShare * within) / discounts.length,
      meanOverGoing:
        (Math.exp(discount + (scatter * scatter) / 2) * (belowTilted - normalCdf(least / scatter - scatter))) / within,
    });
  }
  return { pays: 1 - below, offers };
}

/**
 * Density of the log of an offer of one enquirer, at a log offer over the going price. An offer so near the ask that the
 * model knows no buyer for it counts as one of a buyer to whom the machine is just worth the ask.
 */
export function offerDensity(
  { offerShare }: BuyerBehaviour,
  discounts: readonly number[],
  scatter: number,
  logAsk: number,
  logOffer: number,
): number {
  let sum = 0;
  for (const discount of discounts) {
    const value = logOffer - discount;
    if (value < logAsk) sum += Math.exp(-0.5 * (value / scatter) ** 2);
  }
  if (logOffer - discounts[0]! >= logAsk) sum = Math.exp(-0.5 * (logAsk / scatter) ** 2);
  return (offerShare * sum) / (discounts.length * scatter * Math.sqrt(2 * Math.PI));
}

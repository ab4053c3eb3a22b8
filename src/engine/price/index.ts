/**
 * Price: what a machine will bring, what to ask and when to come down, what to do about an offer, and what to bid for
 * the next.
 */
export {
  type AskBreakdown,
  type AskInput,
  type AskPlan,
  type AskStep,
  planAsk,
  probabilitySoldBy,
  type UnsoldWorth,
} from './ask-plan.js';
export { type ReservationValues, splitPrediction, usualBehaviour } from './buyers-model.js';
export { type Demand, jointAfter, learnDemand, type PastListing } from './demand.js';
export {
  type EffortBelief,
  type EffortPrior,
  learnEffort,
  logNormalNodes,
  type PastEffort,
  type Spread,
} from './effort.js';
export { estimateFromCost, estimateFromMarket, type PriceEstimate } from './expected-price.js';
export { type BidInput, type BidResult, type BidRule, highestBid, type UnknownFault } from './highest-bid.js';
export { listingHistory, type ListingRecord } from './listing-record.js';
export { type MarginRange, marginRange } from './margin.js';
export { learnMarket, type MachineTraits, type MarketModel, type SeenPrice } from './market-model.js';
export { adviseOnOffer, type OfferAdvice } from './offer-advice.js';
export { usualBeliefs } from './price-beliefs.js';
export { surpriseOf } from './price-distribution.js';
export { computeReservationPrice } from './reservation-price.js';
export { type Seasonality } from './seasonality.js';
export { agreedPrice, netFunction, netOfSale, outlayFactor, priceForNet, type SellingTerms } from './terms.js';

/** Price: what a machine will fetch, what to ask and when to come down, the floor, and what to bid for the next. */
export { type AskInput, type AskMakeUp, type AskPlan, type AskStep, planAsk, probabilitySoldBy } from './ask.js';
export { type Bid, type BidInput, type BidLimit, highestBid } from './bid.js';
export { type Buyers, learnBuyers, type PastOffer } from './buyers.js';
export { type Comparable, type PriceBeliefs, type PricedMachine, type Season, usualBeliefs } from './comparable.js';
export {
  costPlusPrice,
  type EstimateInput,
  estimatePrice,
  type PriceEstimate,
  priceQuantile,
  probabilityPriceAtLeast,
} from './estimate.js';
export { type Alternatives, type FloorPrice, floorPrice, type SellOrFinish, sellOrFinish } from './floor.js';
export {
  bestFixedPrice,
  bestPrice,
  bestRevenue,
  type ExponentialDemand,
  fixedPriceRevenue,
} from './gallego-van-ryzin.js';
export { type LeastSquares, leastSquares } from './least-squares.js';
export { type MarginRange, marginRange } from './margin.js';
export { bestReplacementAge, replacementCostRate, replaceNowOrLater, type WearLaw } from './replace.js';
export { agreedPrice, netOfSale, outlayFactor, priceForNet, type SellingTerms } from './terms.js';

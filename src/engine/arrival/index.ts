export { type Belief, type Predictive } from './belief.js';
export {
  arrivalQuantile, chanceByDay, forecastArrival, HORIZON_DAYS, sampleArrivalOffset,
  type ArrivalForecast, type ForecastPart,
} from './forecast.js';
export { learnArrivals, STATED_PRIORS, type ArrivalModel, type ArrivalPriors } from './model.js';
export type { ArrivalLine, PromiseMade } from './record.js';
export {
  chanceOfCount, reorderPoint, STATED_USE_PRIOR, updateRate, type RateBelief, type ReorderPoint,
} from './reorder.js';
export { rankRescues, type RescueOption, type WaitingAsIs } from './rescue.js';

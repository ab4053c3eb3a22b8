export { type Belief, type Predictive } from './belief.js';
export {
  type ArrivalForecast,
  arrivalQuantile,
  chanceByDay,
  forecastArrival,
  type ForecastPart,
  HORIZON_DAYS,
  sampleArrivalOffset,
} from './forecast.js';
export { type ArrivalModel, type ArrivalPriors, learnArrivals, STATED_PRIORS } from './model.js';
export type { ArrivalLine, PromiseMade } from './record.js';
export {
  chanceOfCount,
  type RateBelief,
  type ReorderPoint,
  reorderPoint,
  STATED_USE_PRIOR,
  updateRate,
} from './reorder.js';
export { rankRescues, type RescueOption, type WaitingAsIs } from './rescue.js';

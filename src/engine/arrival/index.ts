export { type Belief, type Predictive } from './belief.js';
export {
  type ArrivalForecast,
  arrivalQuantile,
  forecastArrival,
  type ForecastPart,
  HORIZON_DAYS,
  probabilityByDate,
  sampleArrivalOffset,
} from './forecast.js';
export { type ArrivalModel, type ArrivalPriors, learnArrivals, STATED_PRIORS } from './model.js';
export type { ArrivalLine, PromiseMade } from './record.js';
export {
  probabilityOfCount,
  type RateBelief,
  type ReorderPoint,
  reorderPoint,
  STATED_USE_PRIOR,
  updateRate,
} from './reorder.js';
export { rankShortageOptions, type ShortageOption, type WaitingAsIs } from './shortage-options.js';

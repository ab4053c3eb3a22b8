export { type Belief, type Predictive } from './belief.js';
export {
  arrivalQuantile, chanceByDay, forecastArrival, HORIZON_DAYS, sampleArrivalOffset,
  type ArrivalForecast, type ForecastPart,
} from './forecast.js';
export { learnArrivals, STATED_PRIORS, type ArrivalModel, type ArrivalPriors } from './model.js';
export type { ArrivalLine, PromiseMade } from './record.js';

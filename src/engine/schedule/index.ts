export { boundOf, type LowerBound, lowerBound } from './bounds.js';
export { Calendar, intersect } from './calendar.js';
export { NEVER } from './compile.js';
export { type CriticalPath, criticalPath, type PathResult, type PathTask } from './critical-path.js';
export type { Reason } from './explain.js';
export {
  compareSchedules,
  type JobDifference,
  type JobSchedule,
  type Quantiles,
  type ResourceForecast,
  type ScheduledRecords,
  type TaskForecast,
} from './forecast.js';
export { type LengthModel } from './lengths.js';
export type { FoundLength, LearntLength, SharedLuck } from './luck.js';
export { compareCost, type Cost } from './objective.js';
export { normalBelow, pert, pertMean, type PertResult, pertVariance, type ThreePoint } from './pert.js';
export * from './problem.js';
export {
  makeSchedule,
  type Order,
  type Schedule,
  type ScheduledJob,
  type ScheduledTask,
  type ScheduleOptions,
} from './schedule.js';
export { type SearchOptions, type SearchResult, searchSchedule } from './search.js';
export type { Stability } from './shop-model.js';
export { type Arrival, type Deadline, simulate, type SimulationInput } from './simulate.js';

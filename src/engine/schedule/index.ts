export type { Reason } from './generation/explain.js';
export {
  makeSchedule,
  type Order,
  type Schedule,
  type ScheduledJob,
  type ScheduledTask,
  type ScheduleOptions,
} from './generation/schedule.js';
export { boundOf, type LowerBound, lowerBound } from './problem/bounds.js';
export { Calendar, intersect } from './problem/calendar.js';
export { NEVER } from './problem/compile.js';
export { type CriticalPath, criticalPath, type PathResult, type PathTask } from './problem/critical-path.js';
export { compareCost, type Cost } from './problem/objective.js';
export * from './problem/problem.js';
export { type SearchOptions, type SearchResult, searchSchedule } from './search/search.js';
export type { Stability } from './search/shop-model.js';
export {
  compareSchedules,
  type JobDifference,
  type JobSchedule,
  type Quantiles,
  type ResourceForecast,
  type ScheduledRecords,
  type TaskForecast,
} from './simulation/forecast.js';
export { type LengthModel } from './simulation/lengths.js';
export type { FoundLength, LearntLength, SharedLuck } from './simulation/luck.js';
export { normalBelow, pert, pertMean, type PertResult, pertVariance, type ThreePoint } from './simulation/pert.js';
export { Replay, type ReplayedFuture, type ReplayList } from './simulation/replay.js';
export { type Arrival, type Deadline, simulate, type SimulationInput } from './simulation/simulate.js';

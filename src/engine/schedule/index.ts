export * from './problem.js';
export { Calendar, intersect } from './calendar.js';
export { criticalPath, type CriticalPath, type PathResult, type PathTask } from './critical-path.js';
export { normalBelow, pert, pertMean, pertVariance, type PertResult, type ThreePoint } from './pert.js';
export type { Reason } from './explain.js';
export { compareCost, type Cost } from './objective.js';
export { makeSchedule, type Order, type Schedule, type ScheduledJob, type ScheduledTask, type ScheduleOptions } from './schedule.js';

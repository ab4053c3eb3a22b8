import { routeTasks } from '../../work/routes.js';
import type { RouteStep } from './capacity.js';

/** A stored route's tasks, as capacity takes them. */
export const stepsOf = (tasks: Parameters<typeof routeTasks>[0]): RouteStep[] => routeTasks(tasks);

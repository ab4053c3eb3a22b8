import type { RouteTask } from '../../work/routes.shapes.js';
import type { RouteStep } from './capacity.js';

/** A stored route's tasks, as capacity takes them. */
export const stepsOf = (tasks: unknown): RouteStep[] =>
  (tasks as RouteTask[]).map((task) => ({
    ...task,
    placeKind: task.placeKind ?? null,
    after: task.after.map((link) => ({ ...link, reason: link.reason ?? null })),
  }));

import { z } from 'zod';
import { findCycle } from '../engine/graph.js';
import { MachineKind } from '../machines/machines.shapes.js';
import { choice, editableFields, instant, int, longText, shape, text } from '../platform/shapes.js';
import { PlaceKind } from '../shop/shop.shapes.js';
import { CautionCode } from './cautions.js';

export const TaskKind = choice('TaskKind', [
  'diagnose',
  'strip',
  'clean',
  'straighten',
  'derust',
  'prime',
  'colour',
  'clear',
  'cure',
  'assemble',
  'service',
  'test',
  'repair',
  'parts',
  'offer',
]);

/** Ten years: nothing in a shop waits longer. */
export const minutes = int(0, 5_256_000);

export const ForbiddenInterval = shape(
  'ForbiddenInterval',
  { fromMinutes: minutes, toMinutes: minutes },
  "Minutes elapsed since the predecessor's finish in which the task may not start; both ends are " +
    'allowed. From 60 to 2880, say: recoat within the first hour or after two days.',
);
export const forbiddenIntervals = z
  .array(ForbiddenInterval)
  .max(10)
  .superRefine((intervals, check) => {
    intervals.forEach(({ fromMinutes, toMinutes }, index) => {
      if (toMinutes <= fromMinutes)
        check.addIssue({ code: 'custom', message: 'must be more than fromMinutes', path: [index, 'toMinutes'] });
    });
  });

/** Letters, digits and joiners: short, and safe in a list. */
export const taskCode = z
  .string()
  .regex(/^[A-Za-z0-9][A-Za-z0-9_.-]{0,39}$/, 'must be a short code such as prime-1: letters, digits, dots, dashes');

/** What a piece of work takes, in a route as in a job. */
export const taskFields = {
  name: text(160),
  kind: TaskKind,
  handsOnMinutes: minutes.meta({ scalar: 'Int', description: 'The likeliest minutes of work.' }),
  minMinutes: minutes,
  maxMinutes: minutes,
  people: int(0, 20).meta({
    scalar: 'Int',
    description: 'How many people it takes; 0 for a cure, which nobody attends.',
  }),
  placeKind: PlaceKind.nullish(),
  pausable: z.boolean().meta({ description: 'Whether it may stop at closing time and go on the next day.' }),
  needsPaintWeather: z.boolean(),
  cureMinutes: minutes.meta({
    scalar: 'Int',
    description: 'Minutes it goes on holding its place after the work, with nobody at it.',
  }),
  cautions: z.array(CautionCode).max(20),
};
export const taskDefaults = {
  people: taskFields.people.default(1),
  pausable: taskFields.pausable.default(true),
  needsPaintWeather: taskFields.needsPaintWeather.default(false),
  cureMinutes: taskFields.cureMinutes.default(0),
  cautions: taskFields.cautions.default([]),
};

/** @returns which of the three-point minutes stands out of order, or undefined */
export function minutesFault(task: {
  minMinutes: number;
  handsOnMinutes: number;
  maxMinutes: number;
}): { detail: string; pointer: string } | undefined {
  if (task.minMinutes > task.handsOnMinutes)
    return { detail: 'must not be more than handsOnMinutes', pointer: '/minMinutes' };
  if (task.maxMinutes < task.handsOnMinutes)
    return { detail: 'must not be less than handsOnMinutes', pointer: '/maxMinutes' };
  return undefined;
}

export const linkFields = {
  minWaitMinutes: minutes.default(0),
  forbiddenIntervals: forbiddenIntervals.default([]),
  reason: text(400).nullish(),
};

export const RouteAfter = shape(
  'RouteAfter',
  { code: taskCode, ...linkFields },
  'What must come before a task of a route.',
);
export const RouteTask = shape(
  'RouteTask',
  { code: taskCode, ...taskFields, ...taskDefaults, after: z.array(RouteAfter).max(40).default([]) },
  'One task of a route.',
);
export type RouteTask = z.output<typeof RouteTask>;

const routeTasks = z
  .array(RouteTask)
  .min(1)
  .max(200)
  .superRefine((tasks, check) => {
    const fault = (message: string, ...path: (string | number)[]) => check.addIssue({ code: 'custom', message, path });
    const codes = new Set<string>();
    const edges: [string, string][] = [];
    tasks.forEach((task, index) => {
      if (codes.has(task.code)) fault(`another task has the code ${task.code}`, index, 'code');
      codes.add(task.code);
      const wrong = minutesFault(task);
      if (wrong) fault(wrong.detail, index, wrong.pointer.slice(1));
    });
    tasks.forEach((task, index) => {
      task.after.forEach((link, place) => {
        if (!codes.has(link.code)) fault(`the route has no task ${link.code}`, index, 'after', place, 'code');
        if (task.after.findIndex(({ code }) => code === link.code) < place)
          fault(`${link.code} is already named`, index, 'after', place, 'code');
        edges.push([link.code, task.code]);
      });
    });
    const circle = findCycle(edges);
    if (circle) fault(`goes round in a circle: ${circle.join(' → ')}`);
  });

export const Route = shape(
  'Route',
  {
    ...editableFields,
    name: z.string(),
    machineKind: MachineKind,
    description: z.string().nullable(),
    tasks: z.array(RouteTask),
    archivedAt: instant.nullable(),
  },
  'A reusable list of tasks with their order.',
);
const routeFields = { name: text(120), machineKind: MachineKind, description: longText.nullish(), tasks: routeTasks };
export const RouteCreate = z.strictObject(routeFields);
export const RouteChange = z.strictObject(z.object(routeFields).partial().shape);

/** Laying a route's tasks out on a job. */
import { lookUp } from '../engine/look-up.js';
import type { Prisma } from '../platform/database/client/client.js';
import { Conflict, NotFound, Refused } from '../platform/errors.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';
import { settleJob } from './jobs.js';
import type { RouteTask } from './routes.shapes.js';

/** A route's tasks as they follow each other, each with what must come before it: always fetched with it. */
export const withRouteTasks = {
  tasks: {
    orderBy: { position: 'asc' as const },
    include: {
      after: { orderBy: { position: 'asc' as const }, include: { predecessor: { select: { code: true } } } },
    },
  },
};

/** The tasks given, which the shape has checked, replace all there were. */
export async function writeRouteTasks(context: OperationContext, routeId: string, tasks: RouteTask[]): Promise<void> {
  const shopId = context.shop.id;
  await context.tx.routeTaskLink.deleteMany({ where: { task: { routeId } } });
  await context.tx.routeTask.deleteMany({ where: { routeId } });
  const made = await context.tx.routeTask.createManyAndReturn({
    data: tasks.map(({ after: _after, ...task }, index) => ({ ...task, shopId, routeId, position: index + 1 })),
    select: { id: true, code: true },
  });
  const idOf = new Map(made.map(({ id, code }) => [code, id]));
  await context.tx.routeTaskLink.createMany({
    data: tasks.flatMap(({ code: task, after }) =>
      after.map(({ code, reason, ...link }, index) => ({
        ...link,
        shopId,
        taskId: lookUp(idOf, task),
        predecessorId: lookUp(idOf, code),
        position: index + 1,
        reason: reason ?? null,
      })),
    ),
  });
}

type StoredRouteTask = Prisma.RouteGetPayload<{ include: typeof withRouteTasks }>['tasks'][number];

/** Stored tasks in the route's own words: what comes before is named by its code. */
export const routeTasks = (tasks: readonly StoredRouteTask[]) =>
  tasks.map(({ id: _id, shopId: _shop, routeId: _route, position: _place, createdAt: _at, after, ...task }) => ({
    ...task,
    // As below.
    cautions: task.cautions as RouteTask['cautions'],
    after: after.map(({ predecessor, minWaitMinutes, forbiddenIntervals, reason }) => ({
      code: predecessor.code,
      minWaitMinutes,
      // Written by `writeRouteTasks` alone, in the shape's own form.
      forbiddenIntervals: forbiddenIntervals as unknown as RouteTask['after'][number]['forbiddenIntervals'],
      reason,
    })),
  }));

/**
 * Adds a route's tasks and their links to a job, behind the tasks it has.
 * @param prefix put before each code, so that a route can be laid out twice
 * @throws NotFound, Conflict `archived`, Refused `other-kind` or Conflict `code-taken`
 */
export async function applyRouteTo(
  context: OperationContext,
  job: Stored<'job'>,
  routeId: string,
  prefix = '',
): Promise<void> {
  const route = await context.tx.route.findFirst({ where: { id: routeId }, include: withRouteTasks });
  if (!route) throw new NotFound('route', routeId);
  if (route.archivedAt) throw new Conflict('archived', 'This route was archived and is only kept for history.');
  const machine = await context.tx.machine.findUniqueOrThrow({ where: { id: job.machineId }, select: { kind: true } });
  if (route.machineKind !== 'other' && machine.kind !== 'other' && route.machineKind !== machine.kind) {
    throw new Refused(
      'other-kind',
      `The route is for a ${route.machineKind}, the machine is a ${machine.kind}; choose a route of its kind.`,
    );
  }
  const tasks = routeTasks(route.tasks);
  const there = await context.tx.task.findMany({ where: { jobId: job.id }, select: { code: true, position: true } });
  const taken = new Set(there.map(({ code }) => code));
  const clashes = tasks.map(({ code }) => prefix + code).filter((code) => taken.has(code));
  if (clashes.length > 0) {
    throw new Conflict(
      'code-taken',
      `The job already has, or had, tasks with the codes ${clashes.join(', ')}; apply the route with a codePrefix to lay it out again.`,
    );
  }
  const last = Math.max(0, ...there.map(({ position }) => position));
  const made = await context.tx.task.createManyAndReturn({
    data: tasks.map(({ after: _after, ...task }, index) => ({
      ...task,
      shopId: context.shop.id,
      jobId: job.id,
      code: prefix + task.code,
      position: last + index + 1,
    })),
    select: { id: true, code: true },
  });
  const idOf = new Map(made.map(({ id, code }) => [code, id]));
  await context.tx.taskLink.createMany({
    data: tasks.flatMap((task) =>
      task.after.map(({ code, minWaitMinutes, forbiddenIntervals, reason }) => ({
        shopId: context.shop.id,
        taskId: lookUp(idOf, prefix + task.code),
        predecessorId: lookUp(idOf, prefix + code),
        minWaitMinutes,
        forbiddenIntervals,
        reason,
      })),
    ),
  });
  await settleJob(context, job.id);
}

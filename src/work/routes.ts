/** Laying a route's tasks out on a job. */
import { Conflict, NotFound, Refused } from '../platform/errors.js';
import type { OperationContext, Presentable } from '../platform/operation/operation.js';
import { settleJob } from './jobs.js';
import type { RouteTask } from './routes.shapes.js';

/**
 * Adds a route's tasks and their links to a job, behind the tasks it has.
 * @param prefix put before each code, so that a route can be laid out twice
 * @throws NotFound, Conflict `archived`, Refused `other-kind` or Conflict `code-taken`
 */
export async function applyRouteTo(
  context: OperationContext,
  job: Presentable,
  routeId: string,
  prefix = '',
): Promise<void> {
  const route = await context.tx.route.findFirst({ where: { id: routeId } });
  if (!route) throw new NotFound('route', routeId);
  if (route.archivedAt) throw new Conflict('archived', 'This route was archived and is only kept for history.');
  const machine = await context.tx.machine.findUniqueOrThrow({ where: { id: job.machineId }, select: { kind: true } });
  if (route.machineKind !== 'other' && machine.kind !== 'other' && route.machineKind !== machine.kind) {
    throw new Refused(
      'other-kind',
      `The route is for a ${route.machineKind}, the machine is a ${machine.kind}; choose a route of its kind.`,
    );
  }
  const tasks = route.tasks as unknown as RouteTask[];
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
      placeKind: task.placeKind ?? null,
    })),
    select: { id: true, code: true },
  });
  const idOf = new Map(made.map(({ id, code }) => [code, id]));
  await context.tx.taskLink.createMany({
    data: tasks.flatMap((task) =>
      task.after.map(({ code, minWaitMinutes, forbiddenIntervals, reason }) => ({
        shopId: context.shop.id,
        taskId: idOf.get(prefix + task.code)!,
        predecessorId: idOf.get(prefix + code)!,
        minWaitMinutes,
        forbiddenIntervals,
        reason: reason ?? null,
      })),
    ),
  });
  await settleJob(context, job.id);
}

/** Tasks that records make: laid out behind those a job has, and skipped or wanted again with the order kept. */
import { bridgesOver, type NewLink, type NewTask } from '../engine/diagnosis/index.js';
import { lookUp } from '../engine/look-up.js';
import { Conflict, Invalid } from '../platform/errors.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';
import { settleJob } from './jobs.js';

/**
 * Writes new tasks and links. The caller settles the job afterwards.
 * @param links name tasks that are there by their ids and new ones by their codes
 * @returns the new tasks' ids by code
 */
export async function layOutTasks(
  context: OperationContext,
  jobId: string,
  tasks: readonly NewTask[],
  links: readonly NewLink[],
): Promise<Map<string, string>> {
  const { tx } = context;
  const last = (await tx.task.aggregate({ where: { jobId }, _max: { position: true } }))._max.position ?? 0;
  const made = await tx.task.createManyAndReturn({
    data: tasks.map(({ findingIds: _for, minutes, ...task }, index) => ({
      ...task,
      placeKind: task.placeKind as Stored<'task'>['placeKind'],
      shopId: context.shop.id,
      jobId,
      position: last + index + 1,
      minMinutes: minutes.min,
      handsOnMinutes: minutes.likely,
      maxMinutes: minutes.max,
    })),
    select: { id: true, code: true },
  });
  const ids = new Map(made.map(({ id, code }) => [code, id]));
  await tx.taskLink.createMany({
    data: links.map(({ task, predecessor, ...link }) => ({
      ...link,
      shopId: context.shop.id,
      taskId: ids.get(task) ?? task,
      predecessorId: ids.get(predecessor) ?? predecessor,
    })),
  });
  await tx.taskFinding.createMany({
    data: tasks.flatMap(({ code, findingIds }) =>
      findingIds.map((findingId) => ({ shopId: context.shop.id, taskId: lookUp(ids, code), findingId })),
    ),
  });
  return ids;
}

/**
 * Skips tasks of a job: they are archived with the reason, the parts noted for them with them, and their followers wait for
 * what they waited for. To be called with the job locked.
 * @throws Conflict `task-started` for one that has begun or has labour
 */
export async function skipTasks(
  context: OperationContext,
  jobId: string,
  skipped: readonly { taskId: string; reason: string }[],
): Promise<void> {
  if (skipped.length === 0) return;
  const ids = skipped.map((one) => one.taskId);
  const begun = await context.tx.task.findFirst({
    where: { id: { in: ids }, OR: [{ startedAt: { not: null } }, { labour: { some: { archivedAt: null } } }] },
  });
  if (begun)
    throw new Conflict(
      'task-started',
      `"${begun.name}" has begun; what was done is kept. Finish it, or reopen it first if that was a mistake.`,
    );
  for (const { taskId, reason } of skipped)
    await context.tx.task.update({
      where: { id: taskId },
      data: { archivedAt: context.now, skippedReason: reason, version: { increment: 1 } },
    });
  // What was held for it is free again; the moment tells which needs come back with the task.
  await context.tx.partNeed.updateMany({
    where: { taskId: { in: ids }, usedDate: null, archivedAt: null },
    data: { archivedAt: context.now, stockId: null, orderLineId: null, version: { increment: 1 } },
  });
  await bridgeSkipped(context, jobId);
}

/** Skipped tasks are wanted again, with the parts that were noted for them; those are held nowhere any more. */
export async function restoreTasks(
  context: OperationContext,
  jobId: string,
  taskIds: readonly string[],
): Promise<void> {
  if (taskIds.length === 0) return;
  const tasks = await context.tx.task.findMany({ where: { id: { in: [...taskIds] } } });
  for (const task of tasks) {
    if (task.skippedReason === null || !task.archivedAt)
      throw new Invalid([{ detail: `"${task.name}" was not skipped`, pointer: '/id' }]);
    await context.tx.partNeed.updateMany({
      where: { taskId: task.id, archivedAt: task.archivedAt, usedDate: null },
      data: { archivedAt: null, version: { increment: 1 } },
    });
  }
  await context.tx.task.updateMany({
    where: { id: { in: [...taskIds] } },
    data: { archivedAt: null, skippedReason: null, version: { increment: 1 } },
  });
  await bridgeSkipped(context, jobId);
}

/** Writes anew the links that carry the order over a job's skipped tasks, and the job's own status after it. */
async function bridgeSkipped(context: OperationContext, jobId: string): Promise<void> {
  const { tx } = context;
  await tx.taskLink.deleteMany({ where: { task: { jobId }, bridgesSkipped: true } });
  const links = await tx.taskLink.findMany({
    where: { task: { jobId } },
    select: { taskId: true, predecessorId: true },
  });
  const skipped = await tx.task.findMany({ where: { jobId, skippedReason: { not: null } }, select: { id: true } });
  const bridges = bridgesOver(links, new Set(skipped.map((task) => task.id)));
  await tx.taskLink.createMany({
    data: bridges.map((link) => ({
      ...link,
      shopId: context.shop.id,
      bridgesSkipped: true,
      reason: 'what came between is skipped',
    })),
  });
  await settleJob(context, jobId);
}

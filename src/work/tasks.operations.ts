import { z } from 'zod';
import { findCycle } from '../engine/graph.js';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { command, type OperationContext, workers } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';
import { id } from '../platform/shapes.js';
import { lockOpenJob, settleJob } from './jobs.js';
import { minutesFault, TaskKind } from './routes.shapes.js';
import {
  finishTask,
  reopenTask,
  startTask,
  type StoredTask,
  taskInclude,
  taskToWorkOn,
  withTaskStatus,
} from './tasks.js';
import {
  Task,
  TaskChange,
  TaskCreate,
  TaskFinish,
  TaskLink,
  TaskLinkCreate,
  TaskReopen,
  TaskStart,
  TaskStatus,
} from './work.shapes.js';

function checkMinutes(task: { minMinutes: number; handsOnMinutes: number; maxMinutes: number }): void {
  const fault = minutesFault(task);
  if (fault) throw new Invalid([fault]);
}

async function createTask(
  context: OperationContext,
  { after, position, ...given }: z.output<typeof TaskCreate>,
): Promise<StoredTask> {
  checkMinutes(given);
  const job = await lockOpenJob(context, given.jobId);
  const there = await context.tx.task.findMany({ where: { jobId: job.id }, select: { code: true, position: true } });
  if (there.some(({ code }) => code === given.code))
    throw new Conflict('code-taken', `The job already has, or had, a task with the code ${given.code}.`);
  const last = Math.max(0, ...there.map((one) => one.position));
  const task = await context.tx.task.create({
    data: { ...given, shopId: context.shop.id, placeKind: given.placeKind ?? null, position: position ?? last + 1 },
  });
  for (const [index, link] of after.entries()) await addLink(context, task, link, `/after/${index}/predecessorId`);
  await settleJob(context, job.id);
  return context.tx.task.findUniqueOrThrow({ where: { id: task.id }, include: taskInclude });
}

type NewLink = Omit<z.output<typeof TaskLinkCreate>, 'taskId'>;

async function addLink(
  context: OperationContext,
  task: Stored<'task'>,
  link: NewLink,
  pointer: string,
): Promise<Stored<'taskLink'>> {
  const predecessor = await context.tx.task.findFirst({ where: { id: link.predecessorId } });
  if (!predecessor) throw new NotFound('task', link.predecessorId);
  if (predecessor.jobId !== task.jobId) throw new Invalid([{ detail: 'is a task of another job', pointer }]);
  if (predecessor.archivedAt)
    throw new Conflict('archived', `"${predecessor.name}" was archived; nothing can wait for it.`);
  if (await context.tx.taskLink.findFirst({ where: { taskId: task.id, predecessorId: predecessor.id } })) {
    throw new Conflict(
      'already-linked',
      `"${task.name}" already comes after "${predecessor.name}"; unlink them to link them otherwise.`,
    );
  }
  await refuseCircle(context, task, predecessor);
  return context.tx.taskLink.create({
    data: { ...link, shopId: context.shop.id, taskId: task.id, reason: link.reason ?? null },
  });
}

async function refuseCircle(
  context: OperationContext,
  task: Stored<'task'>,
  predecessor: Stored<'task'>,
): Promise<void> {
  if (task.id === predecessor.id) throw new Conflict('goes-in-circle', `"${task.name}" cannot come after itself.`);
  const links = await context.tx.taskLink.findMany({
    where: { task: { jobId: task.jobId } },
    select: { task: { select: { code: true } }, predecessor: { select: { code: true } } },
  });
  const circle = findCycle([
    [predecessor.code, task.code],
    ...links.map((link) => [link.predecessor.code, link.task.code] as const),
  ]);
  if (circle) throw new Conflict('goes-in-circle', `The tasks would wait for each other: ${circle.join(' → ')}.`);
}

const stateWhere = {
  toDo: { startedAt: null, skippedReason: null },
  started: { startedAt: { not: null }, finishedAt: null },
  finished: { finishedAt: { not: null } },
  skipped: { skippedReason: { not: null } },
} as const;

const taskRecords = crudOperations({
  name: 'task',
  plural: 'tasks',
  table: 'task',
  shape: Task,
  create: TaskCreate,
  change: TaskChange,
  include: taskInclude,
  writers: workers,
  filters: { jobId: id.nullish(), kind: TaskKind.nullish(), status: TaskStatus.nullish() },
  where: (filters) => ({
    ...(filters.jobId ? { jobId: filters.jobId } : {}),
    ...(filters.kind ? { kind: filters.kind } : {}),
    ...(filters.status ? stateWhere[filters.status] : {}),
  }),
  sorts: ['position', 'createdAt', 'name'],
  onCreate: createTask,
  async onChange(context, before, columns) {
    await lockOpenJob(context, before.jobId);
    checkMinutes({ ...before, ...columns });
    return columns;
  },
  async onArchive(context, before) {
    const { task, job } = await taskToWorkOn(context, before.id);
    if (task.startedAt)
      throw new Conflict(
        'task-started',
        `"${task.name}" was started; what was done is kept. Reopen it first if that was a mistake.`,
      );
    const labour = await context.tx.labourEntry.count({ where: { taskId: task.id, archivedAt: null } });
    if (labour > 0)
      throw new Conflict(
        'has-labour',
        `"${task.name}" has labour recorded on it; archive those entries or move them first.`,
      );
    const followers = await context.tx.taskLink.findMany({
      where: { predecessorId: task.id, task: { archivedAt: null } },
      include: { task: true },
    });
    if (followers.length > 0) {
      throw new Conflict(
        'has-followers',
        `${followers.map((link) => `"${link.task.name}"`).join(', ')} waits for "${task.name}"; ` +
          `unlink that, and link it to another task if it must wait for one.`,
      );
    }
    // Nothing needs parts for it any more: what was held for it is free again.
    await context.tx.partNeed.updateMany({
      where: { taskId: task.id, usedDate: null, archivedAt: null },
      data: { archivedAt: context.now, stockId: null, orderLineId: null, version: { increment: 1 } },
    });
    await settleJob(context, job.id, task.id);
  },
  complete: (_context, rows) => rows.map(withTaskStatus),
});

export const taskOperations = [
  ...taskRecords,
  command({
    name: 'startTask',
    summary: 'Start a task, if the order of the tasks and their waits allow it',
    roles: workers,
    rest: { method: 'POST', path: '/tasks/:id/start', status: 200 },
    creates: false,
    input: TaskStart,
    output: Task,
    run: (context, { id: taskId, ...given }) => startTask(context, taskId, given),
  }),
  command({
    name: 'finishTask',
    summary: 'Finish a task, and start it if that was not recorded; whoever is clocked on to it is clocked off',
    roles: workers,
    rest: { method: 'POST', path: '/tasks/:id/finish', status: 200 },
    creates: false,
    input: TaskFinish,
    output: Task,
    run: (context, { id: taskId, ...given }) => finishTask(context, taskId, given),
  }),
  command({
    name: 'reopenTask',
    summary: "Take back a task's finish, or the start of one that was only started",
    roles: workers,
    rest: { method: 'POST', path: '/tasks/:id/reopen', status: 200 },
    creates: false,
    input: TaskReopen,
    output: Task,
    run: (context, { id: taskId, ...given }) => reopenTask(context, taskId, given),
  }),
  command({
    name: 'linkTasks',
    summary: 'Have a task wait for another of its job',
    roles: workers,
    rest: { method: 'POST', path: '/task-links', status: 201 },
    input: TaskLinkCreate,
    output: TaskLink,
    async run(context, { taskId, ...link }) {
      const { task } = await taskToWorkOn(context, taskId);
      return addLink(context, task, link, '/predecessorId');
    },
  }),
  command({
    name: 'unlinkTasks',
    summary: 'Have a task no longer wait for another',
    roles: workers,
    rest: { method: 'DELETE', path: '/task-links/:id' },
    input: z.strictObject({ id }),
    output: TaskLink,
    async run(context, input) {
      const link = await context.tx.taskLink.findFirst({ where: { id: input.id } });
      if (!link) throw new NotFound('task link', input.id);
      await taskToWorkOn(context, link.taskId);
      return context.tx.taskLink.delete({ where: { id: link.id } });
    },
  }),
];

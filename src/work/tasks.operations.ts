import { z } from 'zod';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { derived } from '../platform/operation/derive.js';
import { type Call, command, type Presentable, workers } from '../platform/operation/operation.js';
import { records } from '../platform/operation/crud-operations.js';
import { id } from '../platform/shapes.js';
import { lockOpenJob, settleJob } from './jobs.js';
import { circleIn } from './order.js';
import { minutesFault, TaskKind } from './routes.shapes.js';
import { finishTask, reopenTask, startTask, taskInclude, taskToWorkOn, withState } from './tasks.js';
import {
  Task,
  TaskChange,
  TaskCreate,
  TaskFinish,
  TaskLink,
  TaskLinkCreate,
  TaskReopen,
  TaskStart,
  TaskState,
} from './work.shapes.js';

function checkMinutes(task: { leastMinutes: number; handsOnMinutes: number; mostMinutes: number }): void {
  const fault = minutesFault(task);
  if (fault) throw new Invalid([fault]);
}

async function createTask(
  call: Call,
  { after, position, ...given }: z.output<typeof TaskCreate>,
): Promise<Presentable> {
  checkMinutes(given);
  const job = await lockOpenJob(call, given.jobId);
  const there = await call.tx.task.findMany({ where: { jobId: job.id }, select: { code: true, position: true } });
  if (there.some(({ code }) => code === given.code))
    throw new Conflict('code-taken', `The job already has, or had, a task with the code ${given.code}.`);
  const last = Math.max(0, ...there.map((one) => one.position));
  const task = await call.tx.task.create({
    data: { ...given, shopId: call.shop.id, placeKind: given.placeKind ?? null, position: position ?? last + 1 },
  });
  for (const [index, link] of after.entries()) await addLink(call, task, link, `/after/${index}/predecessorId`);
  await settleJob(call, job.id);
  return call.tx.task.findUniqueOrThrow({ where: { id: task.id }, include: taskInclude });
}

type NewLink = Omit<z.output<typeof TaskLinkCreate>, 'taskId'>;

async function addLink(call: Call, task: Presentable, link: NewLink, pointer: string): Promise<Presentable> {
  const predecessor = await call.tx.task.findFirst({ where: { id: link.predecessorId } });
  if (!predecessor) throw new NotFound('task', link.predecessorId);
  if (predecessor.jobId !== task.jobId) throw new Invalid([{ detail: 'is a task of another job', pointer }]);
  if (predecessor.retiredAt)
    throw new Conflict('retired', `"${predecessor.name}" was retired; nothing can wait for it.`);
  if (await call.tx.taskLink.findFirst({ where: { taskId: task.id, predecessorId: predecessor.id } })) {
    throw new Conflict(
      'already-linked',
      `"${task.name}" already comes after "${predecessor.name}"; unlink them to link them otherwise.`,
    );
  }
  await refuseCircle(call, task, predecessor);
  return call.tx.taskLink.create({
    data: { ...link, shopId: call.shop.id, taskId: task.id, reason: link.reason ?? null },
  });
}

async function refuseCircle(call: Call, task: Presentable, predecessor: Presentable): Promise<void> {
  if (task.id === predecessor.id) throw new Conflict('goes-in-circle', `"${task.name}" cannot come after itself.`);
  const links = await call.tx.taskLink.findMany({
    where: { task: { jobId: task.jobId } },
    select: { task: { select: { code: true } }, predecessor: { select: { code: true } } },
  });
  const circle = circleIn([
    [predecessor.code, task.code],
    ...links.map((link) => [link.predecessor.code, link.task.code] as const),
  ]);
  if (circle) throw new Conflict('goes-in-circle', `The tasks would wait for each other: ${circle.join(' → ')}.`);
}

const stateWhere = {
  toDo: { startedAt: null },
  started: { startedAt: { not: null }, finishedAt: null },
  finished: { finishedAt: { not: null } },
} as const;

const taskRecords = derived(
  records({
    name: 'task',
    plural: 'tasks',
    rows: (tx) => tx.task,
    shape: Task,
    create: TaskCreate,
    change: TaskChange,
    include: taskInclude,
    writers: workers,
    filters: { jobId: id.nullish(), kind: TaskKind.nullish(), state: TaskState.nullish() },
    where: (filters) => ({
      ...(filters.jobId ? { jobId: filters.jobId } : {}),
      ...(filters.kind ? { kind: filters.kind } : {}),
      ...(filters.state ? stateWhere[filters.state as keyof typeof stateWhere] : {}),
    }),
    sorts: ['position', 'createdAt', 'name'],
    onCreate: createTask,
    async onChange(call, before, columns) {
      await lockOpenJob(call, before.jobId);
      checkMinutes({ ...before, ...columns });
      return columns;
    },
    async onRetire(call, before) {
      const { task, job } = await taskToWorkOn(call, before.id);
      if (task.startedAt)
        throw new Conflict(
          'task-started',
          `"${task.name}" was started; what was done is kept. Reopen it first if that was a mistake.`,
        );
      const labour = await call.tx.labourEntry.count({ where: { taskId: task.id, retiredAt: null } });
      if (labour > 0)
        throw new Conflict(
          'has-labour',
          `"${task.name}" has labour recorded on it; retire those entries or move them first.`,
        );
      const followers = await call.tx.taskLink.findMany({
        where: { predecessorId: task.id, task: { retiredAt: null } },
        include: { task: true },
      });
      if (followers.length > 0) {
        throw new Conflict(
          'has-followers',
          `${followers.map((link) => `"${link.task.name}"`).join(', ')} waits for "${task.name}"; unlink that, and link it to another task if it must wait for one.`,
        );
      }
      // Nothing needs parts for it any more: what was held for it is free again.
      await call.tx.partNeed.updateMany({
        where: { taskId: task.id, usedOn: null, retiredAt: null },
        data: { retiredAt: call.now, stockId: null, orderLineId: null, version: { increment: 1 } },
      });
      await settleJob(call, job.id, task.id);
    },
  }),
  (_call, rows) => rows.map(withState),
);

export const taskOperations = [
  ...taskRecords,
  command({
    name: 'startTask',
    summary: 'Start a task, if the order of the tasks and their waits allow it',
    roles: workers,
    rest: { method: 'POST', path: '/tasks/:id/starts', status: 200 },
    creates: false,
    input: TaskStart,
    output: Task,
    run: (call, { id: taskId, ...given }) => startTask(call, taskId, given),
  }),
  command({
    name: 'finishTask',
    summary: 'Finish a task, and start it if that was not recorded; whoever is clocked on to it is clocked off',
    roles: workers,
    rest: { method: 'POST', path: '/tasks/:id/finishes', status: 200 },
    creates: false,
    input: TaskFinish,
    output: Task,
    run: (call, { id: taskId, ...given }) => finishTask(call, taskId, given),
  }),
  command({
    name: 'reopenTask',
    summary: "Take back a task's finish, or the start of one that was only started",
    roles: workers,
    rest: { method: 'POST', path: '/tasks/:id/reopenings', status: 200 },
    creates: false,
    input: TaskReopen,
    output: Task,
    run: (call, { id: taskId, ...given }) => reopenTask(call, taskId, given),
  }),
  command({
    name: 'linkTasks',
    summary: 'Have a task wait for another of its job',
    roles: workers,
    rest: { method: 'POST', path: '/task-links', status: 201 },
    input: TaskLinkCreate,
    output: TaskLink,
    async run(call, { taskId, ...link }) {
      const { task } = await taskToWorkOn(call, taskId);
      return addLink(call, task, link, '/predecessorId');
    },
  }),
  command({
    name: 'unlinkTasks',
    summary: 'Have a task no longer wait for another',
    roles: workers,
    rest: { method: 'DELETE', path: '/task-links/:id' },
    input: z.strictObject({ id }),
    output: TaskLink,
    async run(call, input) {
      const link = await call.tx.taskLink.findFirst({ where: { id: input.id } });
      if (!link) throw new NotFound('task link', input.id);
      await taskToWorkOn(call, link.taskId);
      return call.tx.taskLink.delete({ where: { id: link.id } });
    },
  }),
];

/** What happens to tasks: started, finished, reopened; each against the order they stand in. */
import { Temporal } from 'temporal-polyfill';
import type { Prisma } from '../platform/database/client/client.js';
import { Conflict, Forbidden, Invalid, NotFound, Refused } from '../platform/errors.js';
import type { Call, Presentable } from '../platform/operation/operation.js';
import { cautionsFor } from './cautions.js';
import { lockOpenJob, noteOnJob, settleJob } from './jobs.js';
import { isTooLong } from './labour-length.js';
import { type Before, type ForbiddenMinutes, type Hindrance, hindranceAt } from './order.js';

/** What a task's reply always holds. */
export const taskInclude = {
  predecessors: { orderBy: [{ createdAt: 'asc' }, { id: 'asc' }] },
} satisfies Prisma.TaskInclude;

/** A task's row with its state and its cautions in full. */
export const withState = (task: Presentable): Presentable => ({
  ...task,
  state: task.finishedAt ? 'finished' : task.startedAt ? 'started' : 'toDo',
  cautions: cautionsFor(task.cautions),
});

/**
 * A task of an open job, the job locked.
 * @throws NotFound, Conflict `retired` or `job-closed`
 */
export async function taskToWorkOn(call: Call, taskId: string): Promise<{ task: Presentable; job: Presentable }> {
  const found = await call.tx.task.findFirst({ where: { id: taskId }, select: { jobId: true } });
  if (!found) throw new NotFound('task', taskId);
  const job = await lockOpenJob(call, found.jobId);
  // Read again: whoever held the lock may have changed it.
  const task = await call.tx.task.findUniqueOrThrow({ where: { id: taskId } });
  if (task.retiredAt) throw new Conflict('retired', 'This task was retired and is only kept for history.');
  return { task, job };
}

/**
 * The moment a caller gave, or now.
 * @throws Invalid when it lies in the future
 */
export function pastMoment(call: Call, given: string | null | undefined, pointer: string): Date {
  if (!given) return call.now;
  const moment = new Date(given);
  if (moment > call.now)
    throw new Invalid([{ detail: 'lies in the future; only what has happened is recorded', pointer }]);
  return moment;
}

export interface EvenSo {
  evenSo?: boolean | null | undefined;
  reason?: string | null | undefined;
}

/** Starts a task. @throws Conflict when it was started, Refused when the order of the tasks stands against it */
export async function startTask(
  call: Call,
  taskId: string,
  given: EvenSo & { at?: string | null | undefined },
): Promise<Presentable> {
  const { task, job } = await taskToWorkOn(call, taskId);
  if (task.finishedAt)
    throw new Conflict('task-finished', `"${task.name}" is finished; reopen it if it has to be done again.`);
  if (task.startedAt)
    throw new Conflict('task-started', `"${task.name}" was started at ${local(call, task.startedAt)}.`);
  const at = pastMoment(call, given.at, '/at');
  await mindOrder(call, job, task, at, given);
  return writeTask(call, task.id, { startedAt: at });
}

/**
 * Finishes a task, and starts it first where that was not recorded; whoever is clocked on to it is clocked off.
 * @throws Conflict when it is finished, Refused when the order of the tasks or its own cure stands against it
 */
export async function finishTask(
  call: Call,
  taskId: string,
  given: EvenSo & { at?: string | null | undefined; startedAt?: string | null | undefined },
): Promise<Presentable> {
  const { task, job } = await taskToWorkOn(call, taskId);
  if (task.finishedAt)
    throw new Conflict('task-finished', `"${task.name}" was finished at ${local(call, task.finishedAt)}.`);
  const at = pastMoment(call, given.at, '/at');
  if (task.startedAt && given.startedAt)
    throw new Conflict(
      'task-started',
      `"${task.name}" was started at ${local(call, task.startedAt)}; leave startedAt out.`,
    );
  const startedAt: Date = task.startedAt ?? (given.startedAt ? pastMoment(call, given.startedAt, '/startedAt') : at);
  if (startedAt > at)
    throw new Invalid([{ detail: `lies before the task was started at ${local(call, startedAt)}`, pointer: '/at' }]);
  if (!task.startedAt) await mindOrder(call, job, task, startedAt, given);
  const curedAt = new Date(startedAt.getTime() + task.cureMinutes * 60_000);
  if (task.cureMinutes > 0 && at < curedAt) {
    await refuseUnless(
      call,
      job,
      task,
      given,
      'still-curing',
      `"${task.name}" holds until ${local(call, curedAt)}, ${spell(task.cureMinutes)} after it was started.`,
      curedAt,
    );
  }
  await clockOff(call, task, at);
  const finished = await writeTask(call, task.id, { startedAt, finishedAt: at });
  await settleJob(call, job.id);
  return finished;
}

/**
 * Takes a task's finish back, so that it is started again; of a task only started, takes the start back.
 * @throws Conflict when it is not started, when it has labour, or when what follows it was started
 */
export async function reopenTask(call: Call, taskId: string, given: EvenSo): Promise<Presentable> {
  const { task, job } = await taskToWorkOn(call, taskId);
  if (!task.startedAt) throw new Conflict('task-to-do', `"${task.name}" has not been started.`);
  if (!task.finishedAt) {
    const labour = await call.tx.labourEntry.count({ where: { taskId, retiredAt: null } });
    if (labour > 0)
      throw new Conflict(
        'has-labour',
        `"${task.name}" has labour recorded on it, so it was started; retire those entries first.`,
      );
    return writeTask(call, taskId, { startedAt: null });
  }
  const followers = await call.tx.taskLink.findMany({
    where: { predecessorId: taskId, task: { retiredAt: null, startedAt: { not: null } } },
    include: { task: true },
  });
  if (followers.length > 0) {
    const names = followers.map((link) => `"${link.task.name}"`).join(', ');
    await refuseUnless(
      call,
      job,
      task,
      given,
      'follower-started',
      `${names} came after "${task.name}" and was started; reopen that first.`,
      null,
    );
  }
  const reopened = await writeTask(call, taskId, { finishedAt: null });
  await settleJob(call, job.id);
  return reopened;
}

const writeTask = async (call: Call, taskId: string, columns: object): Promise<Presentable> =>
  withState(
    await call.tx.task.update({
      where: { id: taskId },
      data: { ...columns, version: { increment: 1 } },
      include: taskInclude,
    }),
  );

async function clockOff(call: Call, task: Presentable, at: Date): Promise<void> {
  const running = { taskId: task.id, endedAt: null, retiredAt: null };
  const late = await call.tx.labourEntry.findFirst({
    where: { ...running, startedAt: { gte: at } },
    include: { person: true },
  });
  if (late)
    throw new Conflict(
      'labour-running',
      `${late.person.name} clocked on to "${task.name}" after that; end or retire that entry first.`,
    );
  const longest = await call.tx.labourEntry.findFirst({
    where: running,
    orderBy: { startedAt: 'asc' },
    include: { person: true },
  });
  if (longest && isTooLong(longest.startedAt, at)) {
    throw new Conflict(
      'labour-too-long',
      `${longest.person.name} has been clocked on to "${task.name}" since ${local(call, longest.startedAt)}, longer than anybody works in one go; end that entry with its true end first.`,
    );
  }
  await call.tx.labourEntry.updateMany({ where: running, data: { endedAt: at, version: { increment: 1 } } });
}

async function mindOrder(call: Call, job: Presentable, task: Presentable, at: Date, given: EvenSo): Promise<void> {
  const links = await call.tx.taskLink.findMany({
    where: { taskId: task.id, predecessor: { retiredAt: null } },
    include: { predecessor: true },
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
  });
  const hindrance = hindranceAt(
    links.map((link): Before => ({
      name: link.predecessor.name,
      finishedAt: link.predecessor.finishedAt,
      leastWaitMinutes: link.leastWaitMinutes,
      forbiddenMinutes: link.forbiddenMinutes as unknown as ForbiddenMinutes[],
      reason: link.reason,
    })),
    at,
  );
  if (hindrance)
    await refuseUnless(call, job, task, given, hindrance.code, inWords(call, task, hindrance), hindrance.allowedFrom);
}

function inWords(call: Call, task: Presentable, { code, before, forbidden, allowedFrom }: Hindrance): string {
  const because = before.reason ? ` (${before.reason})` : '';
  const from = allowedFrom ? ` It may start from ${local(call, allowedFrom)}.` : '';
  const since = before.finishedAt
    ? `"${before.name}", finished at ${local(call, before.finishedAt)},`
    : `"${before.name}"`;
  if (code === 'wait-not-over')
    return `"${task.name}" may start ${spell(before.leastWaitMinutes)} after ${since} at the earliest${because}.${from}`;
  if (code === 'recoat-closed')
    return `"${task.name}" may not start between ${spell(forbidden!.fromMinutes)} and ${spell(forbidden!.toMinutes)} after ${since} is done${because}.${from}`;
  if (before.finishedAt) return `"${task.name}" comes after ${since} which is later${because}.${from}`;
  return `"${task.name}" comes after ${since}, which is not finished${because}; it may start once that is.`;
}

/** Refuses, unless the owner has it done even so and says why, which is then written into the job's notes. */
async function refuseUnless(
  call: Call,
  job: Presentable,
  task: Presentable,
  given: EvenSo,
  code: string,
  detail: string,
  allowedFrom: Date | null,
): Promise<void> {
  if (!given.evenSo) throw new Refused(code, detail, { allowedFrom: allowedFrom?.toISOString() ?? null });
  if (call.role !== 'owner') throw new Forbidden(`Only an owner's key may have it done even so. ${detail}`);
  if (!given.reason) throw new Invalid([{ detail: 'say why it is done even so', pointer: '/reason' }]);
  // Read again: one operation may write two such notes.
  await noteOnJob(
    call,
    await call.tx.job.findUniqueOrThrow({ where: { id: job.id } }),
    `${task.code} done even so (${code}): ${given.reason}`,
  );
}

/** An instant in the shop's local time, still RFC 3339. */
export const local = (call: Call, moment: Date): string =>
  Temporal.Instant.fromEpochMilliseconds(moment.getTime())
    .toZonedDateTimeISO(call.shop.timeZone)
    .toString({ smallestUnit: 'minute', timeZoneName: 'never' });

/** Minutes as a person says them: `45 minutes`, `48 hours`, `14 days`. */
export function spell(minutes: number): string {
  const [count, unit] =
    minutes >= 2880 && minutes % 1440 === 0
      ? [minutes / 1440, 'day']
      : minutes >= 60 && minutes % 60 === 0
        ? [minutes / 60, 'hour']
        : [minutes, 'minute'];
  return `${count} ${unit}${count === 1 ? '' : 's'}`;
}

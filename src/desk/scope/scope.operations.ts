/** How far a job goes: chosen, tried out, compared; single tasks skipped and wanted again; a machine recorded as found. */
import { z } from 'zod';
import { Conflict } from '../../platform/errors.js';
import { command, type OperationContext, query, workers } from '../../platform/operation/operation.js';
import { findOne } from '../../platform/operation/stored.js';
import { id, text } from '../../platform/shapes.js';
import { withOneJobStatus } from '../../work/jobs.js';
import { lockOpenJob } from '../../work/jobs.js';
import { restoreTasks, skipTasks } from '../../work/lay-out.js';
import { taskInclude, taskToWorkOn, withTaskStatus } from '../../work/tasks.js';
import { Job, Task } from '../../work/work.shapes.js';
import { DECISION_TAKEN_BACK } from '../proposals/decide.js';
import { withWorkEffects } from '../proposals/effects.js';
import { chooseScope, recordAsFound } from './choose-scope.js';
import { AsFoundInput, ScopeChosen, ScopeGiven } from './scope.shapes.js';

const jobById = async (context: OperationContext, jobId: string) =>
  withOneJobStatus(context, await findOne(context.tx.job, 'job', jobId));
const taskById = async (context: OperationContext, taskId: string) =>
  withTaskStatus(await findOne(context.tx.task, 'task', taskId, taskInclude));

async function choose(context: OperationContext, input: z.output<typeof ScopeGiven>) {
  const { result, effects } = await withWorkEffects(context, input.id, () => chooseScope(context, input));
  const tasks = async (ids: readonly string[]) =>
    (
      await context.tx.task.findMany({
        where: { id: { in: [...ids] } },
        include: taskInclude,
        orderBy: [{ position: 'asc' }, { id: 'asc' }],
      })
    ).map(withTaskStatus);
  return {
    id: input.id,
    job: await jobById(context, input.id),
    skippedTasks: await tasks(result.skipped),
    restoredTasks: await tasks(result.restored),
    addedTasks: await tasks(result.added),
    effects,
  };
}

export const scopeOperations = [
  query({
    name: 'previewScope',
    slow: true,
    trial: true,
    summary:
      'What another scope of a job would lead to: tasks left out, and its effect on date, cost and margin; nothing is recorded',
    roles: workers,
    rest: { method: 'POST', path: '/jobs/:id/scope/preview' },
    input: ScopeGiven,
    output: ScopeChosen,
    run: choose,
  }),
  command({
    name: 'chooseScope',
    summary:
      'Choose how far a job goes: full, mechanical, one fault, as found, or apart for its parts; tasks not wanted are skipped',
    rest: { method: 'POST', path: '/jobs/:id/scope', status: 200 },
    creates: false,
    input: ScopeGiven,
    output: ScopeChosen,
    run: choose,
  }),
  command({
    name: 'recordAsFound',
    summary: 'Record that a machine to be sold as found is not safe to run: fuel drained, spark plug wire off',
    roles: workers,
    rest: { method: 'POST', path: '/jobs/:id/as-found', status: 200 },
    creates: false,
    input: AsFoundInput,
    output: Job,
    async run(context, { id: jobId, ...given }) {
      await recordAsFound(context, jobId, given);
      return jobById(context, jobId);
    },
  }),
  command({
    name: 'skipTask',
    summary: 'Leave a task out, with the reason: its followers go on after what it waited for',
    roles: workers,
    rest: { method: 'POST', path: '/tasks/:id/skip', status: 200 },
    creates: false,
    input: z.strictObject({ id, reason: text(300) }),
    output: Task,
    async run(context, { id: taskId, reason }) {
      const { job } = await taskToWorkOn(context, taskId);
      await skipTasks(context, job.id, [{ taskId, reason }]);
      return taskById(context, taskId);
    },
  }),
  command({
    name: 'restoreTask',
    summary: 'Take a task in again that was left out, with the parts that were noted for it',
    roles: workers,
    rest: { method: 'POST', path: '/tasks/:id/restore', status: 200 },
    creates: false,
    input: z.strictObject({ id }),
    output: Task,
    async run(context, { id: taskId }) {
      const task = await findOne(context.tx.task, 'task', taskId);
      const job = await lockOpenJob(context, task.jobId);
      if (task.skippedReason === DECISION_TAKEN_BACK)
        throw new Conflict(
          'decided',
          'It went with the decision on its finding: accept that again, and the task is made anew.',
        );
      await restoreTasks(context, job.id, [taskId]);
      return taskById(context, taskId);
    },
  }),
];

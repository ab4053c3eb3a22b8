import { z } from 'zod';
import { Machine } from '../machines/machines.shapes.js';
import { children, computed, type OperationContext, parentOf, query } from '../platform/operation/operation.js';
import { Person } from '../shop/shop.shapes.js';
import { allCautions, Cautions, precedence } from './cautions.js';
import { withJobStatus } from './jobs.js';
import { labourByJob, labourByTask, withMinutes } from './labour.js';
import { taskInclude, type TaskWithStatus, withTaskStatus } from './tasks.js';
import { Job, LabourEntry, LabourSum, Task, TaskLink } from './work.shapes.js';

const idsOf = (rows: readonly { id: string }[]): string[] => rows.map((row) => row.id);

/** Jobs by id, with their state: two statements, however many. */
export async function jobsById(context: OperationContext, ids: string[]) {
  return withJobStatus(context, await context.tx.job.findMany({ where: { id: { in: ids } } }));
}

/** The standing tasks of jobs with their predecessors, in the jobs' own order: two statements, however many. */
export async function tasksOfJobs(context: OperationContext, jobIds: string[]): Promise<TaskWithStatus[]> {
  const rows = await context.tx.task.findMany({
    where: { jobId: { in: jobIds }, archivedAt: null },
    include: taskInclude,
    orderBy: [{ position: 'asc' }, { id: 'asc' }],
  });
  return rows.map(withTaskStatus);
}

const tasksById = async (context: OperationContext, ids: string[]): Promise<TaskWithStatus[]> =>
  (await context.tx.task.findMany({ where: { id: { in: ids } }, include: taskInclude })).map(withTaskStatus);

export const workQueries = [
  query({
    name: 'cautions',
    summary: 'Read every caution that tasks and routes can name',
    rest: { method: 'GET', path: '/cautions' },
    input: z.strictObject({}),
    output: Cautions,
    run: async () => ({ cautions: allCautions(), precedence }),
  }),
];

export const workRelations = [
  children({
    on: Machine,
    field: 'jobs',
    to: Job,
    key: 'machineId',
    description: 'Its jobs, the first one first.',
    find: async (context, ids) =>
      withJobStatus(
        context,
        await context.tx.job.findMany({
          where: { machineId: { in: ids }, archivedAt: null },
          orderBy: { number: 'asc' },
        }),
      ),
  }),
  parentOf({
    on: Job,
    field: 'machine',
    to: Machine,
    key: 'machineId',
    description: 'The machine it is about.',
    find: (context, ids) => context.tx.machine.findMany({ where: { id: { in: ids } } }),
  }),
  children({
    on: Job,
    field: 'tasks',
    to: Task,
    key: 'jobId',
    description: 'Its tasks in their order.',
    find: tasksOfJobs,
  }),
  computed({
    on: Job,
    field: 'labour',
    to: LabourSum,
    description: 'All labour on its tasks.',
    async compute(context, jobs) {
      const sums = await labourByJob(context, idsOf(jobs));
      return jobs.map((job) => sums.get(job.id));
    },
  }),
  parentOf({ on: Task, field: 'job', to: Job, key: 'jobId', description: 'The job it belongs to.', find: jobsById }),
  children({
    on: Task,
    field: 'labourEntries',
    to: LabourEntry,
    key: 'taskId',
    description: 'Who worked on it and when.',
    find: async (context, ids) =>
      (
        await context.tx.labourEntry.findMany({
          where: { taskId: { in: ids }, archivedAt: null },
          orderBy: [{ startedAt: 'asc' }, { id: 'asc' }],
        })
      ).map((row) => withMinutes(context, row)),
  }),
  computed({
    on: Task,
    field: 'labour',
    to: LabourSum,
    description: 'All labour on it.',
    async compute(context, tasks) {
      const sums = await labourByTask(context, idsOf(tasks));
      return tasks.map((task) => sums.get(task.id));
    },
  }),
  parentOf({
    on: TaskLink,
    field: 'predecessor',
    to: Task,
    key: 'predecessorId',
    description: 'The task that comes before.',
    find: tasksById,
  }),
  parentOf({
    on: LabourEntry,
    field: 'task',
    to: Task,
    key: 'taskId',
    description: 'What was worked on.',
    find: tasksById,
  }),
  parentOf({
    on: LabourEntry,
    field: 'person',
    to: Person,
    key: 'personId',
    description: 'Who worked.',
    find: (context, ids) => context.tx.person.findMany({ where: { id: { in: ids } } }),
  }),
];

import { z } from 'zod';
import { findingsBy, safetyChecksBy, safetyStanding } from '../diagnosis/diagnosis.queries.js';
import { Finding, SafetyCheck, SafetyStanding } from '../diagnosis/diagnosis.shapes.js';
import { Machine } from '../machines/machines.shapes.js';
import { type Call, children, computed, parentOf, type Presentable, query } from '../platform/operation/operation.js';
import { id } from '../platform/shapes.js';
import { Person } from '../shop/shop.shapes.js';
import { allCautions, Cautions, precedence } from './cautions.js';
import { StartingPoint } from '../desk/handover/starting-point.shapes.js';
import { withStanding } from './jobs.js';
import { labourByJob, labourByTask, withMinutes } from './labour.js';
import { startingPoint } from '../desk/handover/starting-point.js';
import { taskInclude, withState } from './tasks.js';
import { Job, LabourEntry, LabourSum, Task, TaskLink } from './work.shapes.js';

const idsOf = (rows: Presentable[]): string[] => rows.map((row) => row.id as string);

/** Jobs by id, with their state: two statements, however many. */
export async function jobsById(call: Call, ids: string[]): Promise<Presentable[]> {
  return withStanding(call, await call.tx.job.findMany({ where: { id: { in: ids } } }));
}

/** The standing tasks of jobs with their predecessors, in the jobs' own order: two statements, however many. */
export async function tasksOfJobs(call: Call, jobIds: string[]): Promise<Presentable[]> {
  const rows = await call.tx.task.findMany({
    where: { jobId: { in: jobIds }, retiredAt: null },
    include: taskInclude,
    orderBy: [{ position: 'asc' }, { id: 'asc' }],
  });
  return rows.map(withState);
}

const tasksById = async (call: Call, ids: string[]): Promise<Presentable[]> =>
  (await call.tx.task.findMany({ where: { id: { in: ids } }, include: taskInclude })).map(withState);

export const workQueries = [
  query({
    name: 'cautions',
    summary: 'Read every caution that tasks and routes can name',
    rest: { method: 'GET', path: '/cautions' },
    input: z.strictObject({}),
    output: Cautions,
    run: async () => ({ cautions: allCautions(), precedence }),
  }),
  query({
    name: 'startingPoint',
    summary: "Read a job's written starting point, from which only maintenance remains",
    rest: { method: 'GET', path: '/jobs/:jobId/starting-point' },
    input: z.strictObject({ jobId: id }),
    output: StartingPoint,
    run: (call, { jobId }) => startingPoint(call, jobId),
  }),
];

export const workRelations = [
  children({
    on: Machine,
    field: 'jobs',
    to: Job,
    key: 'machineId',
    description: 'Its jobs, the first one first.',
    find: async (call, ids) =>
      withStanding(
        call,
        await call.tx.job.findMany({ where: { machineId: { in: ids }, retiredAt: null }, orderBy: { number: 'asc' } }),
      ),
  }),
  parentOf({
    on: Job,
    field: 'machine',
    to: Machine,
    key: 'machineId',
    description: 'The machine it is about.',
    find: (call, ids) => call.tx.machine.findMany({ where: { id: { in: ids } } }),
  }),
  children({
    on: Job,
    field: 'tasks',
    to: Task,
    key: 'jobId',
    description: 'Its tasks in their order.',
    find: tasksOfJobs,
  }),
  children({
    on: Job,
    field: 'findings',
    to: Finding,
    key: 'jobId',
    description: 'What was found on it.',
    find: (call, ids) => findingsBy(call, 'jobId', ids),
  }),
  children({
    on: Job,
    field: 'safetyChecks',
    to: SafetyCheck,
    key: 'jobId',
    description: 'Its safety checks as they were made.',
    find: safetyChecksBy,
  }),
  computed({
    on: Job,
    field: 'safetyStanding',
    to: SafetyStanding,
    description: 'Which safety checks it needs, and which of them stand.',
    async compute(call, jobs) {
      const standing = await safetyStanding(call, idsOf(jobs));
      return jobs.map((job) => standing.get(job.id));
    },
  }),
  computed({
    on: Job,
    field: 'labour',
    to: LabourSum,
    description: 'All labour on its tasks.',
    async compute(call, jobs) {
      const sums = await labourByJob(call, idsOf(jobs));
      return jobs.map((job) => sums.get(job.id));
    },
  }),
  ...[Finding, SafetyCheck, Task].map((on) =>
    parentOf({ on, field: 'job', to: Job, key: 'jobId', description: 'The job it belongs to.', find: jobsById }),
  ),
  children({
    on: Task,
    field: 'labourEntries',
    to: LabourEntry,
    key: 'taskId',
    description: 'Who worked on it and when.',
    find: async (call, ids) =>
      (
        await call.tx.labourEntry.findMany({
          where: { taskId: { in: ids }, retiredAt: null },
          orderBy: [{ startedAt: 'asc' }, { id: 'asc' }],
        })
      ).map((row) => withMinutes(call, row)),
  }),
  computed({
    on: Task,
    field: 'labour',
    to: LabourSum,
    description: 'All labour on it.',
    async compute(call, tasks) {
      const sums = await labourByTask(call, idsOf(tasks));
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
    find: (call, ids) => call.tx.person.findMany({ where: { id: { in: ids } } }),
  }),
];

import { z } from 'zod';
import { nameOf, workVerdicts } from '../engine/diagnosis/index.js';
import { at } from '../engine/look-up.js';
import { Machine } from '../machines/machines.shapes.js';
import type { Prisma } from '../platform/database/client/client.js';
import { NotFound } from '../platform/errors.js';
import { groupBy } from '../platform/operation/group-by.js';
import { children, computed, type OperationContext, parentOf, query } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';
import { id } from '../platform/shapes.js';
import { taskInclude, withTaskStatus } from '../work/tasks.js';
import { jobsById } from '../work/work.queries.js';
import { Job, Task } from '../work/work.shapes.js';
import { Finding, SafetyCheck, SafetyStatus } from './diagnosis.shapes.js';
import { isSafetyCheck, requiredChecks, requirement, type SafetyRequirement } from './safety-checks.js';

type Figure = { toString(): string } | number | null | undefined;
const numberOf = (figure: Figure): number | null =>
  figure === null || figure === undefined ? null : Number(figure.toString());

/** Whether a reading lies within its limits; null without a reading or without limits. */
export function isWithin(finding: { measuredValue?: Figure; limitLow?: Figure; limitHigh?: Figure }): boolean | null {
  const value = numberOf(finding.measuredValue);
  const low = numberOf(finding.limitLow);
  const high = numberOf(finding.limitHigh);
  if (value === null || (low === null && high === null)) return null;
  return (low === null || value >= low) && (high === null || value <= high);
}

/** What is to be replaced on unfinished jobs and has no part need: neither plan nor estimate knows of it. */
export const lacksPart = {
  verdict: 'replace',
  archivedAt: null,
  // Not where it was decided against.
  OR: [{ decision: null }, { decision: 'accepted' }],
  job: { finishedDate: null, closedDate: null, archivedAt: null },
  AND: [{ OR: [{ partNeedId: null }, { partNeed: { archivedAt: { not: null } } }] }],
} satisfies Prisma.FindingWhereInput;

/** What makes work on open jobs that go on, and nobody has decided on: no part was named for it either. */
export const undecidedWork = {
  verdict: { in: [...workVerdicts] },
  decision: null,
  archivedAt: null,
  job: { closedDate: null, archivedAt: null, scope: { in: ['full', 'mechanical'] } },
  OR: [{ partNeedId: null }, { partNeed: { archivedAt: { not: null } } }],
} satisfies Prisma.FindingWhereInput;

export type CompleteFinding = Stored<'finding'> & {
  withinLimits: boolean | null;
  nextStep: string | null;
  taskIds: string[];
  sameAsIds: string[];
};

/**
 * Findings' rows with what their measurements say, the tasks that are for them, their like, and what is still to be
 * recorded: four statements, however many.
 */
export async function completeFindings(
  context: OperationContext,
  rows: readonly Stored<'finding'>[],
): Promise<CompleteFinding[]> {
  const lacking = new Set(
    (
      await context.tx.finding.findMany({
        where: { ...lacksPart, id: { in: rows.map((row) => row.id) } },
        select: { id: true },
      })
    ).map((one) => one.id),
  );
  const undecided = new Set(
    (
      await context.tx.finding.findMany({
        where: { ...undecidedWork, id: { in: rows.map((row) => row.id) } },
        select: { id: true },
      })
    ).map((one) => one.id),
  );
  const traced = groupBy(
    await context.tx.taskFinding.findMany({
      where: { findingId: { in: rows.map((row) => row.id) }, task: { archivedAt: null } },
      select: { findingId: true, taskId: true },
      orderBy: { id: 'asc' },
    }),
    (one) => one.findingId,
  );
  const others = await context.tx.finding.findMany({
    where: { machineId: { in: [...new Set(rows.map((row) => row.machineId))] }, archivedAt: null },
    select: {
      id: true,
      machineId: true,
      jobId: true,
      component: true,
      componentCode: true,
      position: true,
      verdict: true,
    },
    orderBy: { id: 'asc' },
  });
  return rows.map((row) => ({
    ...row,
    withinLimits: isWithin(row),
    taskIds: (traced.get(row.id) ?? []).map((one) => one.taskId),
    sameAsIds: others.filter((one) => one.id !== row.id && isSame(one, row)).map((one) => one.id),
    nextStep:
      row.verdict === 'verify' && row.archivedAt === null
        ? 'Look whether it is so, then say what was found and change the verdict to what is to be done.'
        : undecided.has(row.id)
          ? 'Decide on its proposal: until it is accepted, plan and estimate count its work and its part as likely only.'
          : lacking.has(row.id)
            ? `Say which part it takes, with a part need on the task that fits it, and name that need here as ` +
              `partNeedId: until then neither the plan nor the estimate waits or pays for the part.`
            : null,
  }));
}

type Likeness = Pick<Stored<'finding'>, 'machineId' | 'jobId' | 'component' | 'componentCode' | 'position' | 'verdict'>;
/** Said again of the same component on the same job. */
const isSame = (a: Likeness, b: Likeness): boolean =>
  a.machineId === b.machineId &&
  a.jobId === b.jobId &&
  a.verdict === b.verdict &&
  a.position === b.position &&
  nameOf(a) === nameOf(b);

export const withTitle = (row: Stored<'safetyCheck'>) => ({
  ...row,
  title: isSafetyCheck(row.check) ? requirement(row.check).title : row.check,
});

/** The standing findings of machines or of jobs, oldest first. */
export async function findingsBy(
  context: OperationContext,
  key: 'machineId' | 'jobId',
  ids: string[],
): Promise<CompleteFinding[]> {
  const rows = await context.tx.finding.findMany({
    where: { [key]: { in: ids }, archivedAt: null },
    orderBy: [{ foundDate: 'asc' }, { id: 'asc' }],
  });
  return completeFindings(context, rows);
}

/** All safety checks of jobs as they were made, in that order. */
export async function safetyChecksBy(
  context: OperationContext,
  jobIds: string[],
): Promise<ReturnType<typeof withTitle>[]> {
  const rows = await context.tx.safetyCheck.findMany({
    where: { jobId: { in: jobIds } },
    orderBy: [{ checkedDate: 'asc' }, { id: 'asc' }],
  });
  return rows.map(withTitle);
}

export interface SafetyStatusOf {
  jobId: string;
  safe: boolean;
  required: SafetyRequirement[];
  passed: SafetyRequirement[];
  failed: SafetyRequirement[];
  missing: SafetyRequirement[];
}

/**
 * How each job stands with the safety checks its machine's kind needs: three statements, however many jobs.
 * @returns one answer a job that exists, by job id
 */
export async function safetyStatus(context: OperationContext, jobIds: string[]): Promise<Map<string, SafetyStatusOf>> {
  const jobs = await context.tx.job.findMany({
    where: { id: { in: jobIds } },
    select: { id: true, machine: { select: { kind: true } } },
  });
  const latest = new Map<string, boolean>();
  // In the order they were made, so the last one written here is the one that counts.
  for (const { jobId, check, passed } of await safetyChecksBy(context, jobIds)) latest.set(`${jobId} ${check}`, passed);
  return new Map(
    jobs.map((job) => {
      const required = requiredChecks(job.machine.kind);
      const status = (wanted: boolean | undefined) =>
        required.filter(({ code }) => latest.get(`${job.id} ${code}`) === wanted);
      const passed = status(true);
      return [
        job.id,
        {
          jobId: job.id,
          safe: passed.length === required.length,
          required,
          passed,
          failed: status(false),
          missing: status(undefined),
        },
      ];
    }),
  );
}

/**
 * What still stands against offering a job's machine: checks never made, and checks failed when last made.
 * @throws NotFound when the shop has no such job
 */
export async function missingSafetyChecks(context: OperationContext, jobId: string): Promise<SafetyRequirement[]> {
  const status = (await safetyStatus(context, [jobId])).get(jobId);
  if (!status) throw new NotFound('job', jobId);
  return status.required.filter(({ code }) => !status.passed.some((one) => one.code === code));
}

export const diagnosisQueries = [
  query({
    name: 'safetyStatus',
    summary: 'Which safety checks a job needs before its machine may be offered, and which of them stand',
    rest: { method: 'GET', path: '/jobs/:id/safety-status' },
    input: z.strictObject({ id }),
    output: SafetyStatus,
    async run(context, { id: jobId }) {
      const status = (await safetyStatus(context, [jobId])).get(jobId);
      if (!status) throw new NotFound('job', jobId);
      return status;
    },
  }),
];

export const diagnosisRelations = [
  children({
    on: Finding,
    field: 'tasks',
    to: Task,
    key: 'findingId',
    description: 'The tasks that are for it.',
    async find(context, ids) {
      const rows = await context.tx.taskFinding.findMany({
        where: { findingId: { in: ids }, task: { archivedAt: null } },
        include: { task: { include: taskInclude } },
        orderBy: { id: 'asc' },
      });
      return rows.map(({ findingId, task }) => ({ ...withTaskStatus(task), findingId }));
    },
  }),
  children({
    on: Task,
    field: 'findings',
    to: Finding,
    key: 'taskId',
    description: 'The findings it is for.',
    async find(context, ids) {
      const rows = await context.tx.taskFinding.findMany({
        where: { taskId: { in: ids } },
        include: { finding: true },
        orderBy: { id: 'asc' },
      });
      const complete = await completeFindings(
        context,
        rows.map(({ finding }) => finding),
      );
      return rows.map(({ taskId }, index) => ({ ...at(complete, index), taskId }));
    },
  }),
  children({
    on: Machine,
    field: 'findings',
    to: Finding,
    key: 'machineId',
    description: 'What was found on it, on every job.',
    find: (context, ids) => findingsBy(context, 'machineId', ids),
  }),
  parentOf({
    on: Finding,
    field: 'machine',
    to: Machine,
    key: 'machineId',
    description: 'The machine it was found on.',
    find: (context, ids) => context.tx.machine.findMany({ where: { id: { in: ids } } }),
  }),
  children({
    on: Job,
    field: 'findings',
    to: Finding,
    key: 'jobId',
    description: 'What was found on it.',
    find: (context, ids) => findingsBy(context, 'jobId', ids),
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
    field: 'safetyStatus',
    to: SafetyStatus,
    description: 'Which safety checks it needs, and which of them stand.',
    async compute(context, jobs) {
      const status = await safetyStatus(
        context,
        jobs.map((job) => job.id),
      );
      return jobs.map((job) => status.get(job.id));
    },
  }),
  ...[Finding, SafetyCheck].map((on) =>
    parentOf({ on, field: 'job', to: Job, key: 'jobId', description: 'The job it belongs to.', find: jobsById }),
  ),
];

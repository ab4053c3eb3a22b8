import { z } from 'zod';
import { Machine } from '../machines/machines.shapes.js';
import type { Prisma } from '../platform/database/client/client.js';
import { NotFound } from '../platform/errors.js';
import { type Call, children, parentOf, type Presentable, query } from '../platform/operation/operation.js';
import { id } from '../platform/shapes.js';
import { Finding, SafetyStanding } from './diagnosis.shapes.js';
import { isSafetyCheck, requiredChecks, requirement, type SafetyRequirement } from './safety-checks.js';

/** A finding's row with what its measurement says. */
export function withinLimits(row: Presentable): Presentable {
  const value = row.measuredValue === null ? null : Number(row.measuredValue);
  const low = row.limitLow === null ? null : Number(row.limitLow);
  const high = row.limitHigh === null ? null : Number(row.limitHigh);
  const judged = value !== null && (low !== null || high !== null);
  return { ...row, withinLimits: judged ? (low === null || value >= low) && (high === null || value <= high) : null };
}

/** What is to be replaced on unfinished jobs and has no part need: neither plan nor estimate knows of it. */
export const lacksPart = {
  verdict: 'replace',
  retiredAt: null,
  job: { finishedOn: null, closedOn: null, retiredAt: null },
  OR: [{ partNeedId: null }, { partNeed: { retiredAt: { not: null } } }],
} satisfies Prisma.FindingWhereInput;

/** Findings' rows with what their measurements say and what is still to be recorded: one statement, however many. */
export async function completeFindings(call: Call, rows: Presentable[]): Promise<Presentable[]> {
  const lacking = new Set(
    (
      await call.tx.finding.findMany({
        where: { ...lacksPart, id: { in: rows.map((row) => row.id as string) } },
        select: { id: true },
      })
    ).map((one) => one.id),
  );
  return rows.map((row) => ({
    ...withinLimits(row),
    nextStep: lacking.has(row.id)
      ? `Say which part it takes, with a part need on the task that fits it, and name that need here as partNeedId: until then neither the plan nor the estimate reckons with replacing it.`
      : null,
  }));
}

export const withTitle = (row: Presentable): Presentable => ({
  ...row,
  title: isSafetyCheck(row.check) ? requirement(row.check).title : row.check,
});

/** The standing findings of machines or of jobs, oldest first. */
export async function findingsBy(call: Call, key: 'machineId' | 'jobId', ids: string[]): Promise<Presentable[]> {
  const rows = await call.tx.finding.findMany({
    where: { [key]: { in: ids }, retiredAt: null },
    orderBy: [{ foundOn: 'asc' }, { id: 'asc' }],
  });
  return completeFindings(call, rows);
}

/** All safety checks of jobs as they were made, in that order. */
export async function safetyChecksBy(call: Call, jobIds: string[]): Promise<Presentable[]> {
  const rows = await call.tx.safetyCheck.findMany({
    where: { jobId: { in: jobIds } },
    orderBy: [{ checkedOn: 'asc' }, { id: 'asc' }],
  });
  return rows.map(withTitle);
}

export interface SafetyStandingOf {
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
export async function safetyStanding(call: Call, jobIds: string[]): Promise<Map<string, SafetyStandingOf>> {
  const jobs = await call.tx.job.findMany({
    where: { id: { in: jobIds } },
    select: { id: true, machine: { select: { kind: true } } },
  });
  const latest = new Map<string, boolean>();
  // In the order they were made, so the last one written here is the one that counts.
  for (const { jobId, check, passed } of await safetyChecksBy(call, jobIds)) latest.set(`${jobId} ${check}`, passed);
  return new Map(
    jobs.map((job) => {
      const required = requiredChecks(job.machine.kind);
      const standing = (wanted: boolean | undefined) =>
        required.filter(({ code }) => latest.get(`${job.id} ${code}`) === wanted);
      const passed = standing(true);
      return [
        job.id,
        {
          jobId: job.id,
          safe: passed.length === required.length,
          required,
          passed,
          failed: standing(false),
          missing: standing(undefined),
        },
      ];
    }),
  );
}

/**
 * What still stands against offering a job's machine: checks never made, and checks failed when last made.
 * @throws NotFound when the shop has no such job
 */
export async function missingSafetyChecks(call: Call, jobId: string): Promise<SafetyRequirement[]> {
  const standing = (await safetyStanding(call, [jobId])).get(jobId);
  if (!standing) throw new NotFound('job', jobId);
  return standing.required.filter(({ code }) => !standing.passed.some((one) => one.code === code));
}

export const diagnosisQueries = [
  query({
    name: 'safetyStanding',
    summary: 'Which safety checks a job needs before its machine may be offered, and which of them stand',
    rest: { method: 'GET', path: '/jobs/:jobId/safety-standing' },
    input: z.strictObject({ jobId: id }),
    output: SafetyStanding,
    async run(call, { jobId }) {
      const standing = (await safetyStanding(call, [jobId])).get(jobId);
      if (!standing) throw new NotFound('job', jobId);
      return standing;
    },
  }),
];

export const diagnosisRelations = [
  children({
    on: Machine,
    field: 'findings',
    to: Finding,
    key: 'machineId',
    description: 'What was found on it, on every job.',
    find: (call, ids) => findingsBy(call, 'machineId', ids),
  }),
  parentOf({
    on: Finding,
    field: 'machine',
    to: Machine,
    key: 'machineId',
    description: 'The machine it was found on.',
    find: (call, ids) => call.tx.machine.findMany({ where: { id: { in: ids } } }),
  }),
];

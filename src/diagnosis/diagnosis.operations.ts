import { z } from 'zod';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { asColumns, asDate, asDay } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { type OperationContext, workers } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';
import { id } from '../platform/shapes.js';
import { completeFindings, lacksPart, withTitle } from './diagnosis.queries.js';
import {
  Finding,
  FindingChange,
  FindingCreate,
  SafetyCheck,
  SafetyCheckCode,
  SafetyCheckCreate,
  Verdict,
} from './diagnosis.shapes.js';

type NewFinding = z.output<typeof FindingCreate>;

/**
 * Writes a finding. Without a job it joins the machine's open job, if there is one; a job opened later takes it along.
 * @param pointer where the finding stands in the input
 * @throws NotFound for a machine or job the shop does not have, Conflict for a archived machine, Invalid when the
 * measurement makes no sense
 */
export async function addFinding(
  context: OperationContext,
  input: NewFinding,
  pointer = '',
): Promise<Stored<'finding'>> {
  const day = input.foundDate ?? context.today;
  checkFinding(context, { ...input, foundDate: day }, pointer);
  const machine = await context.tx.machine.findFirst({ where: { id: input.machineId } });
  if (!machine) throw new NotFound('machine', input.machineId);
  if (machine.archivedAt) throw new Conflict('archived', 'This machine was archived and is only kept for history.');
  return context.tx.finding.create({
    data: {
      shopId: context.shop.id,
      ...asColumns(FindingCreate, input),
      jobId: await jobFor(context, machine.id, input.jobId),
      foundDate: asDate(day),
    },
  });
}

async function jobFor(
  context: OperationContext,
  machineId: string,
  jobId: string | null | undefined,
): Promise<string | null> {
  if (!jobId)
    return (await context.tx.job.findFirst({ where: { machineId, closedDate: null, archivedAt: null } }))?.id ?? null;
  const job = await context.tx.job.findFirst({ where: { id: jobId } });
  if (!job) throw new NotFound('job', jobId);
  if (job.archivedAt) throw new Conflict('archived', 'This job was archived and is only kept for history.');
  if (job.machineId !== machineId) throw new Invalid([{ detail: 'is a job of another machine', pointer: '/jobId' }]);
  return job.id;
}

type Figure = { toString(): string } | number | null | undefined;
interface Measured {
  measuredValue?: Figure;
  limitLow?: Figure;
  limitHigh?: Figure;
  unit?: string | null | undefined;
  foundDate: string;
}

function checkFinding(context: OperationContext, finding: Measured, pointer = ''): void {
  const given = (value: unknown): boolean => value !== null && value !== undefined;
  if (given(finding.limitLow) && given(finding.limitHigh) && Number(finding.limitLow) > Number(finding.limitHigh)) {
    throw new Invalid([{ detail: 'must not be above limitHigh', pointer: `${pointer}/limitLow` }]);
  }
  if ((given(finding.measuredValue) || given(finding.limitLow) || given(finding.limitHigh)) && !given(finding.unit)) {
    throw new Invalid([{ detail: 'a value or a limit needs its unit', pointer: `${pointer}/unit` }]);
  }
  if (finding.foundDate > context.today)
    throw new Invalid([{ detail: 'lies in the future', pointer: `${pointer}/foundDate` }]);
}

async function checkNeed(context: OperationContext, needId: string, jobId: string | null): Promise<void> {
  const need = await context.tx.partNeed.findFirst({
    where: { id: needId },
    select: { archivedAt: true, task: { select: { jobId: true } } },
  });
  if (!need) throw new NotFound('part need', needId);
  if (need.archivedAt) throw new Conflict('archived', 'This part need was taken back; name one that stands.');
  if (need.task.jobId !== jobId)
    throw new Invalid([{ detail: 'is a part need of another job', pointer: '/partNeedId' }]);
}

async function addSafetyCheck(
  context: OperationContext,
  input: z.output<typeof SafetyCheckCreate>,
): Promise<Stored<'safetyCheck'>> {
  const checkedDate = input.checkedDate ?? context.today;
  if (checkedDate > context.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/checkedDate' }]);
  const job = await context.tx.job.findFirst({ where: { id: input.jobId } });
  if (!job) throw new NotFound('job', input.jobId);
  if (job.archivedAt) throw new Conflict('archived', 'This job was archived and is only kept for history.');
  if (job.closedDate) throw new Conflict('job-closed', 'This job is closed; its checks stand as they were made.');
  const { check, passed, checkedBy, note } = input;
  return context.tx.safetyCheck.create({
    data: {
      shopId: context.shop.id,
      jobId: job.id,
      check,
      passed,
      checkedBy,
      note: note ?? null,
      checkedDate: asDate(checkedDate),
    },
  });
}

export const findingOperations = crudOperations({
  name: 'finding',
  plural: 'findings',
  table: 'finding',
  shape: Finding,
  create: FindingCreate,
  change: FindingChange,
  filters: {
    machineId: id.nullish(),
    jobId: id.nullish(),
    verdict: Verdict.nullish(),
    lacksPart: z
      .boolean()
      .nullish()
      .meta({ description: 'True for what is to be replaced, on an unfinished job, and has no part need yet.' }),
  },
  where: ({ machineId, jobId, verdict, lacksPart: lacking }) => ({
    ...(machineId ? { machineId } : {}),
    ...(jobId ? { jobId } : {}),
    ...(verdict ? { verdict } : {}),
    ...(lacking === true ? { AND: lacksPart } : lacking === false ? { NOT: lacksPart } : {}),
  }),
  sorts: ['foundDate', 'createdAt', 'component'],
  writers: workers,
  onCreate: addFinding,
  async onChange(context, before, columns) {
    const after = { ...before, ...columns };
    checkFinding(context, { ...after, foundDate: asDay(after.foundDate) });
    if (columns.partNeedId) await checkNeed(context, columns.partNeedId, before.jobId);
    return columns;
  },
  complete: completeFindings,
});

export const safetyCheckOperations = crudOperations({
  name: 'safetyCheck',
  plural: 'safetyChecks',
  table: 'safetyCheck',
  shape: SafetyCheck,
  create: SafetyCheckCreate,
  filters: { jobId: id.nullish(), check: SafetyCheckCode.nullish(), passed: z.boolean().nullish() },
  sorts: ['checkedDate', 'createdAt'],
  writers: workers,
  archives: false,
  onCreate: addSafetyCheck,
  complete: (_context, rows) => rows.map(withTitle),
});

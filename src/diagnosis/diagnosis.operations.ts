import { z } from 'zod';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { asColumns, asDate, asDay } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { type OperationContext, workers } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';
import { id } from '../platform/shapes.js';
import { treeOf } from './components/index.js';
import { completeFindings, isWithin, lacksPart, withTitle } from './diagnosis.queries.js';
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
  const named = componentOf(machine.kind, input, pointer);
  return context.tx.finding.create({
    data: {
      shopId: context.shop.id,
      ...asColumns(FindingCreate, input),
      componentCode: named,
      jobId: await jobFor(context, machine.id, input.jobId),
      foundDate: asDate(day),
    },
  });
}

/**
 * The code of the component that is named, by its code or by words that are its own.
 * @returns null for words that name none: they stay as they are
 * @throws Invalid for a code that the kind of machine does not have, or a place that the component does not have
 */
function componentOf(
  machineKind: string,
  given: { component: string; componentCode?: string | null | undefined; position?: string | null | undefined },
  pointer: string,
): string | null {
  const tree = treeOf(machineKind);
  const component = given.componentCode ? tree.get(given.componentCode) : tree.named(given.component);
  if (given.componentCode && !component)
    throw new Invalid([
      {
        detail: `such a machine has no component of that code; there are ${tree.components.map(({ code }) => code).join(', ')}`,
        pointer: `${pointer}/componentCode`,
      },
    ]);
  const { position } = given;
  if (component && position && component.positions.length > 0 && !component.positions.some((one) => one === position))
    throw new Invalid([
      { detail: `of this component there is ${component.positions.join(' and ')}`, pointer: `${pointer}/position` },
    ]);
  return component?.code ?? null;
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
  newSize?: Figure;
  limitLow?: Figure;
  limitHigh?: Figure;
  unit?: string | null | undefined;
  verdict: string;
  reason?: string | null | undefined;
  foundDate: string;
}

function checkFinding(context: OperationContext, finding: Measured, pointer = ''): void {
  const given = (value: unknown): boolean => value !== null && value !== undefined;
  if (given(finding.limitLow) && given(finding.limitHigh) && Number(finding.limitLow) > Number(finding.limitHigh)) {
    throw new Invalid([{ detail: 'must not be above limitHigh', pointer: `${pointer}/limitLow` }]);
  }
  const figures = [finding.measuredValue, finding.newSize, finding.limitLow, finding.limitHigh];
  if (figures.some(given) && !given(finding.unit)) {
    throw new Invalid([{ detail: 'a value or a limit needs its unit', pointer: `${pointer}/unit` }]);
  }
  if (finding.foundDate > context.today)
    throw new Invalid([{ detail: 'lies in the future', pointer: `${pointer}/foundDate` }]);
  if (finding.verdict === 'serveOn' && !finding.reason && isWithin(finding) === false)
    throw new Invalid([
      { detail: 'say why it serves on: its reading lies outside the limits', pointer: `${pointer}/reason` },
    ]);
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
    if (before.decision === 'accepted' && columns.verdict && columns.verdict !== before.verdict)
      throw new Conflict(
        'decided',
        'Its work was accepted with the verdict as it is. Take that back first with reopenProposals, or record a new finding.',
      );
    if (columns.component === undefined && columns.componentCode === undefined && columns.position === undefined)
      return columns;
    const { kind } = await context.tx.machine.findUniqueOrThrow({ where: { id: before.machineId } });
    // Other words name another component, unless its code is given with them.
    const code = columns.componentCode === undefined && columns.component !== undefined ? null : after.componentCode;
    return { ...columns, componentCode: componentOf(kind, { ...after, componentCode: code }, '') };
  },
  async onArchive(context, before) {
    const made = await context.tx.taskFinding.count({
      where: { findingId: before.id, task: { archivedAt: null, startedAt: null } },
    });
    if (made > 0)
      throw new Conflict(
        'decided',
        'Tasks still to be done are for this finding. Take its acceptance back first with reopenProposals.',
      );
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

import { z } from 'zod';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { derived } from '../platform/operation/derive.js';
import { type Call, type Presentable, workers } from '../platform/operation/operation.js';
import { asColumns, asDate, asDay, records } from '../platform/operation/crud-operations.js';
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

/**
 * Writes a finding. Without a job it joins the machine's open job, if there is one; a job opened later takes it along.
 * @param pointer where the finding stands in the input
 * @throws NotFound for a machine or job the shop does not have, Conflict for a retired machine, Invalid when the measurement makes no sense
 */
export async function addFinding(call: Call, input: Presentable, pointer = ''): Promise<Presentable> {
  const { foundOn, jobId, ...given } = input;
  const day = foundOn ?? call.today;
  checkFinding(call, { ...given, foundOn: day }, pointer);
  const machine = await call.tx.machine.findFirst({ where: { id: input.machineId } });
  if (!machine) throw new NotFound('machine', input.machineId);
  if (machine.retiredAt) throw new Conflict('retired', 'This machine was retired and is only kept for history.');
  return call.tx.finding.create({
    data: {
      shopId: call.shop.id,
      ...asColumns(FindingCreate, given),
      jobId: await jobFor(call, machine.id, jobId),
      foundOn: asDate(day),
    } as never,
  });
}

async function jobFor(call: Call, machineId: string, jobId: string | null | undefined): Promise<string | null> {
  if (!jobId)
    return (await call.tx.job.findFirst({ where: { machineId, closedOn: null, retiredAt: null } }))?.id ?? null;
  const job = await call.tx.job.findFirst({ where: { id: jobId } });
  if (!job) throw new NotFound('job', jobId);
  if (job.retiredAt) throw new Conflict('retired', 'This job was retired and is only kept for history.');
  if (job.machineId !== machineId) throw new Invalid([{ detail: 'is a job of another machine', pointer: '/jobId' }]);
  return job.id;
}

function checkFinding(call: Call, finding: Presentable, pointer = ''): void {
  const given = (value: unknown): boolean => value !== null && value !== undefined;
  if (given(finding.limitLow) && given(finding.limitHigh) && Number(finding.limitLow) > Number(finding.limitHigh)) {
    throw new Invalid([{ detail: 'must not be above limitHigh', pointer: `${pointer}/limitLow` }]);
  }
  if ((given(finding.measuredValue) || given(finding.limitLow) || given(finding.limitHigh)) && !given(finding.unit)) {
    throw new Invalid([{ detail: 'a value or a limit needs its unit', pointer: `${pointer}/unit` }]);
  }
  if (finding.foundOn > call.today)
    throw new Invalid([{ detail: 'lies in the future', pointer: `${pointer}/foundOn` }]);
}

async function checkNeed(call: Call, needId: string, jobId: string | null): Promise<void> {
  const need = await call.tx.partNeed.findFirst({
    where: { id: needId },
    select: { retiredAt: true, task: { select: { jobId: true } } },
  });
  if (!need) throw new NotFound('part need', needId);
  if (need.retiredAt) throw new Conflict('retired', 'This part need was taken back; name one that stands.');
  if (need.task.jobId !== jobId)
    throw new Invalid([{ detail: 'is a part need of another job', pointer: '/partNeedId' }]);
}

async function addSafetyCheck(call: Call, input: Presentable): Promise<Presentable> {
  const checkedOn = input.checkedOn ?? call.today;
  if (checkedOn > call.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/checkedOn' }]);
  const job = await call.tx.job.findFirst({ where: { id: input.jobId } });
  if (!job) throw new NotFound('job', input.jobId);
  if (job.retiredAt) throw new Conflict('retired', 'This job was retired and is only kept for history.');
  if (job.closedOn) throw new Conflict('job-closed', 'This job is closed; its checks stand as they were made.');
  const { check, passed, checkedBy, note } = input;
  return call.tx.safetyCheck.create({
    data: {
      shopId: call.shop.id,
      jobId: job.id,
      check,
      passed,
      checkedBy,
      note: note ?? null,
      checkedOn: asDate(checkedOn),
    },
  });
}

export const findingOperations = derived(
  records({
    name: 'finding',
    plural: 'findings',
    rows: (tx) => tx.finding,
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
    where: ({ lacksPart: lacking, ...columns }) => ({
      ...Object.fromEntries(
        Object.entries(columns).filter(([key, value]) => ['machineId', 'jobId', 'verdict'].includes(key) && value),
      ),
      ...(lacking === true ? { AND: lacksPart } : lacking === false ? { NOT: lacksPart } : {}),
    }),
    sorts: ['foundOn', 'createdAt', 'component'],
    writers: workers,
    onCreate: addFinding,
    async onChange(call, before, columns) {
      const after = { ...before, ...columns };
      checkFinding(call, { ...after, foundOn: asDay(after.foundOn) });
      if (columns.partNeedId) await checkNeed(call, columns.partNeedId as string, before.jobId);
      return columns;
    },
  }),
  completeFindings,
);

export const safetyCheckOperations = derived(
  records({
    name: 'safetyCheck',
    plural: 'safetyChecks',
    rows: (tx) => tx.safetyCheck,
    shape: SafetyCheck,
    create: SafetyCheckCreate,
    filters: { jobId: id.nullish(), check: SafetyCheckCode.nullish(), passed: z.boolean().nullish() },
    sorts: ['checkedOn', 'createdAt'],
    writers: workers,
    retires: false,
    onCreate: addSafetyCheck,
  }),
  (_call, rows) => rows.map(withTitle),
);

/** Writes a past job whole, through the same steps as it would have been written through one by one. */
import { Decimal } from 'decimal.js';
import { addFinding } from '../../diagnosis/diagnosis.operations.js';
import { requiredChecks } from '../../diagnosis/safety-checks.js';
import { lookUp } from '../../engine/look-up.js';
import { recordCoat } from '../../finish/coats.operations.js';
import { writeEntry } from '../../ledger/ledger.operations.js';
import { totalCostOf } from '../../machines/acquisitions.js';
import { addAcquisition, addMachine } from '../../machines/machines.operations.js';
import { Invalid, NotFound } from '../../platform/errors.js';
import { asDate } from '../../platform/operation/columns.js';
import { dayIn } from '../../platform/operation/execute.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { requirePastDate } from '../../platform/operation/rows.js';
import type { Stored } from '../../platform/operation/stored.js';
import { createOffer } from '../../resale/offers.operations.js';
import { createSale } from '../../resale/sale.operations.js';
import { closeJobRow, noteOnJob, settleJob } from '../../work/jobs.js';
import { checkLength } from '../../work/labour-length.js';
import { openJob } from '../../work/open-job.js';
import type { PastJob } from './past-jobs.shapes.js';

export interface PastJobWritten {
  machine: Stored<'machine'>;
  job: Stored<'job'>;
  paid: Decimal;
  received: Decimal;
}

/** @param pointer where the job stands in the input */
export async function recordPastJob(
  context: OperationContext,
  past: PastJob,
  pointer: string,
): Promise<PastJobWritten> {
  const {
    machine: given,
    tasks: _written,
    findings,
    expenses,
    coats,
    offers,
    sale,
    ended,
    safetyChecks,
    title,
    ...bought
  } = past;
  if (sale && ended)
    throw new Invalid([{ detail: 'was sold or ended otherwise, not both', pointer: `${pointer}/ended` }]);
  const { openedDate: opened, ...acquired } = bought;
  const acquisition = await addAcquisition(context, { ...acquired, splitMethod: 'byValue' });
  const added = await addMachine(context, given, acquisition.id, `${pointer}/machine`);
  const paid = totalCostOf(acquisition);
  const machine = await context.tx.machine.update({
    where: { id: added.id },
    data: { acquisitionShare: paid.toString() },
  });
  const openedDate = requirePastDate(context, opened ?? past.acquiredDate, `${pointer}/openedDate`, past.acquiredDate);
  const job = await openJob(context, { machineId: machine.id, title, openedDate });
  for (const [index, finding] of findings.entries())
    await addFinding(
      context,
      { ...finding, machineId: machine.id, jobId: job.id, foundDate: finding.foundDate ?? openedDate },
      `${pointer}/findings/${index}`,
    );
  await writeTasks(context, job, past, pointer);
  for (const expense of expenses)
    await writeEntry(context, { ...expense, jobId: job.id, occurredDate: expense.occurredDate ?? openedDate });
  for (const coat of coats) await recordCoat.run(context, { ...coat, jobId: job.id });
  if (safetyChecks) await writeChecks(context, job, machine.kind, safetyChecks, `${pointer}/safetyChecks`);
  // What went to its buyer long ago cannot be held back now; that nothing is on record of its checks is.
  const afterwards = !safetyChecks;
  for (const { withdrawnDate, ...offer } of offers) {
    const { id } = await createOffer(context, { ...offer, jobId: job.id }, { afterwards });
    if (withdrawnDate)
      await context.tx.offer.update({
        where: { id },
        data: {
          withdrawnDate: asDate(requirePastDate(context, withdrawnDate, `${pointer}/offers`, offer.offeredDate)),
        },
      });
  }
  if (sale) {
    await createSale(context, { ...sale, jobId: job.id }, { afterwards });
    if (afterwards)
      await noteOnJob(
        context,
        await context.tx.job.findUniqueOrThrow({ where: { id: job.id } }),
        'entered after its sale; no safety checks are on record',
      );
  }
  if (ended) await closeJobRow(context, job.id, ended.outcome, ended.closedDate);
  return {
    machine,
    job: await context.tx.job.findUniqueOrThrow({ where: { id: job.id } }),
    paid,
    received: new Decimal(sale?.price ?? 0),
  };
}

async function writeTasks(
  context: OperationContext,
  job: Stored<'job'>,
  { tasks, acquiredDate }: PastJob,
  pointer: string,
): Promise<void> {
  if (tasks.length === 0) return;
  const rows = tasks.map(({ labour, ...task }, index) => {
    const at = `${pointer}/tasks/${index}`;
    const entries = labour.map((entry, place) => {
      const [startedAt, endedAt] = [new Date(entry.startedAt), new Date(entry.endedAt)];
      const where = `${at}/labour/${place}`;
      if (endedAt > context.now)
        throw new Invalid([
          { detail: 'lies in the future; only what has happened is recorded', pointer: `${where}/endedAt` },
        ]);
      if (endedAt <= startedAt)
        throw new Invalid([{ detail: 'must lie after startedAt', pointer: `${where}/endedAt` }]);
      checkLength(startedAt, endedAt, `${where}/endedAt`);
      if (dayIn(startedAt, context.shop.timeZone) < acquiredDate)
        throw new Invalid([
          { detail: `lies before the machine came into the shop on ${acquiredDate}`, pointer: `${where}/startedAt` },
        ]);
      return { ...entry, startedAt, endedAt };
    });
    const moments = entries.flatMap((entry) => [entry.startedAt.getTime(), entry.endedAt.getTime()]);
    const startedAt = task.startedAt
      ? new Date(task.startedAt)
      : moments.length > 0
        ? new Date(Math.min(...moments))
        : null;
    const finishedAt = task.finishedAt
      ? new Date(task.finishedAt)
      : moments.length > 0
        ? new Date(Math.max(...moments))
        : null;
    if (finishedAt && finishedAt > context.now)
      throw new Invalid([
        { detail: 'lies in the future; only what has happened is recorded', pointer: `${at}/finishedAt` },
      ]);
    if (startedAt && finishedAt && startedAt > finishedAt)
      throw new Invalid([{ detail: 'lies after finishedAt', pointer: `${at}/startedAt` }]);
    return {
      entries,
      task: {
        shopId: context.shop.id,
        jobId: job.id,
        position: index + 1,
        code: task.code ?? `past-${index + 1}`,
        name: task.name,
        kind: task.kind,
        handsOnMinutes: task.handsOnMinutes,
        minMinutes: task.handsOnMinutes,
        maxMinutes: task.handsOnMinutes,
        people: task.people,
        startedAt: startedAt ?? finishedAt,
        finishedAt,
      },
    };
  });
  const codes = new Set<string>();
  rows.forEach(({ task }, index) => {
    if (codes.has(task.code))
      throw new Invalid([
        { detail: `another task has the code ${task.code}`, pointer: `${pointer}/tasks/${index}/code` },
      ]);
    codes.add(task.code);
  });
  const made = await context.tx.task.createManyAndReturn({
    data: rows.map(({ task }) => task),
    select: { id: true, code: true },
  });
  const idOf = new Map(made.map(({ id, code }) => [code, id]));
  const labour = rows.flatMap(({ entries, task }) =>
    entries.map(({ personId, startedAt, endedAt, note }) => ({
      shopId: context.shop.id,
      taskId: lookUp(idOf, task.code),
      personId,
      startedAt,
      endedAt,
      note: note ?? null,
    })),
  );
  const people = [...new Set(labour.map((entry) => entry.personId))];
  const known = await context.tx.person.findMany({ where: { id: { in: people } }, select: { id: true } });
  const unknown = people.find((one) => !known.some((person) => person.id === one));
  if (unknown) throw new NotFound('person', unknown);
  if (labour.length > 0) await context.tx.labourEntry.createMany({ data: labour });
  await settleJob(context, job.id);
}

async function writeChecks(
  context: OperationContext,
  job: Stored<'job'>,
  kind: string,
  { checkedBy, checkedDate }: NonNullable<PastJob['safetyChecks']>,
  pointer: string,
): Promise<void> {
  requirePastDate(context, checkedDate, `${pointer}/checkedDate`);
  await context.tx.safetyCheck.createMany({
    data: requiredChecks(kind).map(({ code }) => ({
      shopId: context.shop.id,
      jobId: job.id,
      check: code,
      passed: true,
      checkedBy,
      checkedDate: asDate(checkedDate),
    })),
  });
}

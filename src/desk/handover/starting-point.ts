/** Gathers a job's written starting point from its records. */
import { findingsBy, safetyChecksBy, safetyStatus } from '../../diagnosis/diagnosis.queries.js';
import { lookUp } from '../../engine/look-up.js';
import { labourValue } from '../../engine/money/index.js';
import { asDay } from '../../platform/operation/columns.js';
import { dayIn } from '../../platform/operation/execute.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { findOne } from '../../platform/operation/stored.js';
import { readShop } from '../../shop/shop.queries.js';
import { withOneJobStatus } from '../../work/jobs.js';
import { labourByJob } from '../../work/labour.js';
import { maintenanceFor } from './maintenance.js';
import type { StartingPoint } from './starting-point.shapes.js';
import { startingPointText } from './starting-point-text.js';

/** @throws NotFound when the shop has no such job */
export async function startingPoint(context: OperationContext, jobId: string) {
  const job = await withOneJobStatus(context, await findOne(context.tx.job, 'job', jobId, { machine: true }));
  const dayOf = (moment: Date): string => dayIn(moment, context.shop.timeZone);
  const tasks = await context.tx.task.findMany({
    where: { jobId, archivedAt: null },
    orderBy: [{ position: 'asc' }, { id: 'asc' }],
  });
  const parts = await context.tx.partNeed.findMany({
    where: { archivedAt: null, usedDate: { not: null }, task: { jobId } },
    include: { part: true },
    orderBy: [{ usedDate: 'asc' }, { id: 'asc' }],
  });
  const coats = await context.tx.coat.findMany({
    where: { jobId, archivedAt: null },
    include: { product: true },
    orderBy: [{ appliedAt: 'asc' }, { id: 'asc' }],
  });
  const status = lookUp(await safetyStatus(context, [jobId]), jobId);
  const shop = await readShop(context);
  const labourMinutes = lookUp(await labourByJob(context, [jobId]), jobId).minutes;
  const facts = {
    jobId,
    jobNumber: job.number,
    title: job.title,
    status: job.status,
    writtenOn: context.today,
    machine: job.machine,
    findings: (await findingsBy(context, 'jobId', [jobId])).map((finding) => ({
      ...finding,
      foundDate: asDay(finding.foundDate),
    })),
    workDone: tasks
      .flatMap(({ finishedAt, ...task }) => (finishedAt ? [{ ...task, finishedAt }] : []))
      .sort((a, b) => a.finishedAt.getTime() - b.finishedAt.getTime())
      .map(({ code, name, kind, finishedAt }) => ({ code, name, kind, finishedDate: dayOf(finishedAt) })),
    workLeft: tasks.filter((task) => !task.finishedAt).map((task) => task.name),
    labourMinutes,
    labourValue: labourValue(labourMinutes, shop.hourlyValue.toString(), context.shop.currency).toString(),
    // The column is written only through the shape.
    equipment: job.machine.equipment as unknown as StartingPoint['equipment'],
    partsFitted: parts.flatMap(({ part, quantity, usedDate }) =>
      usedDate
        ? [{ name: part.name, quantity: Number(quantity), fastener: part.fastener, fittedOn: asDay(usedDate) }]
        : [],
    ),
    coats: coats.map((coat) => ({
      surface: coat.surface,
      coatNumber: coat.coatNumber,
      product: coat.product.name,
      appliedOn: dayOf(coat.appliedAt),
      dryFilmMicrometres: coat.dryFilmMicrometres === null ? null : Number(coat.dryFilmMicrometres),
    })),
    safetyChecks: latestOfEach(await safetyChecksBy(context, [jobId])).map((check) => ({
      ...check,
      checkedDate: asDay(check.checkedDate),
    })),
    safetyMissing: [...status.failed, ...status.missing],
    maintenance: maintenanceFor(job.machine.kind),
  };
  return { ...facts, text: startingPointText(facts, shop.unitSystem) };
}

/** @param checks in the order they were made */
function latestOfEach<C extends { check: string }>(checks: readonly C[]): C[] {
  return [...new Map(checks.map((check) => [check.check, check])).values()];
}

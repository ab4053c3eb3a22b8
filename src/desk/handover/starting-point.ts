/** Gathers a job's written starting point from its records. */
import { findingsBy, safetyChecksBy, safetyStatus } from '../../diagnosis/diagnosis.queries.js';
import { outlooksOf } from '../../diagnosis/wear.queries.js';
import { workVerdicts } from '../../engine/diagnosis/index.js';
import { lookUp } from '../../engine/look-up.js';
import { labourValue } from '../../engine/money/index.js';
import { engineTypeOf } from '../../machines/engine-type.js';
import { asDay } from '../../platform/operation/columns.js';
import { dayIn } from '../../platform/operation/execute.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { findOne, type Stored } from '../../platform/operation/stored.js';
import { readShop } from '../../shop/shop.queries.js';
import { asFoundRecord, asFoundText } from '../../work/as-found.js';
import { withOneJobStatus } from '../../work/jobs.js';
import { labourByJob } from '../../work/labour.js';
import { looksDue } from './looks-due.js';
import { maintenanceFor } from './maintenance.js';
import { withDueDates } from './maintenance-dates.js';
import type { StartingPoint } from './starting-point.shapes.js';
import { startingPointText } from './starting-point-text.js';

/**
 * @param options.withHours the text tells how long was worked on it
 * @throws NotFound when the shop has no such job
 */
export async function startingPoint(
  context: OperationContext,
  jobId: string,
  { withHours = false }: { withHours?: boolean } = {},
) {
  const job = await withOneJobStatus(context, await findOne(context.tx.job, 'job', jobId, { machine: true }));
  const dayOf = (moment: Date): string => dayIn(moment, context.shop.timeZone);
  const tasks = await context.tx.task.findMany({
    where: { jobId, archivedAt: null },
    orderBy: [{ position: 'asc' }, { id: 'asc' }],
  });
  const parts = await context.tx.partNeed.findMany({
    where: { archivedAt: null, usedDate: { not: null }, task: { jobId } },
    include: { part: true, stock: { include: { part: true } } },
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
  // The column is written only through the shape.
  const equipment = job.machine.equipment as unknown as StartingPoint['equipment'];
  const fitted = parts.flatMap(({ part: needed, stock, quantity, usedDate }) => {
    if (!usedDate) return [];
    // What came out of the bin is on the machine, whatever was asked for.
    const part = stock?.part ?? needed;
    return [
      {
        name: part.name,
        quantity: Number(quantity),
        fastener: part.fastener,
        designedToFail: part.designedToFail,
        inPlaceOf: part.id === needed.id ? null : needed.name,
        fittedOn: asDay(usedDate),
      },
    ];
  });
  const skipped = await context.tx.task.findMany({
    where: { jobId, skippedReason: { not: null } },
    orderBy: [{ position: 'asc' }, { id: 'asc' }],
    select: { name: true, skippedReason: true },
  });
  const findings = await findingsBy(context, 'jobId', [jobId]);
  const facts = {
    jobId,
    jobNumber: job.number,
    title: job.title,
    status: job.status,
    writtenOn: context.today,
    machine: job.machine,
    asFound: asFoundOf(job),
    findings: findings.map((finding) => ({
      ...finding,
      foundDate: asDay(finding.foundDate),
      decidedDate: finding.decidedDate && asDay(finding.decidedDate),
    })),
    workDone: tasks
      .flatMap(({ finishedAt, ...task }) => (finishedAt ? [{ ...task, finishedAt }] : []))
      .sort((a, b) => a.finishedAt.getTime() - b.finishedAt.getTime())
      .map(({ code, name, kind, finishedAt }) => ({ code, name, kind, finishedDate: dayOf(finishedAt) })),
    workLeft: tasks.filter((task) => !task.finishedAt).map((task) => task.name),
    notDoneFindingIds: findings
      .filter(
        (one) =>
          workVerdicts.some((verdict) => verdict === one.verdict) &&
          (one.decision === 'refused' ||
            (job.scope === 'sellAsFound' && !tasks.some((task) => task.finishedAt && one.taskIds.includes(task.id)))),
      )
      .map((one) => one.id),
    // Of one that is sold as found or taken apart, the reason of the job says it for all of them.
    workSkipped:
      job.scope === 'sellAsFound' || job.scope === 'stripForParts'
        ? []
        : skipped.map(({ name, skippedReason }) => ({ name, reason: skippedReason ?? '' })),
    labourMinutes,
    labourValue: labourValue(labourMinutes, shop.hourlyValue.toString(), context.shop.currency).toString(),
    equipment,
    partsFitted: fitted.map(({ designedToFail: _, ...part }) => part),
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
    maintenance: withDueDates(
      [
        ...looksDue(await outlooksOf(context, job.machine.kind, findings), findings, job.machine.kind),
        ...maintenanceFor({
          kind: job.machine.kind,
          engineType: engineTypeOf(job.machine),
          equipment,
          partsFitted: fitted,
        }),
      ],
      { kind: job.machine.kind, latitude: shop.latitude.toNumber(), seasonEndMonthDay: shop.seasonEndMonthDay },
      context.today,
    ),
  };
  return { ...facts, text: startingPointText(facts, shop.unitSystem, withHours) };
}

function asFoundOf(job: Stored<'job'>) {
  if (job.scope !== 'sellAsFound' || !job.asFoundDate || job.asFoundBy === null) return null;
  const recordedDate = asDay(job.asFoundDate);
  return {
    text: asFoundText,
    record: asFoundRecord(recordedDate, job.asFoundBy),
    recordedDate,
    recordedBy: job.asFoundBy,
    note: job.asFoundNote,
  };
}

/** @param checks in the order they were made */
function latestOfEach<C extends { check: string }>(checks: readonly C[]): C[] {
  return [...new Map(checks.map((check) => [check.check, check])).values()];
}

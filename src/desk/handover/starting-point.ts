/** Gathers a job's written starting point from its records. */
import { findingsBy, safetyChecksBy, safetyStanding } from '../../diagnosis/diagnosis.queries.js';
import { labourValue } from '../../engine/money/index.js';
import type { Call, Presentable } from '../../platform/operation/operation.js';
import { dayIn } from '../../platform/operation/execute.js';
import { asDay, findOne } from '../../platform/operation/crud-operations.js';
import { readShop } from '../../shop/shop.queries.js';
import { withStanding } from '../../work/jobs.js';
import { labourByJob } from '../../work/labour.js';
import { maintenanceFor } from './maintenance.js';
import { startingPointText } from './starting-point-text.js';

/** @throws NotFound when the shop has no such job */
export async function startingPoint(call: Call, jobId: string): Promise<Presentable> {
  const [job] = await withStanding(call, [await findOne(call.tx.job, 'job', jobId, { machine: true })]);
  const dayOf = (moment: Date): string => dayIn(moment, call.shop.timeZone);
  const tasks = await call.tx.task.findMany({
    where: { jobId, retiredAt: null },
    orderBy: [{ position: 'asc' }, { id: 'asc' }],
  });
  const parts = await call.tx.partNeed.findMany({
    where: { retiredAt: null, usedOn: { not: null }, task: { jobId } },
    include: { part: true },
    orderBy: [{ usedOn: 'asc' }, { id: 'asc' }],
  });
  const coats = await call.tx.coat.findMany({
    where: { jobId, retiredAt: null },
    include: { product: true },
    orderBy: [{ appliedAt: 'asc' }, { id: 'asc' }],
  });
  const standing = (await safetyStanding(call, [jobId])).get(jobId)!;
  const shop = await readShop(call);
  const labourMinutes = (await labourByJob(call, [jobId])).get(jobId)!.minutes;
  const facts = {
    jobId,
    jobNumber: job.number,
    title: job.title,
    state: job.state,
    writtenOn: call.today,
    machine: job.machine,
    findings: (await findingsBy(call, 'jobId', [jobId])).map((finding) => ({
      ...finding,
      foundOn: asDay(finding.foundOn),
    })),
    workDone: tasks
      .filter((task) => task.finishedAt)
      .sort((a, b) => a.finishedAt!.getTime() - b.finishedAt!.getTime())
      .map((task) => ({ code: task.code, name: task.name, kind: task.kind, finishedOn: dayOf(task.finishedAt!) })),
    workLeft: tasks.filter((task) => !task.finishedAt).map((task) => task.name),
    labourMinutes,
    labourValue: labourValue(labourMinutes, shop.hourlyValue.toString(), call.shop.currency).toString(),
    equipment: job.machine.equipment,
    partsFitted: parts.map((need) => ({
      name: need.part.name,
      quantity: Number(need.quantity),
      fastener: need.part.fastener,
      fittedOn: asDay(need.usedOn!),
    })),
    coats: coats.map((coat) => ({
      surface: coat.surface,
      coatNumber: coat.coatNumber,
      product: coat.product.name,
      appliedOn: dayOf(coat.appliedAt),
      dryFilmMicrometres: coat.dryFilmMicrometres === null ? null : Number(coat.dryFilmMicrometres),
    })),
    safetyChecks: latestOfEach(await safetyChecksBy(call, [jobId])).map((check) => ({
      ...check,
      checkedOn: asDay(check.checkedOn),
    })),
    safetyMissing: [...standing.failed, ...standing.missing],
    maintenance: maintenanceFor(job.machine.kind),
  };
  return { ...facts, text: startingPointText(facts, shop.unitSystem) };
}

/** @param checks in the order they were made */
function latestOfEach(checks: Presentable[]): Presentable[] {
  return [...new Map(checks.map((check) => [check.check, check])).values()];
}

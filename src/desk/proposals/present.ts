/** A job's proposals in the shape's words. */
import { completeFindings } from '../../diagnosis/diagnosis.queries.js';
import { type JobProposals, openProposals } from '../../diagnosis/proposals/open-proposals.js';
import { sharedAccess } from '../../engine/diagnosis/index.js';
import { NotFound } from '../../platform/errors.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { lockOpenJob } from '../../work/jobs.js';

/** @throws NotFound; Conflict for a job that is closed or archived */
export async function openProposalsOf(context: OperationContext, jobId: string): Promise<JobProposals> {
  const [found] = await openProposals(context, [jobId]);
  if (found) return found;
  // Says why not.
  if (await context.tx.job.findFirst({ where: { id: jobId } })) await lockOpenJob(context, jobId);
  throw new NotFound('job', jobId);
}

export async function presentProposals(context: OperationContext, found: JobProposals) {
  const { row, job, knowledge, proposals, accessMinutes } = found;
  const findings = await context.tx.finding.findMany({
    where: { jobId: row.id, archivedAt: null, decision: { not: null } },
    orderBy: [{ decidedDate: 'asc' }, { id: 'asc' }],
  });
  const presented = proposals.map(({ findingIds, minutes, reach, part, ...one }) => {
    const alone = sharedAccess(job, [{ ...one, findingIds, minutes, reach }], knowledge);
    return {
      ...one,
      findingId: findingIds[0] ?? '',
      findingIds,
      minMinutes: minutes.min,
      handsOnMinutes: minutes.likely,
      maxMinutes: minutes.max,
      reach: alone.codes.map((code) => knowledge.tree.get(code)?.name ?? code),
      accessMinutes: alone.takeMinutes + alone.refitMinutes,
      part: part && { partId: part.partId, partName: part.partName, quantity: part.quantity },
    };
  });
  const sum = (of: (one: (typeof presented)[number]) => number): number =>
    presented.reduce((all, one) => all + of(one), 0);
  return {
    jobId: row.id,
    jobNumber: row.number,
    scope: row.scope,
    proposals: presented,
    handsOnMinutes: sum((one) => one.handsOnMinutes) + accessMinutes,
    sharedMinutes: sum((one) => one.accessMinutes) - accessMinutes,
    decided: await completeFindings(context, findings),
  };
}

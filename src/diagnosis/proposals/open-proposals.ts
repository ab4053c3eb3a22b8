/** What findings suggest and nobody has decided on yet: the plan and the estimate take it as likely. */
import { type Proposal, proposalsOf, sharedAccess, type WorkVerdict } from '../../engine/diagnosis/index.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { undecidedWork } from '../diagnosis.queries.js';
import { type LikelyPart, likelyParts } from './likely-part.js';
import { type LoadedJob, loadFoundOnJobs } from './load-job.js';

export interface OpenProposal extends Proposal {
  part: LikelyPart | null;
  /** How often such a proposal is accepted here. */
  probability: number;
}

export interface JobProposals extends LoadedJob {
  proposals: OpenProposal[];
  /** What all of them together take to be reached: hands-on minutes. */
  accessMinutes: number;
}

/** Accepted and refused that the usual share is worth, before the shop's own. A judgement, no source. */
const USUAL: Record<WorkVerdict, { accepted: number; refused: number }> = {
  repair: { accepted: 8, refused: 2 },
  replace: { accepted: 8.5, refused: 1.5 },
  remove: { accepted: 8.5, refused: 1.5 },
};

/** The jobs that may have open proposals: where something that makes work was found and not decided. One statement. */
export async function jobsWithOpenFindings(context: OperationContext, jobIds: readonly string[]): Promise<string[]> {
  const rows = await context.tx.finding.findMany({
    where: { ...undecidedWork, jobId: { in: [...jobIds] } },
    distinct: ['jobId'],
    select: { jobId: true },
  });
  return rows.flatMap(({ jobId }) => jobId ?? []);
}

/** Of the jobs that are open, what their findings suggest. */
export async function openProposals(context: OperationContext, jobIds: readonly string[]): Promise<JobProposals[]> {
  const loaded = await loadFoundOnJobs(context, jobIds);
  const probabilityOf = loaded.length > 0 ? await acceptance(context) : () => 0;
  const all = loaded.map((one) => ({
    ...one,
    found:
      one.row.scope === 'sellAsFound' || one.row.scope === 'stripForParts' ? [] : proposalsOf(one.job, one.knowledge),
  }));
  const asked = all.flatMap(({ row, found }) =>
    found.map((proposal) => ({ ...proposal, machine: row.machine, proposal })),
  );
  const replaced = asked.filter((one) => one.verdict === 'replace');
  const parts = await likelyParts(context, replaced);
  const partOf = new Map(replaced.map((one, index) => [one.proposal, parts[index] ?? null]));
  return all.map(({ found, ...one }) => {
    const { takeMinutes, refitMinutes } = sharedAccess(one.job, found, one.knowledge);
    return {
      ...one,
      accessMinutes: takeMinutes + refitMinutes,
      proposals: found.map((proposal): OpenProposal => {
        const part = partOf.get(proposal) ?? null;
        return {
          ...proposal,
          part,
          // A job that mends one fault leaves the others.
          probability: one.row.scope === 'mendOneFault' ? 0 : probabilityOf(proposal.verdict),
          reasons: [
            ...proposal.reasons,
            ...(part ? [part.reason] : []),
            ...(proposal.verdict === 'replace' && !part
              ? ['which part it takes is not known: say so when accepting it']
              : []),
          ],
        };
      }),
    };
  });
}

/** How often the shop accepted what such verdicts suggested. One statement. */
async function acceptance(context: OperationContext): Promise<(verdict: WorkVerdict) => number> {
  const rows = await context.tx.finding.groupBy({
    by: ['verdict', 'decision'],
    where: { archivedAt: null, decision: { not: null } },
    _count: true,
  });
  return (verdict) => {
    const of = (decision: 'accepted' | 'refused'): number =>
      rows.find((row) => row.verdict === verdict && row.decision === decision)?._count ?? 0;
    const accepted = USUAL[verdict].accepted + of('accepted');
    return accepted / (accepted + USUAL[verdict].refused + of('refused'));
  };
}

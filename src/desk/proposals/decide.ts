/** Deciding on what findings suggest: accepted work becomes tasks, refused work is remembered with its reason. */
import type { z } from 'zod';
import type { OpenProposal } from '../../diagnosis/proposals/open-proposals.js';
import { workOf } from '../../engine/diagnosis/index.js';
import { lookUp } from '../../engine/look-up.js';
import { Conflict, Invalid, NotFound } from '../../platform/errors.js';
import { asDate } from '../../platform/operation/columns.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { lock, requireActiveParts } from '../../platform/operation/rows.js';
import { completeStock } from '../../stock/reservations.js';
import { lockOpenJob, settleJob } from '../../work/jobs.js';
import { layOutTasks, restoreTasks, skipTasks } from '../../work/lay-out.js';
import { openProposalsOf } from './present.js';
import type { DecisionGiven } from './proposals.shapes.js';

type Decision = z.output<typeof DecisionGiven>;

export interface Decided {
  taskIds: string[];
  skippedTaskIds: string[];
  partsNeeded: string[];
}

/**
 * All of the decisions or none.
 * @throws NotFound for a finding with nothing to decide, Invalid with the decision's place, Conflict for a closed job
 */
export async function decide(
  context: OperationContext,
  jobId: string,
  decisions: readonly Decision[],
): Promise<Decided> {
  const row = await lockOpenJob(context, jobId);
  const { proposals, job, knowledge } = await openProposalsOf(context, jobId);
  const accepted: { proposal: OpenProposal; given: Decision; index: number }[] = [];
  const seen = new Set<OpenProposal>();
  for (const [index, given] of decisions.entries()) {
    const pointer = `/decisions/${index}`;
    const proposal = proposals.find((one) => one.findingIds.includes(given.findingId));
    if (!proposal) await refuseUndecidable(context, row.id, given.findingId, pointer);
    else if (seen.has(proposal))
      throw new Invalid([{ detail: 'is decided on already in this call', pointer: `${pointer}/findingId` }]);
    else {
      seen.add(proposal);
      if (given.decision === 'accept') accepted.push({ proposal: changed(proposal, given), given, index });
      await context.tx.finding.updateMany({
        where: { id: { in: proposal.findingIds } },
        data: {
          decision: given.decision === 'accept' ? 'accepted' : 'refused',
          decisionReason: given.reason ?? null,
          decidedDate: asDate(context.today),
          version: { increment: 1 },
        },
      });
    }
  }
  const work = workOf(
    job,
    accepted.map(({ proposal }) => proposal),
    knowledge,
  );
  const ids = await layOutTasks(context, row.id, work.tasks, work.links);
  for (const { taskId, findingId } of work.traced)
    await context.tx.taskFinding.upsert({
      where: { shopId_taskId_findingId: { shopId: context.shop.id, taskId, findingId } },
      create: { shopId: context.shop.id, taskId, findingId, madeForIt: false },
      update: {},
    });
  await skipTasks(context, row.id, work.skipped);
  const partsNeeded: string[] = [];
  for (const { proposal, given, index } of accepted) {
    const task = lookUp(work.doneBy, proposal.findingIds[0] ?? '');
    const words = await needPart(context, ids.get(task) ?? task, proposal, given, `/decisions/${index}`);
    if (words) partsNeeded.push(words);
  }
  await settleJob(context, row.id);
  return { taskIds: [...ids.values()], skippedTaskIds: work.skipped.map((one) => one.taskId), partsNeeded };
}

/** A proposal as the decision changes it. */
function changed(proposal: OpenProposal, given: Decision): OpenProposal {
  const minutes = given.handsOnMinutes;
  return {
    ...proposal,
    coats: proposal.coats && given.withoutCoats !== true,
    ...(typeof minutes === 'number' && proposal.doneByTaskId === null
      ? {
          minutes: {
            min: Math.min(minutes, proposal.minutes.min),
            likely: minutes,
            max: Math.max(minutes, proposal.minutes.max),
          },
        }
      : {}),
  };
}

async function refuseUndecidable(
  context: OperationContext,
  jobId: string,
  findingId: string,
  pointer: string,
): Promise<never> {
  const finding = await context.tx.finding.findFirst({ where: { id: findingId } });
  if (!finding) throw new NotFound('finding', findingId);
  if (finding.jobId !== jobId)
    throw new Invalid([{ detail: 'is a finding of another job', pointer: `${pointer}/findingId` }]);
  if (finding.decision)
    throw new Conflict('decided', `This was ${finding.decision} already; take that back with reopenProposals first.`);
  throw new Invalid([
    {
      detail: finding.archivedAt
        ? 'was archived'
        : finding.verdict === 'serveOn' || finding.verdict === 'verify'
          ? 'makes no work as it is: it serves on, or is still to be verified'
          : 'suggests no work: its part is noted already, or the machine is sold as found or taken apart',
      pointer: `${pointer}/findingId`,
    },
  ]);
}

/** The reason of tasks that went with their decision: they come back with another one, and not by themselves. */
export const DECISION_TAKEN_BACK = 'the decision that it came of was taken back';

/** Notes the part on the task that fits it, from a bin where enough is free. @returns what was noted, in words */
async function needPart(
  context: OperationContext,
  taskId: string,
  proposal: OpenProposal,
  given: Decision,
  pointer: string,
): Promise<string | null> {
  const partId = given.partId ?? proposal.part?.partId;
  if (given.withoutPart || !partId) return null;
  if (proposal.verdict !== 'replace' && !given.partId) return null;
  // Noted once, however many findings say so.
  const met = await context.tx.partNeed.findFirst({
    where: {
      taskId,
      partId,
      archivedAt: null,
      findings: { some: { id: { notIn: proposal.findingIds }, archivedAt: null } },
    },
  });
  if (given.partId) await requireActiveParts(context, [given.partId]);
  const quantity = given.quantity ?? proposal.part?.quantity ?? 1;
  const part = await context.tx.part.findFirst({ where: { id: partId } });
  if (!part) throw new Invalid([{ detail: 'is no part of this shop', pointer: `${pointer}/partId` }]);
  let needId = met?.id;
  let from = '';
  if (!needId) {
    const bins = await context.tx.stock.findMany({
      where: { partId, archivedAt: null },
      orderBy: { createdAt: 'asc' },
    });
    await lock(
      context,
      'Stock',
      bins.map((bin) => bin.id),
    );
    const bin = (await completeStock(context, bins)).find((one) => one.quantityFree.greaterThanOrEqualTo(quantity));
    from = bin ? `, from bin ${bin.bin}` : ', to be ordered';
    needId = (
      await context.tx.partNeed.create({
        data: { shopId: context.shop.id, taskId, partId, quantity, stockId: bin?.id ?? null },
      })
    ).id;
  }
  await context.tx.finding.updateMany({
    where: { id: { in: proposal.findingIds } },
    data: { partNeedId: needId },
  });
  return `${quantity} × ${part.name}${met ? ', noted already' : from}`;
}

/**
 * Takes decisions back: what they made and nobody has begun goes with them, what other findings want too stays.
 * @throws Conflict `task-started` when the work has begun
 */
export async function reopenDecisions(
  context: OperationContext,
  jobId: string,
  findingIds: readonly string[],
): Promise<void> {
  const row = await lockOpenJob(context, jobId);
  const findings = await context.tx.finding.findMany({ where: { id: { in: [...findingIds] } } });
  for (const [index, findingId] of findingIds.entries()) {
    const finding = findings.find((one) => one.id === findingId);
    const pointer = `/findingIds/${index}`;
    if (!finding) throw new NotFound('finding', findingId);
    if (finding.jobId !== row.id) throw new Invalid([{ detail: 'is a finding of another job', pointer }]);
    if (!finding.decision) throw new Conflict('not-decided', 'Nothing was decided about this finding yet.');
  }
  const traces = await context.tx.taskFinding.findMany({
    where: { task: { jobId: row.id, archivedAt: null, findings: { some: { findingId: { in: [...findingIds] } } } } },
    include: { task: { include: { labour: { where: { archivedAt: null }, take: 1 } } } },
  });
  const ofThese = traces.filter((one) => findingIds.includes(one.findingId));
  const begun = ofThese.find(({ madeForIt, task }) => madeForIt && (task.startedAt || task.labour.length > 0));
  if (begun)
    throw new Conflict(
      'task-started',
      `"${begun.task.name}" has begun: what was done is kept, and so is the decision.`,
    );
  const gone = [
    ...new Set(
      ofThese
        .filter(
          (one) =>
            one.madeForIt &&
            !traces.some((other) => other.taskId === one.taskId && !findingIds.includes(other.findingId)),
        )
        .map((one) => one.taskId),
    ),
  ];
  // What was noted for these findings alone is not needed any more.
  await context.tx.partNeed.updateMany({
    where: {
      usedDate: null,
      archivedAt: null,
      task: { jobId: row.id },
      findings: { some: { id: { in: [...findingIds] } }, none: { id: { notIn: [...findingIds] }, archivedAt: null } },
    },
    data: { archivedAt: context.now, stockId: null, orderLineId: null, version: { increment: 1 } },
  });
  await context.tx.taskFinding.deleteMany({
    where: { findingId: { in: [...findingIds] }, task: { jobId: row.id, archivedAt: null, id: { notIn: gone } } },
  });
  await skipTasks(
    context,
    row.id,
    gone.map((taskId) => ({ taskId, reason: DECISION_TAKEN_BACK })),
  );
  // What it had taken the place of is wanted again.
  const replaced = await context.tx.task.findMany({
    where: {
      jobId: row.id,
      skippedReason: { endsWith: 'takes its place' },
      findings: {
        some: {
          finding: {
            decision: 'accepted',
            id: { notIn: [...findingIds] },
            // The same component by its code, whatever words name it.
            OR: findings.map(({ componentCode, component, position }) =>
              componentCode ? { componentCode, position } : { componentCode: null, component, position },
            ),
          },
        },
      },
    },
    select: { id: true },
  });
  await restoreTasks(
    context,
    row.id,
    replaced.map((task) => task.id),
  );
  await context.tx.finding.updateMany({
    where: { id: { in: [...findingIds] } },
    data: { decision: null, decisionReason: null, decidedDate: null, partNeedId: null, version: { increment: 1 } },
  });
}

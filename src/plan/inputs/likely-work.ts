/** Work that findings suggest and nobody has decided on: the plan counts it by its probability. */
import {
  type JobProposals,
  jobsWithOpenFindings,
  type OpenProposal,
  openProposals,
} from '../../diagnosis/proposals/open-proposals.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { completeStock } from '../../stock/reservations.js';
import type { LikelyWork } from './records.js';

/** Equally likely outcomes kept of each job. */
const SAMPLES = 40;
/** Minutes are added up in steps of this. */
const STEP = 5;

/** Of jobs whose work is not over. @param partDays equally likely days until a part comes that is ordered when it is needed */
export async function likelyWork(
  context: OperationContext,
  jobIds: readonly string[],
  partDays: readonly number[],
): Promise<LikelyWork[]> {
  const open = await jobsWithOpenFindings(context, jobIds);
  if (open.length === 0) return [];
  const found = (await openProposals(context, open)).filter((one) => one.proposals.some(isWork));
  const onHand = await partsOnHand(
    context,
    found.flatMap(({ proposals }) => proposals.flatMap(({ part }) => part?.partId ?? [])),
  );
  return found.map((one) => likelyWorkOf(one, onHand, partDays));
}

const isWork = (proposal: OpenProposal): boolean =>
  proposal.probability > 0 && (!proposal.doneByTaskId || proposal.verdict === 'replace');

function likelyWorkOf(
  { row, proposals, accessMinutes }: JobProposals,
  onHand: ReadonlySet<string>,
  partDays: readonly number[],
): LikelyWork {
  const works = proposals.filter(isWork);
  const own = works.filter((one) => !one.doneByTaskId);
  const sum = own.reduce((all, one) => all + one.minutes.likely, 0);
  // What must come off is shared: each bears of it what it bears of the work.
  const minutesOf = (one: OpenProposal): number =>
    one.minutes.likely + (sum > 0 ? (accessMinutes * one.minutes.likely) / sum : 0);
  const probabilityOfPart =
    1 -
    works
      .filter((one) => one.verdict === 'replace' && !(one.part && onHand.has(one.part.partId)))
      .reduce((none, one) => none * (1 - one.probability), 1);
  return {
    jobId: row.id,
    count: works.length,
    meanMinutes: Math.round(own.reduce((all, one) => all + one.probability * minutesOf(one), 0)),
    minutes: quantilesOf(own.map((one) => ({ probability: one.probability, minutes: minutesOf(one) }))),
    partDays: partDays.length === 0 ? [] : mixed(probabilityOfPart, partDays),
  };
}

/** Quantiles of a sum of which each part comes in with its probability, by adding up the exact distribution. */
export function quantilesOf(parts: readonly { probability: number; minutes: number }[]): number[] {
  let density = new Map([[0, 1]]);
  for (const { probability, minutes } of parts) {
    const next = new Map<number, number>();
    const add = (steps: number, mass: number) => next.set(steps, (next.get(steps) ?? 0) + mass);
    for (const [steps, mass] of density) {
      add(steps, mass * (1 - probability));
      add(steps + Math.round(minutes / STEP), mass * probability);
    }
    density = next;
  }
  const sorted = [...density].sort(([a], [b]) => a - b);
  const quantiles: number[] = [];
  let reached = 0;
  for (const [steps, mass] of sorted) {
    reached += mass;
    while (quantiles.length < SAMPLES && (quantiles.length + 0.5) / SAMPLES <= reached + 1e-12)
      quantiles.push(steps * STEP);
  }
  return quantiles;
}

/** As many zeros as a part is not needed, else the days it takes. */
function mixed(probability: number, days: readonly number[]): number[] {
  const needed = Math.round(probability * SAMPLES);
  const sorted = [...days].sort((a, b) => a - b);
  return Array.from({ length: SAMPLES }, (_, k) =>
    k < SAMPLES - needed ? 0 : (sorted[Math.floor(((k - (SAMPLES - needed) + 0.5) / needed) * sorted.length)] ?? 0),
  );
}

/** The parts of which a bin has one free. */
async function partsOnHand(context: OperationContext, partIds: readonly string[]): Promise<Set<string>> {
  if (partIds.length === 0) return new Set();
  const bins = await context.tx.stock.findMany({ where: { partId: { in: [...partIds] }, archivedAt: null } });
  return new Set(
    (await completeStock(context, bins))
      .filter((bin) => bin.quantityFree.greaterThanOrEqualTo(1))
      .map((bin) => bin.partId),
  );
}

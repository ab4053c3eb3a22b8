/** How far a job goes: tasks that are then not wanted are skipped with the reason, those wanted again come back. */
import type { z } from 'zod';
import { loadFoundOnJobs } from '../../diagnosis/proposals/load-job.js';
import { isApart, isWanted, type JobScope, scopeReasons } from '../../engine/diagnosis/index.js';
import { Conflict, Invalid, NotFound, Refused } from '../../platform/errors.js';
import { asDate } from '../../platform/operation/columns.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { lock } from '../../platform/operation/rows.js';
import type { Stored } from '../../platform/operation/stored.js';
import { lockOpenJob, settleJob } from '../../work/jobs.js';
import { restoreTasks, skipTasks } from '../../work/lay-out.js';
import { decide, reopenDecisions } from '../proposals/decide.js';
import type { AsFoundGiven, ScopeGiven } from './scope.shapes.js';

type Given = z.output<typeof ScopeGiven>;

export interface ScopeChange {
  skipped: string[];
  restored: string[];
  added: string[];
}

/** @throws Conflict `offered` while an offer stands; Refused for a scope that the job cannot have; Invalid with the place */
export async function chooseScope(context: OperationContext, given: Given): Promise<ScopeChange> {
  const { scope } = given;
  const job = await lockOpenJob(context, given.id);
  await lock(context, 'Machine', [job.machineId]);
  const offered = await context.tx.offer.count({ where: { jobId: job.id, withdrawnDate: null } });
  if (offered > 0 && scope !== job.scope)
    throw new Conflict('offered', 'This machine is offered as its scope has it; withdraw the offer first.');
  if (job.purpose === 'warranty' && (scope === 'sellAsFound' || scope === 'stripForParts'))
    throw new Refused(
      'not-for-sale',
      "This is a warranty job: the machine is its buyer's, and is neither sold nor taken apart.",
    );
  const findingIds = [...new Set(given.findingIds ?? [])];
  if (scope === 'mendOneFault' && findingIds.length === 0)
    throw new Invalid([{ detail: 'say which findings are the fault', pointer: '/findingIds' }]);
  if (scope !== 'mendOneFault' && findingIds.length > 0)
    throw new Invalid([{ detail: 'belongs to mendOneFault alone', pointer: '/findingIds' }]);
  if (given.asFound && scope !== 'sellAsFound')
    throw new Invalid([{ detail: 'belongs to sellAsFound alone', pointer: '/asFound' }]);
  await requireTasksOf(context, job.id, given);
  await moveDisposition(context, job, scope);
  await context.tx.job.update({
    where: { id: job.id },
    data: {
      scope,
      scopeReason: given.reason ?? null,
      // Nobody waits for what is taken apart.
      ...(scope === 'stripForParts' ? { promisedDate: null } : {}),
      version: { increment: 1 },
      ...(scope === 'sellAsFound' ? {} : { asFoundDate: null, asFoundBy: null, asFoundNote: null }),
    },
  });
  const again = scope === 'mendOneFault' ? await agreedAgain(context, job.id, findingIds, given) : [];
  const change = await applyScope(context, job.id, scope, findingIds, given);
  const added =
    again.length > 0
      ? (
          await decide(
            context,
            job.id,
            again.map((findingId) => ({ findingId, decision: 'accept' as const })),
          )
        ).taskIds
      : [];
  if (given.asFound) await recordAsFound(context, job.id, given.asFound);
  await settleJob(context, job.id);
  return { ...change, added };
}

async function requireTasksOf(context: OperationContext, jobId: string, given: Given): Promise<void> {
  for (const field of ['keepTaskIds', 'skipTaskIds'] as const) {
    const ids = given[field] ?? [];
    const known = await context.tx.task.findMany({ where: { id: { in: ids }, jobId }, select: { id: true } });
    const index = ids.findIndex((id) => !known.some((task) => task.id === id));
    if (index >= 0) throw new Invalid([{ detail: 'is no task of this job', pointer: `/${field}/${index}` }]);
  }
}

/** Taken apart, it is a donor; meant for something else again, it is for sale, unless parts are off it. */
async function moveDisposition(context: OperationContext, job: Stored<'job'>, scope: JobScope): Promise<void> {
  const machine = await context.tx.machine.findUniqueOrThrow({ where: { id: job.machineId } });
  const disposition =
    scope === 'stripForParts'
      ? 'donor'
      : job.scope === 'stripForParts' || machine.disposition === 'donor'
        ? 'sell'
        : machine.disposition;
  if (disposition === machine.disposition) return;
  if (scope !== 'stripForParts' && (await context.tx.harvest.count({ where: { machineId: machine.id } })) > 0)
    throw new Conflict('harvested', 'Parts have been taken off this machine: it stays a donor.');
  await context.tx.machine.update({ where: { id: machine.id }, data: { disposition, version: { increment: 1 } } });
}

/**
 * The findings whose work is to be agreed on once the rest is skipped: it is reached otherwise then. What was agreed on
 * before and nobody has begun is taken back first.
 */
async function agreedAgain(
  context: OperationContext,
  jobId: string,
  findingIds: readonly string[],
  given: Given,
): Promise<string[]> {
  const [loaded] = await loadFoundOnJobs(context, [jobId]);
  const again: string[] = [];
  for (const [index, findingId] of findingIds.entries()) {
    const pointer = `/findingIds/${index}`;
    const finding = await context.tx.finding.findFirst({ where: { id: findingId, archivedAt: null } });
    if (!finding) throw new NotFound('finding', findingId);
    if (finding.jobId !== jobId) throw new Invalid([{ detail: 'is a finding of another job', pointer }]);
    if (finding.verdict === 'serveOn' || finding.verdict === 'verify')
      throw new Invalid([{ detail: 'serves on: there is nothing to mend', pointer }]);
    if (finding.decision === null) {
      again.push(findingId);
      continue;
    }
    const tasks =
      loaded?.job.tasks.filter((task) =>
        loaded.job.findings.some((one) => one.id === findingId && one.taskIds.includes(task.id)),
      ) ?? [];
    const kept = tasks.some((task) => task.startedDate !== null || given.keepTaskIds?.includes(task.id));
    if (kept) continue;
    await reopenDecisions(context, jobId, [findingId]);
    again.push(findingId);
  }
  return again;
}

async function applyScope(
  context: OperationContext,
  jobId: string,
  scope: JobScope,
  chosen: readonly string[],
  given: Given,
): Promise<Omit<ScopeChange, 'added'>> {
  const tasks = await context.tx.task.findMany({
    where: { jobId, startedAt: null, OR: [{ archivedAt: null }, { skippedReason: { not: null } }] },
    include: {
      findings: { include: { finding: { select: { decision: true } } } },
      labour: { where: { archivedAt: null }, take: 1 },
    },
  });
  const [loaded] = await loadFoundOnJobs(context, [jobId]);
  // What has been taken apart is put together again, whatever is mended.
  const begun =
    loaded !== undefined &&
    isApart(loaded.job) &&
    loaded.job.tasks.some((task) => task.kind === 'strip' && task.startedDate !== null);
  const wanted = (task: (typeof tasks)[number]): boolean => {
    if (given.keepTaskIds?.includes(task.id) || task.labour.length > 0) return true;
    if (given.skipTaskIds?.includes(task.id)) return false;
    if (begun && scope === 'mendOneFault' && task.kind === 'assemble') return true;
    return isWanted(scope, task, {
      forChosen: task.findings.some((one) => chosen.includes(one.findingId)),
      forFinding: task.findings.some(({ finding }) => finding.decision === 'accepted'),
    });
  };
  // What was left out by itself stays out; what another scope left out may come back.
  const byScope = new Set<string | null>(Object.values(scopeReasons));
  const isScopes = (reason: string | null): boolean => byScope.has(reason?.split(' (')[0] ?? null);
  const restored = tasks
    .filter(
      (task) =>
        task.archivedAt && (given.keepTaskIds?.includes(task.id) || (isScopes(task.skippedReason) && wanted(task))),
    )
    .map((task) => task.id);
  await restoreTasks(context, jobId, restored);
  const why = scope === 'full' ? 'it is not wanted' : scopeReasons[scope];
  const reason = given.reason ? `${why} (${given.reason})` : why;
  const skipped = tasks.filter((task) => !task.archivedAt && !wanted(task)).map((task) => task.id);
  await skipTasks(
    context,
    jobId,
    skipped.map((taskId) => ({ taskId, reason })),
  );
  return { skipped, restored };
}

/** @throws Invalid unless fuel and wire are seen to; Refused unless the job's scope is to sell as found */
export async function recordAsFound(
  context: OperationContext,
  jobId: string,
  given: z.output<typeof AsFoundGiven>,
): Promise<void> {
  const job = await lockOpenJob(context, jobId);
  if (job.scope !== 'sellAsFound')
    throw new Refused('other-scope', 'Only a machine that is sold as found is recorded so; choose that scope first.');
  const missing = [
    ...(given.fuelDrained
      ? []
      : [{ detail: 'must be true: drain the tank and the carburettor first', pointer: '/fuelDrained' }]),
    ...(given.plugWireOff
      ? []
      : [{ detail: 'must be true: take the spark plug wire off and tie it back first', pointer: '/plugWireOff' }]),
  ];
  if (missing.length > 0) throw new Invalid(missing);
  await context.tx.job.update({
    where: { id: job.id },
    data: {
      asFoundDate: asDate(context.today),
      asFoundBy: given.recordedBy,
      asFoundNote: given.note ?? null,
      version: { increment: 1 },
    },
  });
}

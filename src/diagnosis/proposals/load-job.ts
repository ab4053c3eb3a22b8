/** Open jobs with what was found on them, as the engine takes them: a constant number of statements. */
import { type FoundOnJob, type Knowledge, nameOf, type RouteStep, scopePaints } from '../../engine/diagnosis/index.js';
import type { MachineKind } from '../../platform/database/client/enums.js';
import { asDay } from '../../platform/operation/columns.js';
import { dayIn } from '../../platform/operation/execute.js';
import { groupBy } from '../../platform/operation/group-by.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import type { Stored } from '../../platform/operation/stored.js';
import { withRouteTasks } from '../../work/routes.js';
import { treeOf } from '../components/index.js';

export interface LoadedJob {
  row: Stored<'job', { machine: true }>;
  job: FoundOnJob;
  knowledge: Knowledge;
}

/** Those of the jobs that are open, in the order of their numbers. */
export async function loadFoundOnJobs(context: OperationContext, jobIds: readonly string[]): Promise<LoadedJob[]> {
  const { tx } = context;
  const rows = await tx.job.findMany({
    where: { id: { in: [...jobIds] }, closedDate: null, archivedAt: null },
    include: { machine: true },
    orderBy: { number: 'asc' },
  });
  if (rows.length === 0) return [];
  const ids = rows.map((row) => row.id);
  const tasks = await tx.task.findMany({
    where: { jobId: { in: ids } },
    select: {
      id: true,
      jobId: true,
      code: true,
      name: true,
      kind: true,
      startedAt: true,
      finishedAt: true,
      archivedAt: true,
    },
    orderBy: [{ position: 'asc' }, { id: 'asc' }],
  });
  const links = await tx.taskLink.findMany({
    where: { task: { jobId: { in: ids }, archivedAt: null }, predecessor: { archivedAt: null } },
    select: { taskId: true, predecessorId: true, task: { select: { jobId: true } } },
    orderBy: { id: 'asc' },
  });
  const findings = await tx.finding.findMany({
    where: { jobId: { in: ids }, archivedAt: null },
    include: {
      tasks: { where: { task: { archivedAt: null } }, select: { taskId: true } },
      partNeed: { select: { taskId: true, archivedAt: true } },
    },
    orderBy: [{ foundDate: 'asc' }, { id: 'asc' }],
  });
  const knowledgeOf = await loadKnowledge(context, [...new Set(rows.map((row) => row.machine.kind))]);
  const dayOf = (moment: Date | null): string | null => moment && dayIn(moment, context.shop.timeZone);
  const tasksOf = groupBy(tasks, (task) => task.jobId);
  const linksOf = groupBy(links, (link) => link.task.jobId);
  const findingsOf = groupBy(findings, (finding) => finding.jobId);
  return rows.map((row) => ({
    row,
    job: {
      tasks: (tasksOf.get(row.id) ?? [])
        .filter((task) => !task.archivedAt)
        .map(({ id, code, name, kind, startedAt, finishedAt }) => ({
          id,
          code,
          name,
          kind,
          startedDate: dayOf(startedAt),
          finishedDate: dayOf(finishedAt),
        })),
      links: linksOf.get(row.id) ?? [],
      takenCodes: (tasksOf.get(row.id) ?? []).map((task) => task.code),
      findings: (findingsOf.get(row.id) ?? []).map((finding) => {
        // One whose part was named before is agreed on.
        const met = finding.partNeed && !finding.partNeed.archivedAt ? [finding.partNeed.taskId] : [];
        return {
          ...finding,
          foundDate: asDay(finding.foundDate),
          decision: finding.decision ?? (met.length > 0 ? 'accepted' : null),
          taskIds: [...new Set([...finding.tasks.map(({ taskId }) => taskId), ...met])],
        };
      }),
      paints: scopePaints(row.scope),
    },
    knowledge: knowledgeOf(row.machine.kind),
  }));
}

/** What the shop's routes and past jobs know of each kind of machine. */
async function loadKnowledge(
  context: OperationContext,
  kinds: readonly MachineKind[],
): Promise<(kind: MachineKind) => Knowledge> {
  const routes = await context.tx.route.findMany({
    where: { machineKind: { in: [...kinds] }, archivedAt: null },
    include: withRouteTasks,
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
  });
  // Only work that a finding made, and that was clocked: what a route's task took says nothing of one component.
  const past = await context.tx.$queryRaw<
    {
      kind: MachineKind;
      code: string | null;
      component: string;
      verdict: 'repair' | 'replace' | 'remove';
      minutes: number;
    }[]
  >`
    select distinct on (t.id) m.kind::text as kind, f."componentCode" as code, f.component, f.verdict::text as verdict, w.minutes
    from "TaskFinding" tf
      join "Task" t on t.id = tf."taskId" and t."finishedAt" is not null and t."archivedAt" is null
        and t.kind in ('repair', 'parts')
      join "Finding" f on f.id = tf."findingId" and f."archivedAt" is null and f.verdict in ('repair', 'replace', 'remove')
      join "Machine" m on m.id = f."machineId" and m.kind::text = any(${kinds as string[]})
      join lateral (select (extract(epoch from sum(l."endedAt" - l."startedAt")) / 60)::float8 as minutes from "LabourEntry" l
        where l."taskId" = t.id and l."archivedAt" is null and l."endedAt" is not null) w on w.minutes > 0
    where tf."madeForIt" order by t.id, tf.id`;
  return (kind) => ({
    tree: treeOf(kind),
    route: (routes.find((one) => one.machineKind === kind)?.tasks ?? []).map((task): RouteStep => ({
      code: task.code,
      name: task.name,
      min: task.minMinutes,
      likely: task.handsOnMinutes,
      max: task.maxMinutes,
      placeKind: task.placeKind,
      cautions: task.cautions,
    })),
    past: past
      .filter((one) => one.kind === kind)
      .map(({ code, component, verdict, minutes }) => ({
        component: nameOf({ componentCode: code, component }),
        verdict,
        minutes,
      })),
  });
}

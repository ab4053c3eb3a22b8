/**
 * What stands against a machine that is otherwise finished: its safety checks. They are no part of the plan: nobody can
 * say when somebody will make them.
 */
import { safetyStatus, type SafetyStatusOf } from '../../diagnosis/diagnosis.queries.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import type { ScheduledRecords } from '../model/scheduled-records.js';
import type { JobWait } from './job-forecast.js';

/** By job, for those whose tasks are all done. A constant number of statements. */
export async function safetyWaits(
  context: OperationContext,
  { records }: ScheduledRecords,
): Promise<Map<string, JobWait[]>> {
  const worked = new Set(records.tasks.map((task) => task.jobId));
  const unfinished = new Set(records.tasks.filter((task) => !task.finishedAt).map((task) => task.jobId));
  const done = records.jobs.map((job) => job.id).filter((jobId) => worked.has(jobId) && !unfinished.has(jobId));
  if (done.length === 0) return new Map();
  // A donor and scrap will not be run again.
  const jobs = await context.tx.job.findMany({
    where: { id: { in: done }, machine: { disposition: { in: ['sell', 'keep'] } } },
    select: { id: true },
  });
  const statuses = [
    ...(
      await safetyStatus(
        context,
        jobs.map((job) => job.id),
      )
    ).values(),
  ].filter((one) => !one.safe);
  return new Map(
    statuses.map((one): [string, JobWait[]] => [
      one.jobId,
      [{ taskId: null, taskName: null, until: null, what: checkWords(one), kind: 'safetyChecks' }],
    ]),
  );
}

function checkWords({ failed, missing }: SafetyStatusOf): string {
  const told = (words: string, checks: typeof failed): string[] =>
    checks.length === 0
      ? []
      : [
          `${checks.length} safety check${checks.length === 1 ? '' : 's'} ${words}: ` +
            `${checks.map((check) => check.title.toLowerCase()).join('; ')}`,
        ];
  return [...told('failed', failed), ...told('to make', missing)].join('. ');
}

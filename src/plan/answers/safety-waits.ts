/** What stands against a machine that is otherwise finished: its safety checks. They are no part of the plan: nobody can say when somebody will make them. */
import { safetyStanding, type SafetyStandingOf } from '../../diagnosis/diagnosis.queries.js';
import type { Call } from '../../platform/operation/operation.js';
import type { JobWait } from './job-forecast.js';
import type { Forecast } from '../model/scheduled-records.js';

/** By job, for those whose tasks are all done. A constant number of statements. */
export async function safetyWaits(call: Call, { records }: Forecast): Promise<Map<string, JobWait[]>> {
  const worked = new Set(records.tasks.map((task) => task.jobId));
  const unfinished = new Set(records.tasks.filter((task) => !task.finishedAt).map((task) => task.jobId));
  const done = records.jobs.map((job) => job.id).filter((jobId) => worked.has(jobId) && !unfinished.has(jobId));
  if (done.length === 0) return new Map();
  // A donor and scrap will not be run again.
  const jobs = await call.tx.job.findMany({
    where: { id: { in: done }, machine: { disposition: { in: ['sell', 'keep'] } } },
    select: { id: true },
  });
  const standings = [
    ...(
      await safetyStanding(
        call,
        jobs.map((job) => job.id),
      )
    ).values(),
  ].filter((one) => !one.safe);
  return new Map(
    standings.map((one): [string, JobWait[]] => [
      one.jobId,
      [{ taskId: null, taskName: null, until: null, what: checkWords(one), kind: 'safetyChecks' }],
    ]),
  );
}

function checkWords({ failed, missing }: SafetyStandingOf): string {
  const told = (words: string, checks: typeof failed): string[] =>
    checks.length === 0
      ? []
      : [
          `${checks.length} safety check${checks.length === 1 ? '' : 's'} ${words}: ${checks.map((check) => check.title.toLowerCase()).join('; ')}`,
        ];
  return [...told('failed', failed), ...told('to make', missing)].join('. ');
}

/** Which machine: all that are in the shop, with when each is done and what it waits for. */
import type { z } from 'zod';
import { machineName } from '../../machines/machine-name.js';
import { Machine } from '../../machines/machines.shapes.js';
import { JobSchedule, Plan } from '../../plan/answers/plan.shapes.js';
import { Job } from '../../work/work.shapes.js';
import { Fold, Go, Table } from '../frame/components.js';
import { capital, inWords } from '../frame/format.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { dispositions, jobStatuses } from '../frame/words.js';
import { PlanLanes, planLanes } from './plan-lanes.js';

type Schedule = z.output<typeof JobSchedule>;

/** Both dates that matter. */
export function datesInWords(view: View, schedule: Pick<Schedule, 'p50Date' | 'p80Date'>): string {
  if (!schedule.p50Date) return 'when it is done is not known';
  const even = `done about ${view.say.day(schedule.p50Date)}`;
  return schedule.p80Date && schedule.p80Date !== schedule.p50Date
    ? `${even}; safe to promise ${view.say.day(schedule.p80Date)}`
    : even;
}

async function show(view: View) {
  const jobs = (await view.list('jobs', Job, { open: true })).items;
  const plan = jobs.length > 0 ? await view.read('plan', Plan) : null;
  const machines = (await view.list('machines', Machine)).items;
  const scheduleOf = (jobId: string) => plan?.jobs.find((one) => one.jobId === jobId);
  const withoutJob = machines.filter(
    (machine) =>
      !jobs.some((job) => job.machineId === machine.id) && ['donor', 'scrap', 'keep'].includes(machine.disposition),
  );
  const closed = (await view.list('jobs', Job, { open: false, sort: '-number', first: 30 })).items;
  return {
    title: 'Which machine',
    answer:
      jobs.length === 0
        ? 'No machine is in work.'
        : `${capital(inWords(jobs.length))} ${jobs.length === 1 ? 'machine is' : 'machines are'} in the shop.`,
    doing: view.owns ? (
      <Go view={view} path="/new" button>
        New here
      </Go>
    ) : null,
    rest: (
      <>
        <ul class="rows">
          {jobs.map((job) => {
            const schedule = scheduleOf(job.id);
            const [wait] = schedule?.waits ?? [];
            return (
              <li>
                <h2 class="name">
                  <Go view={view} path={`/machine/${job.number}`}>
                    {job.number}: {job.title}
                  </Go>
                </h2>
                <p>
                  {capital(jobStatuses[job.status] ?? job.status)}
                  {schedule && !job.finishedDate ? `, ${datesInWords(view, schedule)}` : ''}.
                  {wait ? ` ${capital(view.say.sentence(wait.what))}.` : ''}
                </p>
              </li>
            );
          })}
        </ul>
        {jobs.length > 0 ? <PlanLanes {...await planLanes(view)} view={view} /> : null}
        {withoutJob.length > 0 ? (
          <Table
            caption="Without work on them"
            rows={withoutJob}
            columns={[
              { head: 'Machine', cell: (machine) => machineName(machine) },
              { head: 'It is', cell: (machine) => dispositions[machine.disposition] },
              { head: 'Serial number', cell: (machine) => machine.serial },
            ]}
          />
        ) : null}
        {closed.length > 0 ? (
          <Fold title="Closed jobs">
            <ul class="links">
              {closed.map((job) => (
                <li>
                  <Go view={view} path={`/machine/${job.number}`}>
                    {job.number}: {job.title}, {jobStatuses[job.status] ?? job.status}
                  </Go>
                </li>
              ))}
            </ul>
          </Fold>
        ) : null}
      </>
    ),
  };
}

export const machinesPage: Page = { path: '/machines', show };

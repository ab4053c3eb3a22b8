/** A machine: where it stands, when it is done, what it waits for, and everything that can happen to it. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import { Part } from '../../catalogue/catalogue.shapes.js';
import { JobCost } from '../../cost/cost.shapes.js';
import { JobProposals } from '../../desk/proposals/proposals.shapes.js';
import { CuringCoats } from '../../desk/questions/curing-coats.queries.js';
import { Finding, SafetyStatus } from '../../diagnosis/diagnosis.shapes.js';
import { required } from '../../engine/look-up.js';
import { Picture } from '../../pictures/pictures.shapes.js';
import { JobSchedule } from '../../plan/answers/plan.shapes.js';
import { PartNeed } from '../../stock/stock.shapes.js';
import { type Job, LabourEntry, Task } from '../../work/work.shapes.js';
import { Act, CautionLine, Fold, Go, Reasons, Table, TextField } from '../frame/components.js';
import { capital } from '../frame/format.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { jobStatuses, needStatuses, scopes } from '../frame/words.js';
import { TaskActs } from '../now/task-acts.js';
import { recoatInWords } from '../paint/paint.page.js';
import { AddPictures, Pictures } from '../pictures/pictures.js';
import { CostDrawing } from './cost-drawing.js';
import { Findings } from './findings.js';
import { JobForms } from './job-forms.js';
import { machineOf } from './load-machine.js';
import { datesInWords } from './machines.page.js';
import { PlanLanes, planLanes } from './plan-lanes.js';

type JobRow = z.output<typeof Job>;
type TaskRow = z.output<typeof Task>;

function answerOf(view: View, job: JobRow, schedule: z.output<typeof JobSchedule> | null): string {
  if (job.closedDate) return `${capital(jobStatuses[job.status] ?? job.status)} ${view.say.onDay(job.closedDate)}.`;
  if (job.scope === 'sellAsFound' && job.taskCount === job.finishedTaskCount)
    return job.asFoundDate
      ? `To be sold as found, not safe to run${job.status === 'offered' ? ': offered' : ''}.`
      : 'To be sold as found: record first that fuel and spark plug wire are off.';
  if (job.scope === 'stripForParts') return 'A donor: what others need comes off it.';
  if (job.finishedDate)
    return `Finished ${view.say.onDay(job.finishedDate)}${job.status === 'offered' ? ', and offered for sale' : ''}.`;
  return schedule ? `${capital(datesInWords(view, schedule))}.` : 'When it is done is not known yet.';
}

const TaskList: FC<{ view: View; job: JobRow; tasks: readonly TaskRow[]; running: { taskId: string } | null }> = ({
  view,
  job,
  tasks,
  running,
}) => {
  const open = tasks.filter((task) => task.status !== 'finished');
  const done = tasks.filter((task) => task.status === 'finished');
  return (
    <>
      <h2>What is to be done</h2>
      {open.length === 0 ? <p>Nothing is left to do.</p> : null}
      <ul class="rows">
        {open.map((task) => (
          <li>
            <Fold
              title={
                <>
                  {task.name}
                  {task.status === 'started' ? ' (begun)' : ''}: {view.say.work(task.handsOnMinutes)}
                </>
              }
              open={view.refusal?.about.startsWith(task.id)}
            >
              {task.cautions.map((caution) => (
                <CautionLine {...caution} />
              ))}
              {view.writes ? (
                <TaskActs
                  view={view}
                  task={{ taskId: task.id, jobNumber: job.number, minutes: task.handsOnMinutes }}
                  running={running}
                />
              ) : null}
              {view.writes && task.status === 'toDo' ? (
                <Act
                  view={view}
                  act="skip"
                  about={`${task.id}-skip`}
                  fields={{ task: task.id }}
                  label="Leave it out"
                  quiet
                >
                  <TextField
                    view={view}
                    act="skip"
                    about={`${task.id}-skip`}
                    name="reason"
                    label="Not wanted, because"
                    required
                    max={300}
                  />
                </Act>
              ) : null}
            </Fold>
          </li>
        ))}
      </ul>
      {done.length > 0 ? (
        <Fold title={`Done: ${done.length}`}>
          <ul class="rows">
            {done.map((task) => (
              <li>
                {task.name}, {view.say.day(view.say.dateOf(required(task.finishedAt, 'time of a finished task')))}
                {view.writes && !job.closedDate ? (
                  <Act
                    view={view}
                    act="reopen"
                    about={task.id}
                    fields={{ task: task.id }}
                    label="Open it again"
                    quiet
                  />
                ) : null}
              </li>
            ))}
          </ul>
        </Fold>
      ) : null}
    </>
  );
};

async function show(view: View) {
  const { job, machine } = await machineOf(view);
  const open = !job.closedDate;
  const schedule = open ? await view.read('jobSchedule', JobSchedule, { id: job.id }) : null;
  const tasks = (await view.list('tasks', Task, { jobId: job.id })).items;
  const findings = (await view.list('findings', Finding, { machineId: machine.id })).items;
  const needs = (await view.list('partNeeds', PartNeed, { jobId: job.id })).items;
  const parts = new Map<string, string>();
  for (const need of needs)
    for (const id of [need.partId, need.fittedPartId])
      if (id && !parts.has(id)) parts.set(id, (await view.read('part', Part, { id })).name);
  const coats = open ? (await view.read('curingCoats', CuringCoats)).coats.filter((one) => one.jobId === job.id) : [];
  const pictures = (await view.list('pictures', Picture, { machineId: machine.id })).items;
  const proposals = open ? await view.read('jobProposals', JobProposals, { id: job.id }) : null;
  const safety = await view.read('safetyStatus', SafetyStatus, { id: job.id });
  const cost = view.seesPrices ? await view.read('jobCost', JobCost, { id: job.id }) : null;
  const running = view.device.personId
    ? ((await view.list('labourEntries', LabourEntry, { personId: view.device.personId, running: true })).items[0] ??
      null)
    : null;
  const here = `/machine/${job.number}`;
  const lanes = open && !job.finishedDate ? await planLanes(view, job.id) : null;
  return {
    title: `Job ${job.number}`,
    answer: answerOf(view, job, schedule),
    priced: view.seesPrices,
    more: (
      <p>
        Job {job.number}: {job.title}
        {job.scope === 'full' ? '' : `, ${scopes[job.scope]}`}
        {machine.serial ? `, serial number ${machine.serial}` : ''}. {capital(jobStatuses[job.status] ?? job.status)}.
        {job.promisedDate ? ` Promised for ${view.say.day(job.promisedDate)}.` : ''}
        {schedule?.probabilityBeforeSnow != null && !job.finishedDate
          ? ` Ready before the snow: ${view.say.chance(schedule.probabilityBeforeSnow)}.`
          : ''}
      </p>
    ),
    doing: (
      <>
        {view.writes && open ? (
          <>
            <Go view={view} path={`${here}/found`} button>
              Found something
            </Go>
            <Go view={view} path={`${here}/part`} button>
              A part is needed
            </Go>
          </>
        ) : null}
        {view.writes && open ? (
          <Go view={view} path={`${here}/scope`} button>
            How far to go
          </Go>
        ) : null}
        {view.seesPrices && open ? (
          <Go view={view} path={`/worth/${job.number}`} button>
            What is it worth
          </Go>
        ) : null}
      </>
    ),
    rest: (
      <>
        {schedule && schedule.waits.length > 0 && !job.finishedDate ? (
          <>
            <h2>What holds it up</h2>
            <Waits view={view} waits={schedule.waits.slice(0, 3)} />
            {schedule.waits.length > 3 ? (
              <Fold title={`And ${schedule.waits.length - 3} more`}>
                <Waits view={view} waits={schedule.waits.slice(3)} />
              </Fold>
            ) : null}
          </>
        ) : null}
        {schedule && !job.finishedDate ? (
          <Reasons view={view} reasons={[...schedule.reasons, ...schedule.chain]} title="Why then?" />
        ) : null}
        {lanes ? <PlanLanes view={view} {...lanes} /> : null}
        <TaskList view={view} job={job} tasks={tasks} running={running} />
        <Needs view={view} needs={needs} parts={parts} open={open} />
        {pictures.length > 0 || (view.writes && open) ? <h2>Pictures</h2> : null}
        <Pictures view={view} pictures={pictures.filter((one) => !one.findingId)} />
        {view.writes && open ? (
          <AddPictures view={view} subject={{ machineId: machine.id }} receipts={view.seesPrices} />
        ) : null}
        <Findings view={view} job={job} findings={findings} proposals={proposals} pictures={pictures} />
        {coats.length > 0 ? (
          <>
            <h2>Coats</h2>
            <ul>
              {coats.map((one) => (
                <li>
                  {one.coat.surface}, coat {one.coat.coatNumber} ({one.productName}).{' '}
                  {one.topmost ? `${recoatInWords(view, one)}. ` : ''}
                  {one.status.assemblyFrom ? `Assemble from ${view.say.moment(one.status.assemblyFrom)}.` : ''}
                </li>
              ))}
            </ul>
          </>
        ) : null}
        <Checks view={view} job={job} safety={safety} />
        {cost ? <CostDrawing view={view} cost={cost} /> : null}
        {view.owns ? <JobForms view={view} job={job} machine={machine} /> : null}
        <h2>Papers</h2>
        <ul class="links">
          <li>
            <Go view={view} path={`${here}/papers`}>
              What was done, to print
            </Go>
          </li>
          <li>
            <Go view={view} path={`${here}/labels.pdf`}>
              Labels for its bags
            </Go>
          </li>
        </ul>
      </>
    ),
  };
}

const Waits: FC<{ view: View; waits: z.output<typeof JobSchedule>['waits'] }> = ({ view, waits }) => (
  <ul>
    {waits.map((wait) => (
      <li>
        {view.say.sentence(wait.what)}
        {wait.until ? `, likely until ${view.say.day(wait.until)}` : ''}
        {wait.taskName ? ` (${wait.taskName.toLowerCase()})` : ''}
      </li>
    ))}
  </ul>
);

const Needs: FC<{
  view: View;
  needs: readonly z.output<typeof PartNeed>[];
  parts: Map<string, string>;
  open: boolean;
}> = ({ view, needs, parts, open }) => (
  <>
    <h2>Parts</h2>
    {needs.length === 0 ? <p>None are noted.</p> : null}
    <ul class="rows">
      {needs.map((need) => (
        <li>
          {view.say.quantity(need.quantity)} × {parts.get(need.fittedPartId ?? need.partId)}:{' '}
          {needStatuses[need.status] ?? need.status}
          {need.usedDate ? ` ${view.say.onDay(need.usedDate)}` : ''}
          {view.writes && open && need.status === 'onHand' ? (
            <div class="do">
              <Act view={view} act="fitted" about={need.id} fields={{ need: need.id }} label="Fitted" quiet />
            </div>
          ) : null}
          {view.writes && open && need.status === 'unordered' ? (
            <div class="do">
              <Act view={view} act="unneed" about={need.id} fields={{ need: need.id }} label="Not needed" quiet />
            </div>
          ) : null}
        </li>
      ))}
    </ul>
  </>
);

const Checks: FC<{ view: View; job: JobRow; safety: z.output<typeof SafetyStatus> }> = ({ view, job, safety }) =>
  safety.required.length === 0 ? null : (
    <>
      <h2>Safety checks</h2>
      <p>
        {safety.safe
          ? 'All passed.'
          : job.scope === 'sellAsFound'
            ? 'It is sold as found, not safe to run: what was checked is said, the rest is said not to be.'
            : 'Before these have passed it is not offered.'}
      </p>
      <Fold
        title={`${safety.failed.length + safety.missing.length} still to pass`}
        open={job.finishedDate !== null || view.refusal?.act === 'check'}
      >
        <ul class="rows">
          {[
            ...safety.failed.map((one) => ({ ...one, word: 'failed' })),
            ...safety.missing.map((one) => ({ ...one, word: 'not made' })),
          ].map((one) => (
            <li>
              <strong>{one.title}</strong>: {one.word}
              <p>{one.text}</p>
              {view.writes && !job.closedDate ? (
                <div class="do">
                  <Act
                    view={view}
                    act="check"
                    about={one.code}
                    fields={{ job: job.id, check: one.code, passed: 'yes' }}
                    label="Passed"
                  />
                  <Act
                    view={view}
                    act="check"
                    about={`${one.code}-no`}
                    fields={{ job: job.id, check: one.code, passed: 'no' }}
                    label="Failed"
                    quiet
                  />
                </div>
              ) : null}
            </li>
          ))}
        </ul>
      </Fold>
      {safety.passed.length > 0 ? (
        <Table caption="Passed" rows={safety.passed} columns={[{ head: 'Check', cell: (one) => one.title }]} />
      ) : null}
    </>
  );

export const machinePage: Page = { path: '/machine/:number', show };

/** What now: my tasks in order, what to have ready for them, and what else the day brings. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import { BenchList, type BenchTask } from '../../plan/answers/plan.shapes.js';
import { Person } from '../../shop/shop.shapes.js';
import { LabourEntry } from '../../work/work.shapes.js';
import { type CautionText, cautionTexts } from '../frame/cautions.js';
import { Act, CautionLine, Go, Reasons } from '../frame/components.js';
import { capital } from '../frame/format.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { TaskActs } from './task-acts.js';

type Task = z.output<typeof BenchTask>;
type Running = z.output<typeof LabourEntry>;

const TaskCard: FC<{ view: View; task: Task; running: Running | null; cautions: CautionText[] }> = ({
  view,
  task,
  running,
  cautions,
}) => (
  <article class="card">
    <h2 class="name">
      <Go view={view} path={`/machine/${task.jobNumber}`}>
        {task.name}: job {task.jobNumber}, {task.machine}
      </Go>
    </h2>
    <p>
      {view.say.work(task.minutes)}
      {running?.taskId === task.taskId ? (
        <>
          , begun {view.say.moment(running.startedAt)}: <span data-since={running.startedAt}></span>
        </>
      ) : (
        `, from ${view.say.moment(task.startsAt)}`
      )}
    </p>
    {task.prepare.map((thing) => (
      <p>
        <strong>First:</strong> {view.say.sentence(thing)}
      </p>
    ))}
    {cautions.map((caution) => (
      <CautionLine {...caution} />
    ))}
    {view.writes ? <TaskActs view={view} task={task} running={running} /> : null}
    <Reasons view={view} reasons={task.reasons} />
  </article>
);

const WhoAreYou: FC<{ view: View; people: readonly z.output<typeof Person>[] }> = ({ view, people }) => (
  <Act view={view} act="iAm">
    <fieldset>
      <legend>Who works with this device?</legend>
      <div class="do">
        {people.map((person) => (
          <button name="person" value={person.id} class="quiet">
            {person.name}
          </button>
        ))}
      </div>
    </fieldset>
  </Act>
);

const DAYS_AHEAD = 6;

/** On a day with nothing to do, the next one that has something. */
async function nextList(view: View, today: z.output<typeof BenchList>) {
  for (let ahead = 1; ahead <= DAYS_AHEAD; ahead += 1) {
    const list = await view.read('benchList', BenchList, {
      day: view.say.today.add({ days: ahead }).toString(),
      personId: view.device.personId ?? null,
    });
    if (list.tasks.length > 0) return { ...list, note: today.note };
  }
  return today;
}

async function whatNow(view: View) {
  const today = await view.read('benchList', BenchList, { personId: view.device.personId ?? null });
  const list = today.tasks.length > 0 ? today : await nextList(view, today);
  const running = (await view.list('labourEntries', LabourEntry, { running: true })).items;
  const mine = running.find((entry) => entry.personId === view.device.personId) ?? null;
  const textsOf = await cautionTexts(view);
  const people = view.writes && !view.device.personId ? (await view.list('people', Person)).items : [];
  const tasks = [...list.tasks].sort((a, b) => Number(b.taskId === mine?.taskId) - Number(a.taskId === mine?.taskId));
  const [first, ...rest] = tasks;
  const card = (task: Task) => <TaskCard view={view} task={task} running={mine} cautions={textsOf(task.cautions)} />;
  const later = list !== today && first;
  const answer =
    !first || later
      ? view.say.sentence(list.note ?? 'Nothing can be worked on today.')
      : mine?.taskId === first.taskId
        ? `You are on: ${first.name}, job ${first.jobNumber}.`
        : `${first.name} on job ${first.jobNumber} now.`;
  return {
    title: 'What now',
    answer,
    more:
      first && !later ? <p>{capital(first.reasons.map((reason) => view.say.sentence(reason)).join('; '))}.</p> : null,
    rest: (
      <>
        {people.length > 1 ? <WhoAreYou view={view} people={people} /> : null}
        {later ? <h2>{capital(view.say.day(list.day))}</h2> : null}
        {first ? card(first) : null}
        {rest.length > 0 ? <h2>Then{later ? '' : ' today'}</h2> : null}
        {rest.map(card)}
      </>
    ),
  };
}

export const nowPage: Page = { path: '/', show: whatNow };

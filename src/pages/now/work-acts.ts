/** What is done to a task by thumb: begun, done, stopped, taken back. */
import { workers } from '../../platform/operation/operation.js';
import { LabourEntry, Task } from '../../work/work.shapes.js';
import type { Form } from '../frame/form.js';
import type { ActDeclared, ActResult } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { TAKEN_BACK } from '../frame/words.js';

/** The owner may act against the order of the tasks, and says why. */
const override = (form: Form) =>
  form.has('reason') ? { override: true, reason: form.needed('reason', 'why it is done all the same') } : {};

async function runningEntry(view: View) {
  const { personId } = view.device;
  if (!personId) return null;
  const { items } = await view.list('labourEntries', LabourEntry, { personId, running: true });
  return items[0] ?? null;
}

const start: ActDeclared = {
  name: 'start',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const taskId = form.needed('task', 'which task');
    const at = form.moment();
    const why = override(form);
    form.check();
    const { personId } = view.device;
    if (!personId) {
      const task = await view.act('startTask', Task, { id: taskId, at, ...why });
      return {
        said: `Begun ${view.say.moment(at)}: ${task.name}.`,
        undo: { act: 'reopen', fields: { task: taskId }, says: 'The task counts as not begun again.' },
      };
    }
    const running = await runningEntry(view);
    if (running?.taskId === taskId)
      return { said: `Already being worked on since ${view.say.moment(running.startedAt)}.` };
    if (running) await view.act('stopLabour', LabourEntry, { id: running.id, at });
    const entry = await view.act('startLabour', LabourEntry, { id: taskId, personId, at, ...why });
    const task = await view.read('task', Task, { id: taskId });
    return {
      said: `Begun ${view.say.moment(at)}: ${task.name}.${running ? ' What ran before was stopped.' : ''}`,
      undo: {
        act: 'unstart',
        fields: { entry: entry.id },
        says: `The time since ${view.say.moment(at)} is taken off the task again.`,
      },
    };
  },
};

const unstart: ActDeclared = {
  name: 'unstart',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('entry', 'which entry');
    form.check();
    await view.act('undoLabourStart', LabourEntry, { id, reason: form.text('reason') ?? TAKEN_BACK });
    return { said: 'Taken back: that time is off the task again.' };
  },
};

const finish: ActDeclared = {
  name: 'finish',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const taskId = form.needed('task', 'which task');
    const at = form.moment();
    const minutes = form.whole('minutes');
    const why = override(form);
    form.check();
    const { personId } = view.device;
    const before = await view.read('task', Task, { id: taskId });
    if (minutes && personId && !before.startedAt) {
      const startedAt = new Date(Date.parse(at) - minutes * 60_000).toISOString();
      await view.act('startTask', Task, { id: taskId, at: startedAt, ...why });
      await view.act('createLabourEntry', LabourEntry, { taskId, personId, startedAt, endedAt: at });
    }
    const task = await view.act('finishTask', Task, { id: taskId, at, ...why });
    return {
      said: `Done ${view.say.moment(at)}: ${task.name}.`,
      undo: {
        act: 'reopen',
        fields: { task: taskId },
        says: 'The task is open again; the time worked on it stays noted.',
      },
    };
  },
};

const reopen: ActDeclared = {
  name: 'reopen',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('task', 'which task');
    form.check();
    const task = await view.act('reopenTask', Task, { id, reason: form.text('reason') ?? TAKEN_BACK });
    return { said: `Taken back: ${task.name} is ${task.status === 'started' ? 'being worked on' : 'still to do'}.` };
  },
};

const stop: ActDeclared = {
  name: 'stop',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const at = form.moment();
    const note = form.text('note');
    form.check();
    const running = await runningEntry(view);
    if (!running) return { said: 'Nothing was running on this device any more.' };
    const entry = await view.act('stopLabour', LabourEntry, { id: running.id, at });
    if (note)
      await view.act('changeLabourEntry', LabourEntry, {
        id: entry.id,
        version: entry.version,
        note: note.slice(0, 400),
      });
    return {
      said: `Stopped ${view.say.moment(at)} after ${view.say.work(entry.minutes)}. The task stays open.`,
      to: form.has('then') ? form.raw('then') : undefined,
    };
  },
};

export const workActs: readonly ActDeclared[] = [start, unstart, finish, reopen, stop];

/** Two short forms about a machine: something found, a part needed. */
import { Part } from '../../catalogue/catalogue.shapes.js';
import { ComponentList, RustScale } from '../../diagnosis/components/components.queries.js';
import { Finding } from '../../diagnosis/diagnosis.shapes.js';
import { workers } from '../../platform/operation/operation.js';
import { Task } from '../../work/work.shapes.js';
import { Act, Choice, Fold, Select, TextField, When } from '../frame/components.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { options, verdicts } from '../frame/words.js';
import { PictureField } from '../pictures/pictures.js';
import { machineOf } from './load-machine.js';

async function found(view: View) {
  const { job, machine } = await machineOf(view);
  const act = 'found';
  const { components } = await view.read('components', ComponentList, { kind: machine.kind });
  const { steps } = await view.read('rustScale', RustScale);
  const positions = [...new Set(components.flatMap((one) => one.positions))];
  return {
    title: 'Found something',
    answer: `What did you find on job ${job.number}, ${job.title}?`,
    rest: (
      <Act view={view} act={act} label="Note it" fields={{ machine: machine.id, to: `/machine/${job.number}` }} files>
        <TextField
          view={view}
          act={act}
          name="component"
          label="On which part of it"
          required
          list="components"
          max={120}
        />
        <datalist id="components">
          {components.map((one) => (
            <option value={one.name}></option>
          ))}
        </datalist>
        {positions.length > 0 ? (
          <Select
            view={view}
            act={act}
            name="position"
            label="Which one"
            none="there is one, or both"
            options={positions.map((one) => ({ value: one, label: one }))}
          />
        ) : null}
        <TextField view={view} act={act} name="observation" label="What you saw" long required />
        <Choice view={view} act={act} name="verdict" label="So" required options={options(verdicts)} />
        <TextField
          view={view}
          act={act}
          name="reason"
          label="Why so"
          hint="needed where it serves on outside its limits"
        />
        <PictureField label="Pictures of it" />
        <Select
          view={view}
          act={act}
          name="rust"
          label="Rust"
          none="not looked at"
          options={steps.map((one) => ({ value: String(one.grade), label: `${one.title}: ${one.sentence}` }))}
        />
        <Fold title="It was measured">
          <TextField view={view} act={act} name="measured" label="Measured" inputmode="decimal" max={12} />
          <TextField
            view={view}
            act={act}
            name="unit"
            label="Unit"
            max={40}
            value={view.shop.unitSystem === 'imperial' ? 'in' : 'mm'}
          />
          <TextField view={view} act={act} name="new" label="When new" inputmode="decimal" max={12} />
          <TextField view={view} act={act} name="low" label="Serves from" inputmode="decimal" max={12} />
          <TextField view={view} act={act} name="high" label="Serves up to" inputmode="decimal" max={12} />
        </Fold>
        <When view={view} act={act} days />
      </Act>
    ),
  };
}

async function part(view: View) {
  const { job } = await machineOf(view);
  const act = 'need';
  const tasks = (await view.list('tasks', Task, { jobId: job.id })).items.filter((task) => task.status !== 'finished');
  const parts = (await view.list('parts', Part)).items;
  const finding = view.query.finding ? await view.read('finding', Finding, { id: view.query.finding }) : null;
  const likely =
    tasks.find((task) => task.id === view.query.task) ?? tasks.find((task) => task.kind === 'assemble') ?? tasks[0];
  return {
    title: 'A part is needed',
    answer: finding ? `Which part for: ${finding.component}?` : `Which part does job ${job.number} need?`,
    rest:
      tasks.length === 0 ? (
        <p>No task is left on this job that could need a part. Add more work first, on the machine’s page.</p>
      ) : (
        <Act view={view} act={act} label="Note it" fields={{ to: `/machine/${job.number}`, finding: finding?.id }}>
          <TextField
            view={view}
            act={act}
            name="partName"
            label="Part"
            required
            list="parts"
            max={120}
            hint="a new name makes a new entry"
          />
          <datalist id="parts">
            {parts.map((one) => (
              <option value={one.name}></option>
            ))}
          </datalist>
          <TextField
            view={view}
            act={act}
            name="quantity"
            label="How many"
            inputmode="decimal"
            value="1"
            required
            max={12}
          />
          <Select
            view={view}
            act={act}
            name="task"
            label="For the task"
            value={likely?.id ?? ''}
            options={tasks.map((task) => ({ value: task.id, label: task.name }))}
          />
          <Fold title="It is new in the catalogue">
            <TextField
              view={view}
              act={act}
              name="family"
              label="Kind of part"
              hint="such as belt, bearing, fastener"
              max={60}
            />
          </Fold>
        </Act>
      ),
  };
}

export const foundPage: Page = { path: '/machine/:number/found', roles: workers, show: found };
export const partPage: Page = { path: '/machine/:number/part', roles: workers, show: part };

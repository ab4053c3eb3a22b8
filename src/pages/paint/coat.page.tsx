/** A coat is on: on what, out of which can, when, and what the air was like. */
import { CuringCoats } from '../../desk/questions/curing-coats.queries.js';
import { at } from '../../engine/look-up.js';
import { CoatingProduct } from '../../finish/finish.shapes.js';
import { workers } from '../../platform/operation/operation.js';
import { Place } from '../../shop/shop.shapes.js';
import { Job, Task } from '../../work/work.shapes.js';
import { Act, Fold, QuantityField, Select, TextField, Tick, When } from '../frame/components.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { PictureField } from '../pictures/pictures.js';
import { sprayDecision, SprayNow } from './spray-now.js';

const paintKinds = ['prime', 'colour', 'clear'];
/** What such machines are usually painted in: suggestions only. */
const surfaces = ['Auger housing', 'Chute', 'Impeller', 'Deck', 'Handles', 'Frame', 'Belt cover', 'Wheels'];

async function show(view: View) {
  const act = 'coat';
  const { coats } = await view.read('curingCoats', CuringCoats);
  const jobs = (await view.list('jobs', Job, { open: true })).items;
  const products = (await view.list('coatingProducts', CoatingProduct)).items;
  const places = (await view.list('places', Place)).items;
  const job = jobs.find((one) => one.id === view.query.job);
  const tasks = job ? (await view.list('tasks', Task, { jobId: job.id })).items : [];
  const due = tasks.filter((task) => paintKinds.includes(task.kind) && task.status !== 'finished');
  const last = coats.find((one) => one.coat.jobId === job?.id);
  const spray = places.find((place) => place.kind === 'sprayArea');
  const decision = job ? await sprayDecision(view, job.id) : null;
  return {
    title: 'A coat is on',
    answer: job ? `A coat on job ${job.number}, ${job.title}.` : 'On which machine is the coat?',
    more: job ? (
      <SprayNow view={view} path="/paint/coat" decision={decision} places={places} products={products} jobId={job.id} />
    ) : null,
    rest: job ? (
      <Act view={view} act={act} label="Note the coat" fields={{ job: job.id }} files>
        <TextField
          view={view}
          act={act}
          name="surface"
          label="What was painted"
          required
          max={80}
          list="surfaces"
          value={view.query.surface ?? last?.coat.surface ?? ''}
        />
        <datalist id="surfaces">
          {[...new Set([...coats.map((one) => one.coat.surface), ...surfaces])].map((surface) => (
            <option value={surface}></option>
          ))}
        </datalist>
        <Select
          view={view}
          act={act}
          name="product"
          label="Out of which can"
          none="choose"
          value={view.query.product ?? ''}
          options={products.map((product) => ({ value: product.id, label: product.name }))}
        />
        <Select
          view={view}
          act={act}
          name="place"
          label="Where it stands"
          none="outdoors"
          value={view.query.place ?? spray?.id ?? last?.coat.placeId ?? ''}
          options={places.map((place) => ({ value: place.id, label: place.name }))}
        />
        {due.length > 0 ? (
          <>
            <Select
              view={view}
              act={act}
              name="task"
              label="For the task"
              none="none of them"
              value={at(due, 0).id}
              options={due.map((task) => ({ value: task.id, label: task.name }))}
            />
            <Tick view={view} act={act} name="finish" label="That task is done" />
          </>
        ) : null}
        <QuantityField
          view={view}
          act={act}
          name="air"
          label="Air"
          quantity="temperature"
          value={view.query.air ?? ''}
        />
        <TextField
          view={view}
          act={act}
          name="humidity"
          label="Humidity"
          hint="in percent"
          inputmode="decimal"
          value={view.query.humidity ?? ''}
        />
        <QuantityField
          view={view}
          act={act}
          name="metal"
          label="The metal itself"
          quantity="temperature"
          value={view.query.metal ?? ''}
        />
        <PictureField label="Pictures of it" />
        <Fold title="How much paint">
          <QuantityField view={view} act={act} name="used" label="Paint used" quantity="volume" />
          <QuantityField view={view} act={act} name="area" label="Or the area" quantity="area" />
          <TextField view={view} act={act} name="note" label="Note" long />
        </Fold>
        <When view={view} act={act} />
      </Act>
    ) : (
      <ul class="links">
        {jobs.map((one) => (
          <li>
            <a href={view.to('/paint/coat', { job: one.id })}>
              Job {one.number}, {one.title}
            </a>
          </li>
        ))}
      </ul>
    ),
  };
}

export const coatPage: Page = { path: '/paint/coat', roles: workers, show };

/** What a label is on, or what was found: a part, a bin, a job, a need. */
import { Part } from '../../catalogue/catalogue.shapes.js';
import { Picture } from '../../pictures/pictures.shapes.js';
import { NotFound } from '../../platform/errors.js';
import { PartNeed, Stock } from '../../stock/stock.shapes.js';
import { Job, Task } from '../../work/work.shapes.js';
import { Act, Facts, Fold, Go, Table, TextField } from '../frame/components.js';
import type { Shown } from '../frame/document.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { AddPictures, Pictures } from '../pictures/pictures.js';

async function partPage(view: View, partId: string, bin: string | null): Promise<Shown> {
  const part = await view.read('part', Part, { id: partId });
  const bins = (await view.list('stocks', Stock, { partId })).items;
  const pictures = (await view.list('pictures', Picture, { partId })).items;
  const { say } = view;
  return {
    title: part.name,
    answer: `${say.quantity(part.quantityFree)} of ${say.quantity(part.quantityOnHand)} free: ${part.name}.`,
    more: part.quantityOnOrder > 0 ? <p>{say.quantity(part.quantityOnOrder)} are on the way.</p> : null,
    doing: view.owns ? (
      <Go view={view} path="/missing/order" query={{ part: partId }} button>
        Order
      </Go>
    ) : null,
    rest: (
      <>
        <Facts
          facts={[
            ['Kind', part.family],
            ['Designation', part.fastener],
            ['Maker numbers', part.makerNumbers.map((one) => `${one.maker} ${one.number}`).join(', ')],
            ['Made to break', part.designedToFail ? 'yes: only its exact equal may stand in for it' : null],
            ['Notes', part.notes],
          ]}
        />
        <Pictures view={view} pictures={pictures} />
        {view.writes ? <AddPictures view={view} subject={{ partId }} receipts={view.seesPrices} /> : null}
        <Table
          caption="Where it lies"
          rows={bins}
          empty="None is on hand."
          columns={[
            { head: 'Bin', cell: (one) => (one.bin === bin ? <strong>{one.bin}</strong> : one.bin) },
            { head: 'On hand', number: true, cell: (one) => say.quantity(one.quantity) },
            { head: 'Free', number: true, cell: (one) => say.quantity(one.quantityFree) },
            {
              head: 'From',
              cell: (one) => ({ bought: 'bought', harvested: 'off a donor', found: 'found' })[one.source],
            },
          ]}
        />
        {view.owns
          ? bins.map((one) => (
              <Fold
                title={`Counted in ${one.bin}`}
                open={view.refusal?.act === 'counted' && view.refusal.about === one.id}
              >
                <Act
                  view={view}
                  act="counted"
                  about={one.id}
                  fields={{ stock: one.id, version: one.version }}
                  label="Note the count"
                >
                  <TextField
                    view={view}
                    act="counted"
                    about={one.id}
                    name="quantity"
                    label="There are"
                    inputmode="decimal"
                    max={12}
                    value={say.quantity(one.quantity)}
                  />
                </Act>
              </Fold>
            ))
          : null}
        <ul class="links">
          {bins.length > 0 ? (
            <li>
              <Go view={view} path="/labels.pdf" query={{ ids: bins.map((one) => one.id).join(',') }}>
                Labels for its bins
              </Go>
            </li>
          ) : null}
        </ul>
      </>
    ),
  };
}

async function show(view: View): Promise<Shown> {
  const { kind, id = '' } = view.params;
  if (kind === 'part') return partPage(view, id, null);
  if (kind === 'bin' || kind === 'stock') {
    const stock = await view.read('stock', Stock, { id });
    return partPage(view, stock.partId, stock.bin);
  }
  if (kind === 'need' || kind === 'part-need') {
    const need = await view.read('partNeed', PartNeed, { id });
    const task = await view.read('task', Task, { id: need.taskId });
    return jobLine(view, task.jobId);
  }
  if (kind === 'job') return jobLine(view, id);
  throw new NotFound('such label');
}

async function jobLine(view: View, jobId: string): Promise<Shown> {
  const job = await view.read('job', Job, { id: jobId });
  return {
    title: `Job ${job.number}`,
    answer: `This belongs to job ${job.number}, ${job.title}.`,
    doing: (
      <Go view={view} path={`/machine/${job.number}`} button>
        Open it
      </Go>
    ),
  };
}

export const thingPage: Page = { path: '/thing/:kind/:id', show };

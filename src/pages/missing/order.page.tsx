/** Ordering: the part, how many, where, at what price. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import { Part, Supplier } from '../../catalogue/catalogue.shapes.js';
import { MissingParts } from '../../desk/questions/missing-parts.queries.js';
import { at } from '../../engine/look-up.js';
import { ownerOnly } from '../../platform/operation/operation.js';
import { Order, OrderLine } from '../../purchasing/orders.shapes.js';
import { Act, Fold, Go, MoneyField, Select, TextField } from '../frame/components.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';

const ChoosePart: FC<{ view: View; parts: readonly z.output<typeof Part>[]; asked: string }> = ({
  view,
  parts,
  asked,
}) => (
  <>
    <form method="get" action={view.to('/missing/order')}>
      <label class="field">
        <span>Which part?</span>
        <input name="q" value={asked} autocomplete="off" maxlength={100} />
      </label>
      <div class="do">
        <button>Look</button>
      </div>
    </form>
    <ul class="links">
      {parts.map((part) => (
        <li>
          <Go view={view} path="/missing/order" query={{ part: part.id }}>
            {part.name}
            {part.fastener && part.fastener !== part.name ? `, ${part.fastener}` : ''}
          </Go>
        </li>
      ))}
    </ul>
    {asked && parts.length === 0 ? (
      <Act view={view} act="newPart" label={`Add “${asked}” to the catalogue`} fields={{ name: asked }}>
        <TextField
          view={view}
          act="newPart"
          name="family"
          label="Kind of part"
          hint="such as belt, bearing, fastener"
          value="other"
        />
      </Act>
    ) : null}
  </>
);

async function show(view: View) {
  const { part: partId, need: needId, q = '' } = view.query;
  if (!partId) {
    const found = await view.list('parts', Part, { first: 60, ...(q ? { search: q } : {}) });
    return {
      title: 'Order something',
      answer: 'Which part is to be ordered?',
      rest: <ChoosePart view={view} parts={found.items} asked={q} />,
    };
  }
  const part = await view.read('part', Part, { id: partId });
  const { unordered } = await view.read('missingParts', MissingParts);
  const waiting = unordered.filter((one) => one.need.partId === partId);
  const wanted = waiting.find((one) => one.need.id === needId) ?? waiting[0];
  const lines = await view.list('orderLines', OrderLine, { partId, first: 20 });
  const last = lines.items.at(-1);
  const lastOrder = last ? await view.read('order', Order, { id: last.orderId }) : null;
  const suppliers = await view.list('suppliers', Supplier);
  const act = 'order';
  return {
    title: 'Order',
    answer: `Order ${part.name}.`,
    more: part.quantityFree > 0 ? <p>{view.say.quantity(part.quantityFree)} are on hand and free.</p> : null,
    priced: true,
    rest: (
      <Act view={view} act={act} label="Note it as ordered" fields={{ part: partId }}>
        {waiting.map((one) => (
          <label class="choice">
            <span>
              <input type="checkbox" name="need" value={one.need.id} checked={one === wanted} />{' '}
              {view.say.quantity(one.need.quantity)} for {one.holdsUp.taskName.toLowerCase()} on job{' '}
              {one.holdsUp.jobNumber}
            </span>
          </label>
        ))}
        <TextField
          view={view}
          act={act}
          name="quantity"
          label="How many"
          inputmode="decimal"
          required
          max={12}
          value={wanted ? view.say.quantity(wanted.need.quantity) : '1'}
        />
        <Select
          view={view}
          act={act}
          name="supplier"
          label="From"
          none="choose"
          value={lastOrder?.supplierId ?? (suppliers.items.length === 1 ? at(suppliers.items, 0).id : '')}
          options={suppliers.items.map((one) => ({ value: one.id, label: one.name }))}
        />
        <MoneyField view={view} act={act} name="unitPrice" label="Each costs" required value={last?.unitPrice} />
        <Fold title="Another supplier, shipping, a promised day">
          <TextField view={view} act={act} name="newSupplier" label="A new supplier" max={120} />
          <MoneyField view={view} act={act} name="shipping" label="Shipping" />
          <TextField view={view} act={act} name="promised" label="Promised for" type="date" />
        </Fold>
      </Act>
    ),
  };
}

export const orderPage: Page = { path: '/missing/order', roles: ownerOnly, show };

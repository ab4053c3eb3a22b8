/** What is done about parts: came, wrong, a new date, ordered, taken from a bin, solved otherwise. */
import { Part, Supplier } from '../../catalogue/catalogue.shapes.js';
import { ShortageResolved } from '../../desk/shortage/shortage.shapes.js';
import { ownerOnly, workers } from '../../platform/operation/operation.js';
import {
  OrderLine,
  OrderLineStep,
  OrderPlaced,
  PromiseRecorded,
  ReceiptRecorded,
} from '../../purchasing/orders.shapes.js';
import { PartNeedStep } from '../../stock/stock.shapes.js';
import { effectsSaid } from '../frame/effects.js';
import type { Form } from '../frame/form.js';
import type { ActDeclared, ActResult } from '../frame/page.js';
import type { View } from '../frame/view.js';

const came: ActDeclared = {
  name: 'came',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const orderLineId = form.needed('line', 'which order');
    const condition = form.oneOf('condition', ['good', 'wrong', 'damaged'], 'good');
    const quantity = form.number('quantity');
    const bin = form.text('bin');
    const receivedDate = form.day();
    if (condition === 'good' && !bin) form.fault('bin', 'Say where you put them.');
    form.check();
    const line = await view.read('orderLine', OrderLine, { id: orderLineId });
    const part = await view.read('part', Part, { id: line.partId });
    const many = quantity ?? line.quantityOutstanding;
    const { effects } = await view.act('recordReceipt', ReceiptRecorded, {
      id: orderLineId,
      quantity: many,
      condition,
      receivedDate,
      ...(condition === 'good' ? { bin } : {}),
      ...(form.has('note') ? { note: form.text('note') } : {}),
    });
    const what = `${view.say.quantity(many)} × ${part.name}`;
    return {
      said:
        condition === 'good'
          ? `Came: ${what}, in ${bin}.${effectsSaid(view, effects)}`
          : `Noted as ${condition}: ${what}. They do not count as received.${effectsSaid(view, effects)}`,
    };
  },
};

const newDate: ActDeclared = {
  name: 'newDate',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const orderLineId = form.needed('line', 'which order');
    const withdrawn = form.has('withdrawn');
    const promisedDate = withdrawn ? null : form.date('date');
    if (!withdrawn && promisedDate === null) form.fault('date', 'Say which day, or that there is none.');
    form.check();
    const { effects } = await view.act('recordPromise', PromiseRecorded, {
      id: orderLineId,
      promisedDate,
      statedDate: form.day(),
    });
    return {
      said:
        (promisedDate ? `Now promised for ${view.say.day(promisedDate)}.` : 'There is no promised day any more.') +
        effectsSaid(view, effects),
    };
  },
};

const cancel: ActDeclared = {
  name: 'cancelLine',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('line', 'which order');
    form.check();
    const line = await view.read('orderLine', OrderLine, { id });
    const { effects } = await view.act('cancelOrderLine', OrderLineStep, { id, version: line.version });
    return { said: `What was still to come is cancelled.${effectsSaid(view, effects)}` };
  },
};

const fromBin: ActDeclared = {
  name: 'fromBin',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('need', 'which part');
    const version = form.whole('version');
    const stockId = form.needed('stock', 'which bin');
    form.check();
    const { need, effects } = await view.act('reservePart', PartNeedStep, { id, version, stockId });
    return {
      said: `Reserved.${effectsSaid(view, effects)}`,
      undo: {
        act: 'release',
        fields: { need: id, version: String(need.version) },
        says: 'The parts are free for other tasks again.',
      },
    };
  },
};

const release: ActDeclared = {
  name: 'release',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('need', 'which part');
    const version = form.whole('version');
    form.check();
    const { effects } = await view.act('releasePart', PartNeedStep, { id, version });
    return { said: `Released.${effectsSaid(view, effects)}` };
  },
};

/** A supplier chosen from the list, or a new one by its name. */
async function supplierOf(view: View, form: Form): Promise<string> {
  const name = form.text('newSupplier');
  if (!name) return form.needed('supplier', 'where it is ordered');
  const known = await view.list('suppliers', Supplier, {});
  const same = known.items.find((one) => one.name.toLowerCase() === name.toLowerCase());
  return same?.id ?? (await view.act('createSupplier', Supplier, { name })).id;
}

const order: ActDeclared = {
  name: 'order',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const partId = form.needed('part', 'which part');
    const quantity = form.numberNeeded('quantity', 'how many');
    const unitPrice = form.moneyNeeded('unitPrice', 'what one costs');
    const shippingCost = form.money('shipping') ?? '0';
    const promisedDate = form.date('promised');
    if (!form.has('newSupplier')) form.needed('supplier', 'where it is ordered');
    form.check();
    const supplierId = await supplierOf(view, form);
    const { effects } = await view.act('createOrder', OrderPlaced, {
      supplierId,
      shippingCost,
      orderedDate: form.day(),
      lines: [
        { partId, quantity, unitPrice, ...(promisedDate ? { promisedDate } : {}), partNeedIds: form.all('need') },
      ],
    });
    const part = await view.read('part', Part, { id: partId });
    return {
      said: `Noted as ordered: ${view.say.quantity(quantity)} × ${part.name}.${effectsSaid(view, effects)}`,
      to: '/missing',
    };
  },
};

const option: ActDeclared = {
  name: 'option',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const orderLineId = form.needed('line', 'which order');
    const kind = form.needed('kind', 'which way');
    const texts = Object.fromEntries(
      ['stockId', 'machineId', 'supplierId', 'bin']
        .filter((name) => form.has(name))
        .map((name) => [name, form.text(name)]),
    );
    const amounts = Object.fromEntries(
      ['unitValue', 'restValue', 'unitPrice', 'shippingCost', 'reworkCost']
        .filter((name) => form.has(name))
        .map((name) => [name, form.money(name)]),
    );
    const reworkMinutes = form.whole('reworkMinutes');
    form.check();
    const { effects } = await view.act('resolveShortage', ShortageResolved, {
      id: orderLineId,
      kind,
      ...texts,
      ...amounts,
      ...(reworkMinutes ? { reworkMinutes } : {}),
      cancelRest: form.checked('cancelRest'),
    });
    return { said: `Done.${effectsSaid(view, effects)}`, to: '/missing' };
  },
};

export const missingActs: readonly ActDeclared[] = [came, newDate, cancel, fromBin, release, order, option];

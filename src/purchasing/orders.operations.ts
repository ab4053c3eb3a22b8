import { z } from 'zod';
import { withCompletionEffects } from '../platform/completion/completion-effects.js';
import { Conflict, Invalid, Outdated } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import { derived } from '../platform/operation/derive.js';
import { type Call, command, everyone, ownerOnly, type Presentable, workers } from '../platform/operation/operation.js';
import { asColumns, asDate, asDay, changeRow, findOne, records } from '../platform/operation/crud-operations.js';
import { id } from '../platform/shapes.js';
import { recordCores } from './cores.js';
import { completeStock } from './needs.queries.js';
import {
  addPromise,
  cancelSome,
  completeLine,
  extendOrder,
  lockLine,
  lockOrder,
  needOutstanding,
  placeOrder,
  spreadAnew,
} from './orders.js';
import { completeLines, completeOrders, linesOfOrders } from './orders.queries.js';
import {
  CoreReturn,
  CoreReturnGiven,
  CoreReturnRecorded,
  Order,
  OrderChange,
  OrderCreate,
  OrderLine,
  OrderLineCreate,
  OrderLineStep,
  OrderPlaced,
  PartReturn,
  PromiseGiven,
  PromiseRecorded,
  Receipt,
  ReceiptGiven,
  ReceiptRecorded,
  ReturnGiven,
  ReturnRecorded,
  SupplierPromise,
} from './orders.shapes.js';
import { receive, sendBack } from './receipts.js';
import { pastDay } from '../platform/operation/rows.js';
import { version } from '../stock/stock.shapes.js';

const completeOrder = async (call: Call, orderId: string): Promise<Presentable> =>
  (await completeOrders(call, [await findOne(call.tx.order, 'order', orderId)]))[0];

/** An order's step with its lines and effects. */
async function orderStep(call: Call, work: () => Promise<string>): Promise<Presentable> {
  const { result, effects } = await withCompletionEffects(call, work);
  return { id: result, order: await completeOrder(call, result), lines: await linesOfOrders(call, [result]), effects };
}

async function changeOrder(call: Call, { id: orderId, version: read, ...fields }: Presentable): Promise<string> {
  const money = ['shippingCost', 'taxCost', 'spreadMethod'].filter(
    (key) => fields[key] !== undefined && fields[key] !== null,
  );
  await lockOrder(call, orderId, money.length > 0);
  for (const key of ['shippingCost', 'taxCost'])
    if (fields[key]) checkAmount(fields[key], call.shop.currency, `/${key}`);
  if (fields.orderedOn) await checkOrderedOn(call, orderId, fields.orderedOn);
  const given = Object.fromEntries(
    Object.entries(fields).filter(([key, value]) => value !== null || key === 'reference' || key === 'notes'),
  );
  await changeRow(call.tx.order, 'order', orderId, read, asColumns(OrderChange, given));
  if (money.length > 0) await spreadAnew(call, orderId);
  return orderId;
}

/** An order cannot have been made after the first word of the supplier or the first parcel. */
async function checkOrderedOn(call: Call, orderId: string, orderedOn: string): Promise<void> {
  pastDay(call, orderedOn, '/orderedOn');
  const said = await call.tx.promise.findFirst({ where: { orderLine: { orderId } }, orderBy: { statedOn: 'asc' } });
  const came = await call.tx.receipt.findFirst({ where: { orderLine: { orderId } }, orderBy: { receivedOn: 'asc' } });
  for (const first of [said?.statedOn, came?.receivedOn]) {
    if (first && asDay(first) < orderedOn)
      throw new Invalid([
        { detail: `the supplier's first word or parcel is of ${asDay(first)}`, pointer: '/orderedOn' },
      ]);
  }
}

const readOnly = { readers: everyone, retires: false } as const;

export const orderOperations = [
  ...derived(
    records({
      name: 'order',
      plural: 'orders',
      rows: (tx) => tx.order,
      shape: Order,
      filters: {
        supplierId: id.nullish(),
        outstanding: z
          .boolean()
          .nullish()
          .meta({ description: 'Only orders of which something is still to come, or only the others.' }),
      },
      where: async ({ supplierId, outstanding }, call) => ({
        ...(supplierId ? { supplierId } : {}),
        ...(typeof outstanding === 'boolean'
          ? { id: { [outstanding ? 'in' : 'notIn']: (await outstandingLines(call)).map((line) => line.orderId) } }
          : {}),
      }),
      sorts: ['orderedOn', 'createdAt'],
      standardSort: '-orderedOn',
    }),
    completeOrders,
  ),
  ...derived(
    records({
      ...readOnly,
      name: 'orderLine',
      plural: 'orderLines',
      rows: (tx) => tx.orderLine,
      shape: OrderLine,
      filters: {
        orderId: id.nullish(),
        partId: id.nullish(),
        outstanding: z
          .boolean()
          .nullish()
          .meta({ description: 'Only lines of which something is still to come, or only the others.' }),
      },
      where: async ({ orderId, partId, outstanding }, call) => ({
        ...(orderId ? { orderId } : {}),
        ...(partId ? { partId } : {}),
        ...(typeof outstanding === 'boolean'
          ? { id: { [outstanding ? 'in' : 'notIn']: (await outstandingLines(call)).map((line) => line.id) } }
          : {}),
      }),
    }),
    completeLines,
  ),
  ...records({
    ...readOnly,
    name: 'supplierPromise',
    plural: 'supplierPromises',
    path: '/promises',
    what: 'promise',
    rows: (tx) => tx.promise,
    shape: SupplierPromise,
    filters: { orderLineId: id.nullish() },
    sorts: ['statedOn', 'createdAt'],
  }),
  ...records({
    ...readOnly,
    name: 'receipt',
    plural: 'receipts',
    rows: (tx) => tx.receipt,
    shape: Receipt,
    filters: { orderLineId: id.nullish() },
    sorts: ['receivedOn', 'createdAt'],
  }),
  ...records({
    ...readOnly,
    name: 'partReturn',
    plural: 'partReturns',
    path: '/returns',
    what: 'return',
    rows: (tx) => tx.partReturn,
    shape: PartReturn,
    filters: { receiptId: id.nullish() },
    sorts: ['returnedOn', 'createdAt'],
  }),
  ...records({
    ...readOnly,
    name: 'coreReturn',
    plural: 'coreReturns',
    what: 'return of cores',
    rows: (tx) => tx.coreReturn,
    shape: CoreReturn,
    filters: { orderLineId: id.nullish() },
    sorts: ['returnedOn', 'createdAt'],
  }),
  command({
    name: 'createOrder',
    summary: 'Record an order with its lines; shipping and tax are spread over them to the last cent',
    rest: { method: 'POST', path: '/orders', status: 201 },
    input: OrderCreate,
    output: OrderPlaced,
    run: (call, input) => orderStep(call, () => placeOrder(call, input)),
  }),
  command({
    name: 'changeOrder',
    summary: 'Change the order; its costs only until something of it has come',
    rest: { method: 'PATCH', path: '/orders/:id' },
    input: OrderChange,
    output: OrderPlaced,
    run: (call, input) => orderStep(call, () => changeOrder(call, input)),
  }),
  command({
    name: 'retireOrder',
    summary: 'Retire an order that was recorded by mistake; its lines must be cancelled and nothing received',
    rest: { method: 'DELETE', path: '/orders/:id' },
    input: z.strictObject({ id, version }),
    output: OrderPlaced,
    run: (call, input) =>
      orderStep(call, async () => {
        await lockOrder(call, input.id, true);
        const lines = await linesOfOrders(call, [input.id]);
        if (lines.some((line) => line.standing !== 'cancelled'))
          throw new Conflict('lines-open', 'Cancel its lines first.');
        await changeRow(call.tx.order, 'order', input.id, input.version, { retiredAt: call.now });
        return input.id;
      }),
  }),
  command({
    name: 'createOrderLine',
    summary: 'Add a line to an order of which nothing has come',
    rest: { method: 'POST', path: '/orders/:orderId/lines', status: 201 },
    input: OrderLineCreate,
    output: OrderPlaced,
    run: (call, input) => orderStep(call, () => extendOrder(call, input)),
  }),
  command({
    name: 'cancelOrderLine',
    summary: 'Cancel what is still to come of a line',
    rest: { method: 'POST', path: '/order-lines/:id/cancellation', status: 200 },
    creates: false,
    input: z.strictObject({ id, version }),
    output: OrderLineStep,
    async run(call, input) {
      const { effects } = await withCompletionEffects(call, async () => {
        const line = await lockLine(call, input.id);
        if (line.version !== input.version) throw new Outdated(line.version);
        await cancelSome(call, line, needOutstanding(line));
      });
      return { id: input.id, line: await completeLine(call, input.id), effects };
    },
  }),
  command({
    name: 'recordPromise',
    summary: 'Record a day that the supplier names for a line, or that it no longer names one',
    roles: workers,
    rest: { method: 'POST', path: '/order-lines/:orderLineId/promises', status: 201 },
    input: PromiseGiven,
    output: PromiseRecorded,
    async run(call, input) {
      const { result, effects } = await withCompletionEffects(call, async () => {
        const line = await lockLine(call, input.orderLineId);
        needOutstanding(line);
        const statedOn = asDate(pastDay(call, input.statedOn, '/statedOn', asDay(line.order.orderedOn)));
        return addPromise(call, line.id, {
          promisedDay: input.promisedDay,
          statedOn,
          note: input.note ?? null,
          pointer: '',
        });
      });
      return { id: result.id, promise: result, line: await completeLine(call, input.orderLineId), effects };
    },
  }),
  command({
    name: 'recordReceipt',
    summary: 'Record what came for a line: good parts go into a bin and are held for the tasks that wait',
    roles: workers,
    rest: { method: 'POST', path: '/order-lines/:orderLineId/receipts', status: 201 },
    input: ReceiptGiven,
    output: ReceiptRecorded,
    async run(call, input) {
      const { result, effects } = await withCompletionEffects(call, () => receive(call, input));
      const [stock] = result.stockId
        ? await completeStock(call, [await findOne(call.tx.stock, 'stock', result.stockId)])
        : [null];
      return {
        id: result.receipt.id,
        receipt: result.receipt,
        line: await completeLine(call, input.orderLineId),
        stock,
        effects,
      };
    },
  }),
  command({
    name: 'recordReturn',
    summary: 'Record what goes back to the supplier, what it pays back, and whether it sends another',
    roles: ownerOnly,
    rest: { method: 'POST', path: '/receipts/:receiptId/returns', status: 201 },
    input: ReturnGiven,
    output: ReturnRecorded,
    async run(call, input) {
      const { result, effects } = await withCompletionEffects(call, () => sendBack(call, input));
      return {
        id: result.partReturn.id,
        partReturn: result.partReturn,
        line: await completeLine(call, result.orderLineId),
        effects,
      };
    },
  }),
  command({
    name: 'recordCoreReturn',
    summary: 'Record old parts sent back for their core charge: what is paid back comes off the cost of the new ones',
    rest: { method: 'POST', path: '/order-lines/:orderLineId/core-returns', status: 201 },
    input: CoreReturnGiven,
    output: CoreReturnRecorded,
    async run(call, input) {
      const coreReturn = await recordCores(call, input);
      return { id: coreReturn.id, coreReturn, line: await completeLine(call, input.orderLineId) };
    },
  }),
];

const outstandingLines = (call: Call) =>
  call.tx.$queryRaw<{ id: string; orderId: string }[]>`
    select id, "orderId" from "OrderLine" where "quantityReceived" + "quantityCancelled" < "quantityOrdered"`;

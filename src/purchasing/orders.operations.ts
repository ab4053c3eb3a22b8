import { z } from 'zod';
import { at } from '../engine/look-up.js';
import { withCompletionEffects } from '../platform/completion/completion-effects.js';
import { Conflict, Invalid, Outdated } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import { asColumns, asDate, asDay } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { command, everyone, type OperationContext, ownerOnly, workers } from '../platform/operation/operation.js';
import { requirePastDate } from '../platform/operation/rows.js';
import { changeRow, findOne } from '../platform/operation/stored.js';
import { id, version } from '../platform/shapes.js';
import { completeStock } from '../stock/reservations.js';
import { recordCores } from './cores.js';
import {
  addPromise,
  cancelSome,
  completeLine,
  extendOrder,
  lockLine,
  lockOrder,
  placeOrder,
  requireOutstanding,
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

const completeOrder = async (context: OperationContext, orderId: string) =>
  at(await completeOrders(context, [await findOne(context.tx.order, 'order', orderId)]), 0);

/** An order's step with its lines and effects. */
async function orderStep(context: OperationContext, work: () => Promise<string>) {
  const { result, effects } = await withCompletionEffects(context, work);
  return {
    id: result,
    order: await completeOrder(context, result),
    lines: await linesOfOrders(context, [result]),
    effects,
  };
}

const orderFieldsChanged = OrderChange.omit({ id: true, version: true });

async function changeOrder(
  context: OperationContext,
  { id: orderId, version: read, ...fields }: z.output<typeof OrderChange>,
): Promise<string> {
  const movesMoney = (['shippingCost', 'taxCost', 'spreadMethod'] as const).some((key) => fields[key] != null);
  await lockOrder(context, orderId, movesMoney);
  for (const key of ['shippingCost', 'taxCost'] as const) {
    const given = fields[key];
    if (given) checkAmount(given, context.shop.currency, `/${key}`);
  }
  if (fields.orderedDate) await checkOrderedOn(context, orderId, fields.orderedDate);
  await changeRow(context.tx.order, 'order', orderId, read, asColumns(orderFieldsChanged, fields));
  if (movesMoney) await spreadAnew(context, orderId);
  return orderId;
}

/** An order cannot have been made after the first word of the supplier or the first parcel. */
async function checkOrderedOn(context: OperationContext, orderId: string, orderedDate: string): Promise<void> {
  requirePastDate(context, orderedDate, '/orderedDate');
  const said = await context.tx.promise.findFirst({
    where: { orderLine: { orderId } },
    orderBy: { statedDate: 'asc' },
  });
  const came = await context.tx.receipt.findFirst({
    where: { orderLine: { orderId } },
    orderBy: { receivedDate: 'asc' },
  });
  for (const first of [said?.statedDate, came?.receivedDate]) {
    if (first && asDay(first) < orderedDate)
      throw new Invalid([
        { detail: `the supplier's first word or parcel is of ${asDay(first)}`, pointer: '/orderedDate' },
      ]);
  }
}

const readOnly = { readers: everyone, archives: false } as const;

export const orderOperations = [
  ...crudOperations({
    name: 'order',
    plural: 'orders',
    table: 'order',
    shape: Order,
    filters: {
      supplierId: id.nullish(),
      outstanding: z
        .boolean()
        .nullish()
        .meta({ description: 'Only orders of which something is still to come, or only the others.' }),
    },
    where: async ({ supplierId, outstanding }, context) => ({
      ...(supplierId ? { supplierId } : {}),
      ...(typeof outstanding === 'boolean'
        ? { id: { [outstanding ? 'in' : 'notIn']: (await outstandingLines(context)).map((line) => line.orderId) } }
        : {}),
    }),
    sorts: ['orderedDate', 'createdAt'],
    standardSort: '-orderedDate',
    complete: completeOrders,
  }),
  ...crudOperations({
    ...readOnly,
    name: 'orderLine',
    plural: 'orderLines',
    table: 'orderLine',
    shape: OrderLine,
    filters: {
      orderId: id.nullish(),
      partId: id.nullish(),
      outstanding: z
        .boolean()
        .nullish()
        .meta({ description: 'Only lines of which something is still to come, or only the others.' }),
    },
    where: async ({ orderId, partId, outstanding }, context) => ({
      ...(orderId ? { orderId } : {}),
      ...(partId ? { partId } : {}),
      ...(typeof outstanding === 'boolean'
        ? { id: { [outstanding ? 'in' : 'notIn']: (await outstandingLines(context)).map((line) => line.id) } }
        : {}),
    }),
    complete: completeLines,
  }),
  ...crudOperations({
    ...readOnly,
    name: 'supplierPromise',
    plural: 'supplierPromises',
    path: '/promises',
    what: 'promise',
    table: 'promise',
    shape: SupplierPromise,
    filters: { orderLineId: id.nullish() },
    sorts: ['statedDate', 'createdAt'],
  }),
  ...crudOperations({
    ...readOnly,
    name: 'receipt',
    plural: 'receipts',
    table: 'receipt',
    shape: Receipt,
    filters: { orderLineId: id.nullish() },
    sorts: ['receivedDate', 'createdAt'],
  }),
  ...crudOperations({
    ...readOnly,
    name: 'partReturn',
    plural: 'partReturns',
    path: '/returns',
    what: 'return',
    table: 'partReturn',
    shape: PartReturn,
    filters: { receiptId: id.nullish() },
    sorts: ['returnedDate', 'createdAt'],
  }),
  ...crudOperations({
    ...readOnly,
    name: 'coreReturn',
    plural: 'coreReturns',
    what: 'return of cores',
    table: 'coreReturn',
    shape: CoreReturn,
    filters: { orderLineId: id.nullish() },
    sorts: ['returnedDate', 'createdAt'],
  }),
  command({
    name: 'createOrder',
    summary: 'Record an order with its lines; shipping and tax are spread over them to the last cent',
    rest: { method: 'POST', path: '/orders', status: 201 },
    input: OrderCreate,
    output: OrderPlaced,
    run: (context, input) => orderStep(context, () => placeOrder(context, input)),
  }),
  command({
    name: 'changeOrder',
    summary: 'Change the order; its costs only until something of it has come',
    rest: { method: 'PATCH', path: '/orders/:id' },
    input: OrderChange,
    output: OrderPlaced,
    run: (context, input) => orderStep(context, () => changeOrder(context, input)),
  }),
  command({
    name: 'archiveOrder',
    summary: 'Archive an order that was recorded by mistake; its lines must be cancelled and nothing received',
    rest: { method: 'DELETE', path: '/orders/:id' },
    input: z.strictObject({ id, version }),
    output: OrderPlaced,
    run: (context, input) =>
      orderStep(context, async () => {
        await lockOrder(context, input.id, true);
        const lines = await linesOfOrders(context, [input.id]);
        if (lines.some((line) => line.status !== 'cancelled'))
          throw new Conflict('lines-open', 'Cancel its lines first.');
        await changeRow(context.tx.order, 'order', input.id, input.version, { archivedAt: context.now });
        return input.id;
      }),
  }),
  command({
    name: 'createOrderLine',
    summary: 'Add a line to an order of which nothing has come',
    rest: { method: 'POST', path: '/orders/:id/lines', status: 201 },
    input: OrderLineCreate,
    output: OrderPlaced,
    run: (context, input) => orderStep(context, () => extendOrder(context, input)),
  }),
  command({
    name: 'cancelOrderLine',
    summary: 'Cancel what is still to come of a line',
    rest: { method: 'POST', path: '/order-lines/:id/cancel', status: 200 },
    creates: false,
    input: z.strictObject({ id, version }),
    output: OrderLineStep,
    async run(context, input) {
      const { effects } = await withCompletionEffects(context, async () => {
        const line = await lockLine(context, input.id);
        if (line.version !== input.version) throw new Outdated(line.version);
        await cancelSome(context, line, requireOutstanding(line));
      });
      return { id: input.id, line: await completeLine(context, input.id), effects };
    },
  }),
  command({
    name: 'recordPromise',
    summary: 'Record a day that the supplier names for a line, or that it no longer names one',
    roles: workers,
    rest: { method: 'POST', path: '/order-lines/:id/promises', status: 201 },
    input: PromiseGiven,
    output: PromiseRecorded,
    async run(context, input) {
      const { result, effects } = await withCompletionEffects(context, async () => {
        const line = await lockLine(context, input.id);
        requireOutstanding(line);
        const statedDate = asDate(
          requirePastDate(context, input.statedDate, '/statedDate', asDay(line.order.orderedDate)),
        );
        return addPromise(context, line.id, {
          promisedDate: input.promisedDate,
          statedDate,
          note: input.note ?? null,
          pointer: '',
        });
      });
      return { id: result.id, promise: result, line: await completeLine(context, input.id), effects };
    },
  }),
  command({
    name: 'recordReceipt',
    summary: 'Record what came for a line: good parts go into a bin and are held for the tasks that wait',
    roles: workers,
    rest: { method: 'POST', path: '/order-lines/:id/receipts', status: 201 },
    input: ReceiptGiven,
    output: ReceiptRecorded,
    async run(context, input) {
      const { result, effects } = await withCompletionEffects(context, () => receive(context, input));
      const stock = result.stockId
        ? at(await completeStock(context, [await findOne(context.tx.stock, 'stock', result.stockId)]), 0)
        : null;
      return {
        id: result.receipt.id,
        receipt: result.receipt,
        line: await completeLine(context, input.id),
        stock,
        effects,
      };
    },
  }),
  command({
    name: 'recordReturn',
    summary: 'Record what goes back to the supplier, what it pays back, and whether it sends another',
    roles: ownerOnly,
    rest: { method: 'POST', path: '/receipts/:id/returns', status: 201 },
    input: ReturnGiven,
    output: ReturnRecorded,
    async run(context, input) {
      const { result, effects } = await withCompletionEffects(context, () => sendBack(context, input));
      return {
        id: result.partReturn.id,
        partReturn: result.partReturn,
        line: await completeLine(context, result.orderLineId),
        effects,
      };
    },
  }),
  command({
    name: 'recordCoreReturn',
    summary: 'Record old parts sent back for their core charge: what is paid back comes off the cost of the new ones',
    rest: { method: 'POST', path: '/order-lines/:id/core-returns', status: 201 },
    input: CoreReturnGiven,
    output: CoreReturnRecorded,
    async run(context, input) {
      const coreReturn = await recordCores(context, input);
      return { id: coreReturn.id, coreReturn, line: await completeLine(context, input.id) };
    },
  }),
];

const outstandingLines = (context: OperationContext) =>
  context.tx.$queryRaw<{ id: string; orderId: string }[]>`
    select id, "orderId" from "OrderLine" where "quantityReceived" + "quantityCancelled" < "quantityOrdered"`;

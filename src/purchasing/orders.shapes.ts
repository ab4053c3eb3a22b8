import { z } from 'zod';
import { CompletionEffect } from '../platform/completion/completion-effects.shapes.js';
import {
  amount,
  choice,
  day,
  editableFields,
  id,
  instant,
  int,
  longText,
  priced,
  quantity,
  recordFields,
  shape,
  text,
  version,
} from '../platform/shapes.js';
import { Stock } from '../stock/stock.shapes.js';

export const SpreadMethod = choice('SpreadMethod', ['byValue', 'equal']);
export const ReceiptCondition = choice('ReceiptCondition', ['good', 'wrong', 'damaged']);
export const OrderLineStatus = choice('OrderLineStatus', ['onOrder', 'backOrdered', 'received', 'cancelled']);

export const Order = shape(
  'Order',
  {
    ...editableFields,
    supplierId: id,
    reference: z.string().nullable(),
    orderedDate: day,
    shippingCost: priced,
    taxCost: priced,
    spreadMethod: SpreadMethod,
    notes: z.string().nullable(),
    status: OrderLineStatus,
    goodsCost: priced.meta({ priced: true, description: 'Price times quantity of what was not cancelled.' }),
    unspreadCost: priced.meta({
      priced: true,
      description: 'Shipping and tax that lie on no part, because its line was cancelled after others had come.',
    }),
    refunded: priced.meta({ priced: true, description: 'Paid back for parts that were sent back.' }),
    coreCharges: priced.meta({
      priced: true,
      description: 'Charges for old parts, of what was not cancelled, whether paid back or not.',
    }),
    coresRefunded: priced.meta({ priced: true, description: 'Of them, paid back for old parts that were sent in.' }),
    totalCost: priced.meta({
      priced: true,
      description:
        'Goods, core charges, shipping and tax less refunds. What was sent back for good counts with its price and its refund.',
    }),
    archivedAt: instant.nullable(),
  },
  'An order at a supplier. It is back-ordered when any line is, on order while any is outstanding, cancelled when every line was.',
);

export const OrderLine = shape(
  'OrderLine',
  {
    ...editableFields,
    orderId: id,
    partId: id,
    quantityOrdered: z.number(),
    quantityReceived: z.number(),
    quantityCancelled: z.number(),
    quantityOutstanding: z.number(),
    status: OrderLineStatus,
    backOrdered: z
      .boolean()
      .meta({ description: 'Outstanding, and the promise has moved later, has passed, or was withdrawn.' }),
    firstPromisedDate: day.nullable(),
    promisedDate: day.nullable().meta({ description: 'The latest promise; null when none stands.' }),
    slipDays: int(-100_000, 100_000).nullable().meta({
      scalar: 'Int',
      description:
        'From the first promised day to the latest, or to today when that has passed; null when no day stands.',
    }),
    unitPrice: priced,
    shippingShare: priced,
    taxShare: priced,
    coreCharge: priced.meta({
      priced: true,
      description: 'For each, paid on top of the price until the old part is sent back.',
    }),
    coresReturned: z.number().meta({ description: 'Old parts sent back.' }),
    coresToReturn: z.number().meta({ description: 'Old parts that may still be sent back for their charge.' }),
    coreRefunded: priced.meta({ priced: true, description: 'Paid back so far for old parts.' }),
    landedUnitCost: priced.meta({
      priced: true,
      description:
        "Price, core charge and the line's shares of shipping and tax, less what was paid back for cores and " +
        'for pieces that were replaced, a piece; null when the whole line was cancelled.',
    }),
  },
  'So many of one part on an order.',
);

const LineGiven = shape('OrderLineGiven', {
  partId: id,
  quantity,
  unitPrice: amount,
  coreCharge: amount
    .default('0')
    .meta({ scalar: 'Money', description: 'For each, on top of the price, paid back when the old part is sent in.' }),
  promisedDate: day.nullish().meta({ scalar: 'Day', description: 'What the supplier says at once.' }),
  partNeedIds: z.array(id).max(50).default([]).meta({ description: "The tasks' needs that it is for." }),
});
const orderFields = {
  reference: text(80).nullish(),
  orderedDate: day,
  shippingCost: amount,
  taxCost: amount,
  spreadMethod: SpreadMethod,
  notes: longText.nullish(),
};
export const OrderCreate = z.strictObject({
  supplierId: id,
  ...orderFields,
  orderedDate: day.nullish().meta({ scalar: 'Day', description: 'Today unless said.' }),
  shippingCost: amount.default('0'),
  taxCost: amount.default('0'),
  spreadMethod: SpreadMethod.default('byValue'),
  lines: z.array(LineGiven).min(1).max(100),
});
export const OrderChange = z.strictObject({ id, version, ...z.object(orderFields).partial().shape });
export const OrderLineCreate = z.strictObject({
  id,
  ...LineGiven.shape,
  shippingCost: amount
    .nullish()
    .meta({ scalar: 'Money', description: "The order's shipping from now on, when the line changes it." }),
  taxCost: amount
    .nullish()
    .meta({ scalar: 'Money', description: "The order's tax from now on, when the line changes it." }),
});

export const SupplierPromise = shape(
  'SupplierPromise',
  {
    ...recordFields,
    orderLineId: id,
    sequence: int(1, 1_000_000),
    statedDate: day,
    promisedDate: day.nullable(),
    note: z.string().nullable(),
  },
  'A day the supplier has named for a line, in sequence; no day means that the date was withdrawn.',
);
export const PromiseGiven = z.strictObject({
  id,
  promisedDate: day.nullable().meta({ scalar: 'Day', description: 'Null when the supplier no longer names a day.' }),
  statedDate: day.nullish().meta({ scalar: 'Day', description: 'Today unless said.' }),
  note: text().nullish(),
});

export const Receipt = shape(
  'Receipt',
  {
    ...recordFields,
    orderLineId: id,
    receivedDate: day,
    quantity: z.number(),
    condition: ReceiptCondition,
    bin: z.string().nullable(),
    stockId: id.nullable(),
    note: z.string().nullable(),
  },
  'What came in the post for a line. Wrong and damaged parts do not count as received.',
);
export const ReceiptGiven = z.strictObject({
  id,
  quantity,
  condition: ReceiptCondition.default('good'),
  bin: text(60).nullish().meta({ description: 'Where good parts go; needed for them.' }),
  receivedDate: day.nullish().meta({ scalar: 'Day', description: 'Today unless said.' }),
  note: text().nullish(),
});

export const PartReturn = shape(
  'PartReturn',
  {
    ...recordFields,
    receiptId: id,
    returnedDate: day,
    quantity: z.number(),
    supplierRefund: priced,
    replacementExpected: z.boolean(),
    reason: z.string().nullable(),
  },
  'What was sent back to the supplier, and what was paid back for it.',
);
export const ReturnGiven = z.strictObject({
  id,
  quantity,
  supplierRefund: amount.default('0').meta({
    scalar: 'Money',
    description:
      "What is paid back. Where another is sent for it, the line's parts cost so much less, those " +
      'in the bins and on jobs too; one that is charged again is ordered anew.',
  }),
  replacementExpected: z.boolean().default(true).meta({ description: 'When not, so many are cancelled on the line.' }),
  returnedDate: day.nullish().meta({ scalar: 'Day', description: 'Today unless said.' }),
  reason: text().nullish(),
});

export const CoreReturn = shape(
  'CoreReturn',
  {
    ...recordFields,
    orderLineId: id,
    returnedDate: day,
    quantity: z.number(),
    supplierRefund: priced,
    note: z.string().nullable(),
  },
  'Old parts sent back to the supplier for their core charge.',
);
export const CoreReturnGiven = z.strictObject({
  id,
  quantity,
  supplierRefund: amount
    .nullish()
    .meta({ scalar: 'Money', description: 'What was paid back; the whole charge unless said.' }),
  returnedDate: day.nullish().meta({ scalar: 'Day', description: 'Today unless said.' }),
  note: text().nullish(),
});

const effects = z.array(CompletionEffect);
export const OrderPlaced = shape(
  'OrderPlaced',
  { order: Order, lines: z.array(OrderLine), effects },
  'An order as it now stands, and how it moved completion.',
);
export const OrderLineStep = shape(
  'OrderLineStep',
  { line: OrderLine, effects },
  'An order line after a step, and how the step moved completion.',
);
export const PromiseRecorded = shape('PromiseRecorded', { promise: SupplierPromise, line: OrderLine, effects });
export const ReceiptRecorded = shape('ReceiptRecorded', {
  receipt: Receipt,
  line: OrderLine,
  stock: Stock.nullable(),
  effects,
});
export const ReturnRecorded = shape('ReturnRecorded', { partReturn: PartReturn, line: OrderLine, effects });
export const CoreReturnRecorded = shape(
  'CoreReturnRecorded',
  { coreReturn: CoreReturn, line: OrderLine },
  'Cores sent back, and the line whose parts now cost less.',
);

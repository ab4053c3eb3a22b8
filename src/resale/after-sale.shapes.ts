/** What follows a sale, and what parts and scrap bring. */
import { z } from 'zod';
import {
  amount,
  day,
  id,
  money,
  priced,
  quantity,
  recordFields,
  shape,
  text,
  wholeNumber,
} from '../platform/shapes.js';

const requirePastDate = day.nullish().meta({ scalar: 'Day', description: 'Today unless given.' });
const reversedDate = day.nullable();

export const CustomerRefund = shape(
  'Refund',
  {
    ...recordFields,
    saleId: id,
    refundedDate: day,
    amount: priced.meta({ priced: true, description: 'Of the price.' }),
    taxRefund: priced.meta({
      priced: true,
      description:
        'The tax that goes with it: sales tax is given back to the buyer on top of the amount, margin-scheme tax is no longer owed.',
    }),
    machineReturned: z.boolean(),
    reason: z.string(),
    reversedDate,
  },
  'Money paid back to the buyer of a machine: part of the price, or all of it when the machine came back.',
);
export const CustomerRefundCreate = z.strictObject({
  saleId: id,
  amount: amount.meta({ scalar: 'Money', description: 'Of the price; sales tax on it goes back on top.' }),
  machineReturned: z.boolean().default(false).meta({
    description:
      "Whether the buyer brought the machine back: then it is the shop's again, and a new job can be opened on it.",
  }),
  refundedDate: requirePastDate,
  reason: text(300),
});

export const PartSale = shape(
  'PartSale',
  {
    ...recordFields,
    stockId: id,
    soldDate: day,
    quantity: z.number(),
    price: priced.meta({ priced: true, description: 'For all of them.' }),
    taxCollected: priced.meta({
      priced: true,
      description: 'Sales tax taken on top of the price, or the tax that the margin scheme takes out of it.',
    }),
    sellingCost: priced,
    cost: priced.meta({ priced: true, description: 'Their basis, which left the bin with them.' }),
    margin: priced.meta({ priced: true, description: 'Price less the tax in it, cost of selling and basis.' }),
    buyer: z.string().nullable(),
    channel: z.string().nullable(),
    note: z.string().nullable(),
    invoiceId: id.nullable().meta({ scalar: 'ID', description: 'The same for all lines of one invoice.' }),
    reversedDate,
  },
  'Parts sold out of a bin.',
);
export const PartSaleCreate = z.strictObject({
  stockId: id,
  quantity,
  price: amount.meta({
    scalar: 'Money',
    description:
      'What the buyer paid for all of them; sales tax comes on top. Under the margin scheme tax is inside: ' +
      'on the margin over what a donor was bought for, on the whole price of a part that was bought as such.',
  }),
  sellingCost: amount.default('0'),
  soldDate: requirePastDate,
  buyer: text(120).nullish(),
  channel: text(120).nullish(),
  note: text(400).nullish(),
});

export const PartInvoiceCreate = z.strictObject({
  lines: z
    .array(PartSaleCreate.pick({ stockId: true, quantity: true, price: true }).meta({ id: 'PartInvoiceLineGiven' }))
    .min(1)
    .max(100),
  soldDate: requirePastDate,
  buyer: text(120).nullish(),
  channel: text(120).nullish(),
  note: text(400).nullish(),
});
export const PartInvoice = shape(
  'PartInvoice',
  {
    invoiceId: id,
    lines: z.array(PartSale),
    total: money.meta({ scalar: 'Money', description: 'Of the prices of its lines.' }),
    tax: money.meta({ scalar: 'Money', description: 'Its lines bear it between them, to the minor unit.' }),
    amountDue: money,
    reasons: z.array(z.string()),
  },
  'Parts sold on one invoice.',
);

export const ScrapSale = shape(
  'ScrapSale',
  {
    ...recordFields,
    machineId: id,
    soldDate: day,
    proceeds: priced,
    buyer: z.string().nullable(),
    note: z.string().nullable(),
    reversedDate,
  },
  'What was left of a machine, sold as scrap.',
);
export const ScrapSaleCreate = z.strictObject({
  machineId: id,
  proceeds: amount.meta({ scalar: 'Money', description: 'What it left for the shop, after tax and the way there.' }),
  soldDate: requirePastDate,
  buyer: text(120).nullish(),
  note: text(400).nullish(),
});

export const Undoing = z.strictObject({ id, reason: text(200) });

export const MachineResult = shape(
  'MachineResult',
  {
    machineId: id,
    purchase: money.meta({ scalar: 'Money', description: 'Its share of its acquisition: price, haul and fees.' }),
    work: money.meta({
      scalar: 'Money',
      description: 'What was paid out on all of its jobs, warranty too, and for selling it.',
    }),
    sold: money.meta({ scalar: 'Money', description: 'What its sales left after tax and what was paid back.' }),
    partsTaken: money.meta({ scalar: 'Money', description: 'What jobs were charged with for parts off it.' }),
    partsSold: money.meta({
      scalar: 'Money',
      description: 'What parts off it were sold for, after tax and cost of selling.',
    }),
    partsOnHand: money.meta({ scalar: 'Money', description: 'The basis of parts off it that still lie in bins.' }),
    scrap: money.meta({ scalar: 'Money', description: 'What its remains brought.' }),
    result: money.meta({
      scalar: 'Money',
      description:
        "All that it brought, parts on hand at their basis, less purchase and work. The owner's own time and the space are not in it.",
    }),
    labourMinutes: wholeNumber,
    reasons: z.array(z.string()),
  },
  'What a machine has brought and cost over all of its jobs: sold, returned, worked on under warranty, taken apart or scrapped.',
);

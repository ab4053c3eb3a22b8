import { z } from 'zod';
import { choice, day, id, money, recordFields, shape } from '../platform/shapes.js';

const kinds =
  'Paid out: consumable; selling (advertising, delivery, fees); other. Paid to the shop: refund, ' +
  'what a supplier or anybody but the buyer gave back, which lowers the cost.';
export const LedgerKind = choice(
  'LedgerKind',
  [
    'part',
    'consumable',
    'selling',
    'supplierRefund',
    'saleProceeds',
    'customerRefund',
    'tax',
    'other',
    'deposit',
    'depositApplied',
    'depositReturned',
    'depositForfeited',
    'purchase',
  ],
  `${kinds} Booked with their own records: part, a part used; saleProceeds, what a buyer paid; refund, ` +
    `what was paid back to a buyer, which lowers the margin; tax, the tax within the price; deposit, ` +
    `held for a buyer until it is depositApplied (part of the price), depositReturned or depositForfeited (kept, which lowers the cost); ` +
    `purchase, what its machine was bought for, on its first job, corrected by later entries.`,
);
/** What a person writes by hand; the other kinds are booked together with a part used, a sale or a refund. */
export const WrittenKind = choice(
  'WrittenKind',
  ['consumable', 'selling', 'supplierRefund', 'other'],
  `${kinds} Money paid back to the buyer of a machine is none of these: record a refund of the sale.`,
);

export const LedgerEntry = shape(
  'LedgerEntry',
  {
    ...recordFields,
    jobId: id,
    kind: LedgerKind,
    amount: money,
    occurredDate: day,
    description: z.string(),
    reversesId: id.nullable(),
    partNeedId: id.nullable().meta({ scalar: 'ID', description: 'The part need that was charged.' }),
    coatId: id.nullable().meta({ scalar: 'ID', description: 'The coat whose paint was charged.' }),
    taskId: id.nullable().meta({ scalar: 'ID', description: 'The task that makes a part of the material charged.' }),
    saleId: id.nullable().meta({ scalar: 'ID', description: 'The sale that it was booked with.' }),
    customerRefundId: id
      .nullable()
      .meta({ scalar: 'ID', description: 'The refund to a buyer that it was booked with.' }),
    buyerOfferId: id.nullable().meta({ scalar: 'ID', description: "The buyer's offer whose deposit it is." }),
  },
  'One immutable amount of money against a job.',
);

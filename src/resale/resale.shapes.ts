import { z } from 'zod';
import { condition, Equipment, EquipmentGiven, MachineInLot, MachineKind } from '../machines/machines.shapes.js';
import {
  amount,
  choice,
  day,
  decimal,
  editableFields,
  id,
  instant,
  int,
  priced,
  recordFields,
  shape,
  storedAsJson,
  text,
} from '../platform/shapes.js';

export const PriceKind = choice('PriceKind', ['asking', 'sold']);

const comparableFields = {
  kind: MachineKind,
  maker: text(80),
  model: text(80).nullish(),
  yearEstimate: int(1900, 2200).nullish(),
  clearingWidthMillimetres: int(1, 10_000).nullish(),
  condition,
  priceKind: PriceKind,
  price: amount,
  seenDate: day,
  place: text(120).nullish(),
  distanceKilometres: decimal(0, 20_000).nullish(),
  note: text(400).nullish(),
  equipment: z
    .array(EquipmentGiven)
    .max(40)
    .optional()
    .meta({ description: 'What it had fitted beyond the usual, or lacked.' }),
};
const maybeInt = z.number().int().nullable().meta({ scalar: 'Int' });
export const Comparable = shape(
  'Comparable',
  {
    ...editableFields,
    kind: MachineKind,
    maker: z.string(),
    model: z.string().nullable(),
    yearEstimate: maybeInt,
    clearingWidthMillimetres: maybeInt,
    condition,
    priceKind: PriceKind,
    price: priced,
    seenDate: day,
    place: z.string().nullable(),
    distanceKilometres: z.number().nullable(),
    note: z.string().nullable(),
    equipment: storedAsJson(z.array(Equipment)),
    warnings: storedAsJson(z.array(z.string())).meta({
      description: 'What seemed odd when it was recorded: seen before, or far from the others. It counts all the same.',
    }),
    archivedAt: instant.nullable(),
  },
  'A seen asking or sold price of a similar machine.',
);
export const ComparableCreate = z.strictObject(comparableFields);
export const ComparableChange = z.strictObject(z.object(comparableFields).partial().shape);

export const Offer = shape(
  'Offer',
  {
    ...editableFields,
    jobId: id,
    askPrice: priced,
    reservationPrice: priced.meta({
      priced: true,
      description: 'Below this, not selling is better: as it stood when the offer was made or changed.',
    }),
    offeredDate: day,
    channel: z.string().nullable(),
    withdrawnDate: day.nullable(),
    note: z.string().nullable(),
  },
  'A machine offered at an asking price.',
);
const offerFields = {
  askPrice: amount,
  reservationPrice: amount.nullish(),
  channel: text(120).nullish(),
  note: text(400).nullish(),
};
export const OfferCreate = z.strictObject({
  jobId: id,
  ...offerFields,
  offeredDate: day.nullish().meta({ scalar: 'Day', description: 'Today unless given.' }),
});
export const OfferChange = z.strictObject({
  ...z.object(offerFields).partial().shape,
  askFromDate: day
    .nullish()
    .meta({ scalar: 'Day', description: 'From when a changed askPrice has stood; today unless given.' }),
});
export const AskChange = shape(
  'AskChange',
  { ...recordFields, offerId: id, fromDate: day, askPrice: priced },
  'What was asked from a day on.',
);

export const TradeInGiven = shape(
  'TradeInGiven',
  {
    allowance: amount.meta({ scalar: 'Money', description: 'What is taken off for it: it is bought at that.' }),
    ...MachineInLot.pick({
      kind: true,
      maker: true,
      model: true,
      serial: true,
      yearEstimate: true,
      clearingWidthMillimetres: true,
      condition: true,
    }).shape,
    sellerClaims: text(400).nullish(),
  },
  'A machine that the buyer gives in part payment: an acquisition of its own.',
);

export const Sale = shape(
  'Sale',
  {
    ...recordFields,
    jobId: id,
    soldDate: day,
    price: priced,
    taxCollected: priced.meta({
      priced: true,
      description:
        'Sales tax taken on top of the price, or the tax that the margin scheme takes out of it; on what the buyer finally paid.',
    }),
    sellingCost: priced,
    buyer: z.string().nullable(),
    channel: z.string().nullable(),
    note: z.string().nullable(),
    condition,
    equipment: storedAsJson(z.array(Equipment)),
    buyerOfferId: id.nullable(),
    tradeInAllowance: priced.meta({ priced: true, description: 'What was taken off for a machine taken in trade.' }),
    tradeInAcquisitionId: id.nullable().meta({ scalar: 'ID', description: 'What came in so.' }),
    tradeInLowersTax: z.boolean().meta({ description: 'Whether sales tax was on the price less that.' }),
    amountDue: priced.meta({
      priced: true,
      description: 'Handed over on the day: price and sales tax on top, less trade-in and deposit.',
    }),
    customerRefundTotal: priced.meta({ priced: true, description: 'Of the price, paid back to the buyer.' }),
    returnedDate: day.nullable().meta({ description: 'The day on which the buyer brought the machine back.' }),
    reversedDate: day.nullable(),
  },
  'A machine sold.',
);
export const SaleCreate = z.strictObject({
  jobId: id,
  soldDate: day.nullish().meta({ scalar: 'Day', description: 'Today unless given.' }),
  price: amount.meta({
    scalar: 'Money',
    description: 'What the buyer paid for the machine; sales tax comes on top, margin-scheme tax is inside.',
  }),
  sellingCost: amount.default('0'),
  buyer: text(120).nullish(),
  channel: text(120).nullish(),
  note: text(400).nullish(),
  condition: condition.nullish().meta({
    scalar: 'Int',
    description: 'What it was sold as; 4 once its job is finished, else as the machine is, unless given.',
  }),
  buyerOfferId: id
    .nullish()
    .meta({ scalar: 'ID', description: 'The offer it was sold on; its deposit is set against the price.' }),
  tradeIn: TradeInGiven.nullish(),
});

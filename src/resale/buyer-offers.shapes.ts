import { z } from 'zod';
import { amount, choice, day, editableFields, id, priced, shape, text } from '../platform/shapes.js';

export const BuyerOfferStatus = choice('BuyerOfferStatus', ['open', 'accepted', 'refused', 'withdrawn']);
export const DepositStatus = choice(
  'DepositStatus',
  ['held', 'applied', 'returned', 'forfeited'],
  'held: the buyer can still have it back; applied: part of the price of the sale; returned: given back; forfeited: kept.',
);
export const DepositOutcome = choice('DepositOutcome', ['returned', 'forfeited']);

export const BuyerOffer = shape(
  'BuyerOffer',
  {
    ...editableFields,
    jobId: id,
    offeredDate: day,
    amount: priced,
    buyer: z.string().nullable(),
    note: z.string().nullable(),
    status: BuyerOfferStatus,
    decidedDate: day.nullable(),
    counterPrice: priced.nullable(),
    holdUntilDate: day.nullable().meta({ description: 'Until when the machine is held for the buyer.' }),
    deposit: priced,
    depositStatus: DepositStatus.nullable(),
  },
  'What a buyer offered for a machine. Record every one, the refused too: how many buyers come is learnt from them.',
);
const fields = {
  buyer: text(120)
    .nullish()
    .meta({ description: 'As little as is needed to know them again; it can be erased later.' }),
  note: text(400).nullish(),
  holdUntilDate: day.nullish(),
};
export const BuyerOfferCreate = z.strictObject({
  jobId: id,
  amount,
  offeredDate: day.nullish().meta({ scalar: 'Day', description: 'Today unless given.' }),
  ...fields,
});
export const BuyerOfferChange = z.strictObject(z.object(fields).partial().shape);

/** A person's data taken out of what was bought and sold, while money and dates stay. */
import { z } from 'zod';
import { lookUp } from '../engine/look-up.js';
import { command, type OperationContext } from '../platform/operation/operation.js';
import { changeRow, findOne } from '../platform/operation/stored.js';
import { choice, id, shape } from '../platform/shapes.js';

export const PersonalRecord = choice('PersonalRecord', ['sale', 'buyerOffer', 'partSale', 'scrapSale', 'acquisition']);
const ErasedPersonalData = shape(
  'ErasedPersonalData',
  {
    record: PersonalRecord,
    id,
    fields: z.array(z.string()).meta({ description: 'What was erased wherever it is kept.' }),
    reasons: z.array(z.string()),
  },
  "What was erased of a person's data, and what stays.",
);

type Kind = z.output<typeof PersonalRecord>;

/** The fields that may tell who somebody is. */
const fieldsOf: Record<Kind, readonly string[]> = {
  sale: ['buyer', 'note'],
  buyerOffer: ['buyer', 'note'],
  partSale: ['buyer', 'note'],
  scrapSale: ['buyer', 'note'],
  acquisition: ['seller', 'place', 'sellerClaims', 'notes'],
};

/** Empties the record's own fields, and those of what belongs to it. @returns ids of all of them */
const erase: Record<Kind, (context: OperationContext, recordId: string) => Promise<string[]>> = {
  async sale({ tx, ...context }, recordId) {
    const sale = await findOne(tx.sale, 'sale', recordId);
    await tx.sale.update({ where: { id: sale.id }, data: { buyer: null, note: null } });
    const refunds = await tx.customerRefund.findMany({ where: { saleId: sale.id }, select: { id: true } });
    await tx.customerRefund.updateMany({ where: { saleId: sale.id }, data: { reason: 'erased' } });
    // The offer that it was sold on is the same person's.
    const offers = sale.buyerOfferId ? await erase.buyerOffer({ tx, ...context }, sale.buyerOfferId) : [];
    return [sale.id, ...refunds.map((refund) => refund.id), ...offers];
  },
  async buyerOffer({ tx }, recordId) {
    const offer = await findOne(tx.buyerOffer, 'buyer offer', recordId);
    await changeRow(tx.buyerOffer, 'buyer offer', offer.id, offer.version, { buyer: null, note: null });
    return [offer.id];
  },
  async partSale({ tx }, recordId) {
    const sale = await findOne(tx.partSale, 'sale of parts', recordId);
    await tx.partSale.update({ where: { id: sale.id }, data: { buyer: null, note: null } });
    return [sale.id];
  },
  async scrapSale({ tx }, recordId) {
    const sale = await findOne(tx.scrapSale, 'sale as scrap', recordId);
    await tx.scrapSale.update({ where: { id: sale.id }, data: { buyer: null, note: null } });
    return [sale.id];
  },
  async acquisition({ tx }, recordId) {
    const bought = await findOne(tx.acquisition, 'acquisition', recordId);
    await changeRow(tx.acquisition, 'acquisition', bought.id, bought.version, {
      seller: null,
      place: null,
      sellerClaims: null,
      notes: null,
    });
    return [bought.id];
  },
};

/** The same record within a reply, wherever it stands in it, with those fields emptied. */
function withoutFields(value: unknown, ids: ReadonlySet<string>, fields: readonly string[]): unknown {
  if (Array.isArray(value)) return value.map((one) => withoutFields(one, ids, fields));
  if (value === null || typeof value !== 'object') return value;
  const isErased = ids.has((value as { id?: string }).id ?? '');
  return Object.fromEntries(
    Object.entries(value).map(([key, one]) => [
      key,
      isErased && fields.includes(key) ? (key === 'reason' ? 'erased' : null) : withoutFields(one, ids, fields),
    ]),
  );
}

/** Replies are kept so that a repeated request gets the first one again; they hold what was recorded. */
async function eraseReplies({ tx }: OperationContext, ids: readonly string[], fields: readonly string[]) {
  const replies = await tx.$queryRaw<{ id: string; reply: unknown }[]>`
    SELECT id, reply FROM "IdempotentReply" WHERE reply::text ~ ${ids.join('|')}`;
  for (const { id: replyId, reply } of replies) {
    const kept = typeof reply === 'string' ? (JSON.parse(reply) as unknown) : reply;
    await tx.idempotentReply.update({
      where: { id: replyId },
      data: { reply: JSON.stringify(withoutFields(kept, new Set(ids), fields)) },
    });
  }
}

export const personalDataOperations = [
  command({
    name: 'erasePersonalData',
    summary:
      "Erase a person's data in a sale, an offer or an acquisition: in the record, what was said of it since, " +
      'and kept replies; money and dates stay',
    rest: { method: 'POST', path: '/personal-data/erase', status: 200 },
    creates: false,
    input: z.strictObject({ record: PersonalRecord, id }),
    output: ErasedPersonalData,
    async run(context, { record, id: recordId }) {
      const ids = await lookUp(new Map(Object.entries(erase)), record)(context, recordId);
      const fields = [...fieldsOf[record], ...(record === 'sale' ? ['reason'] : [])];
      // After the change itself, which the audit has just noted with what stood there before.
      await context.tx.$executeRaw`SELECT erase_history(${ids}::uuid[], ${fields}::text[])`;
      await eraseReplies(context, ids, fields);
      return {
        record,
        id: recordId,
        fields,
        reasons: [
          'Amounts, days, tax and the machine stay: the books are kept whole',
          'An invoice that the law asks for must go on showing what it has to, often name and address of the buyer ' +
            '(in the EU article 226 of Directive 2006/112/EC), for as long as books are kept: keep it outside this ' +
            'service for that time, and ask the authority or an accountant',
          `Backups made before ${context.today} still hold it: delete them when they are no longer needed, ` +
            'and erase again after restoring one',
        ],
      };
    },
  }),
];

/** The ledger: amounts written once, taken back only by their opposite. */
import { z } from 'zod';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import { type Call, command, type Presentable, priceReaders } from '../platform/operation/operation.js';
import { asDate, asDay, records } from '../platform/operation/crud-operations.js';
import { amount, day, id, text } from '../platform/shapes.js';
import { LedgerEntry, LedgerKind, WrittenKind } from '../cost/cost.shapes.js';

export interface LedgerLine {
  jobId: string;
  kind: z.output<typeof LedgerKind>;
  /** A decimal string above zero. */
  amount: string;
  occurredOn: string;
  description: string;
  sourceId?: string | null;
}

/** Writes one entry. @throws Invalid for an amount the currency does not have; NotFound for a job that is not this shop's */
export async function writeEntry(call: Call, line: LedgerLine): Promise<Presentable> {
  const value = checkAmount(line.amount, call.shop.currency, '/amount');
  if (!value.greaterThan(0)) throw new Invalid([{ detail: 'must be above zero', pointer: '/amount' }]);
  if (line.occurredOn > call.today) throw new Invalid([{ detail: 'lies in the future', pointer: '/occurredOn' }]);
  const job = await call.tx.job.findFirst({ where: { id: line.jobId }, select: { id: true } });
  if (!job) throw new NotFound('job', line.jobId);
  return call.tx.ledgerEntry.create({
    data: {
      shopId: call.shop.id,
      jobId: line.jobId,
      kind: line.kind,
      amount: value.toString(),
      occurredOn: asDate(line.occurredOn),
      description: line.description,
      sourceId: line.sourceId ?? null,
    },
  });
}

/** Writes the exact opposite of an entry, on the same job. @throws Conflict when it is a reversal or was reversed */
export async function reverseEntry(call: Call, entryId: string, reason: string): Promise<Presentable> {
  const entry = await call.tx.ledgerEntry.findFirst({
    where: { id: entryId },
    include: { reversedBy: { select: { id: true } } },
  });
  if (!entry) throw new NotFound('ledger entry', entryId);
  if (entry.reversesId)
    throw new Conflict('already-reversed', 'This entry is itself a reversal; write the amount anew instead.');
  if (entry.reversedBy) throw new Conflict('already-reversed', 'This entry has already been reversed.');
  return call.tx.ledgerEntry.create({
    data: {
      shopId: call.shop.id,
      jobId: entry.jobId,
      kind: entry.kind,
      amount: entry.amount.negated(),
      occurredOn: asDate(call.today),
      description: `Reversal of "${entry.description}" of ${asDay(entry.occurredOn)}: ${reason}`,
      reversesId: entry.id,
      sourceId: entry.sourceId,
    },
  });
}

const elsewhere: Partial<Record<LedgerLine['kind'], string>> = {
  part: 'This was booked when a part was used; take the part back instead.',
  consumable: 'This was charged for a coat; change or retire the coat instead.',
  repayment: 'This was paid back to a buyer; reverse the repayment instead.',
};

export const ledgerOperations = [
  ...records({
    name: 'ledgerEntry',
    plural: 'ledgerEntries',
    what: 'ledger entry',
    rows: (tx) => tx.ledgerEntry,
    shape: LedgerEntry,
    readers: priceReaders,
    retires: false,
    filters: { jobId: id.nullish(), kind: LedgerKind.nullish(), from: day.nullish(), to: day.nullish() },
    where: (filters) => ({
      ...(filters.jobId ? { jobId: filters.jobId } : {}),
      ...(filters.kind ? { kind: filters.kind } : {}),
      occurredOn: {
        ...(filters.from ? { gte: asDate(filters.from as string) } : {}),
        ...(filters.to ? { lte: asDate(filters.to as string) } : {}),
      },
    }),
    sorts: ['occurredOn', 'createdAt'],
    standardSort: '-occurredOn',
  }),
  command({
    name: 'createLedgerEntry',
    summary: 'Write an amount of money against a job; it is corrected by reversal only',
    rest: { method: 'POST', path: '/ledger-entries', status: 201 },
    input: z.strictObject({
      jobId: id,
      kind: WrittenKind,
      amount,
      occurredOn: day.nullish().meta({ scalar: 'Day', description: 'Today unless given.' }),
      description: text(300),
    }),
    output: LedgerEntry,
    async run(call, input) {
      const retired = await call.tx.job.count({ where: { id: input.jobId, retiredAt: { not: null } } });
      if (retired > 0) throw new Conflict('retired', 'This job was retired and is only kept for history.');
      return writeEntry(call, { ...input, occurredOn: input.occurredOn ?? call.today });
    },
  }),
  command({
    name: 'reverseLedgerEntry',
    summary: 'Take an amount back by writing its opposite',
    rest: { method: 'POST', path: '/ledger-entries/:id/reversal', status: 201 },
    input: z.strictObject({ id, reason: text(200) }),
    output: LedgerEntry,
    run: async (call, input) => {
      const entry = await call.tx.ledgerEntry.findFirst({
        where: { id: input.id },
        select: { kind: true, sourceId: true },
      });
      // What another area booked with its own record is taken back there, or the two would part. Material for making a
      // part here has no record of its own to take back.
      const isMaterial =
        entry?.kind === 'part' && (await call.tx.partNeed.count({ where: { id: entry.sourceId ?? '' } })) === 0;
      if (entry && !isMaterial && (entry.sourceId || !WrittenKind.options.includes(entry.kind as never))) {
        throw new Conflict(
          'booked-elsewhere',
          elsewhere[entry.kind] ?? 'This was booked with a sale; reverse the sale instead.',
        );
      }
      return reverseEntry(call, input.id, input.reason);
    },
  }),
];

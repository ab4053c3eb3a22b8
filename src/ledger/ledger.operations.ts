/** The ledger: amounts written once, taken back only by their opposite. */
import { z } from 'zod';
import { Conflict, Invalid, NotFound } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import { asDate, asDay } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { command, type OperationContext, priceReaders } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';
import { amount, day, id, text } from '../platform/shapes.js';
import { LedgerEntry, LedgerKind, WrittenKind } from './ledger.shapes.js';

/** What booked an entry, where another record did. */
export type LedgerCause =
  | { partNeedId: string }
  | { coatId: string }
  /** Material for a part made or repaired here. */
  | { taskId: string }
  | { saleId: string }
  | { customerRefundId: string }
  | { buyerOfferId: string };

export interface LedgerLine {
  jobId: string;
  kind: z.output<typeof LedgerKind>;
  /** A decimal string above zero. */
  amount: string;
  occurredDate: string;
  description: string;
  cause?: LedgerCause;
}

/** Writes one entry. @throws Invalid for an amount the currency does not have; NotFound for a job that is not this shop's */
export async function writeEntry(context: OperationContext, line: LedgerLine): Promise<Stored<'ledgerEntry'>> {
  const value = checkAmount(line.amount, context.shop.currency, '/amount');
  if (!value.greaterThan(0)) throw new Invalid([{ detail: 'must be above zero', pointer: '/amount' }]);
  if (line.occurredDate > context.today)
    throw new Invalid([{ detail: 'lies in the future', pointer: '/occurredDate' }]);
  const job = await context.tx.job.findFirst({ where: { id: line.jobId }, select: { id: true } });
  if (!job) throw new NotFound('job', line.jobId);
  return context.tx.ledgerEntry.create({
    data: {
      shopId: context.shop.id,
      jobId: line.jobId,
      kind: line.kind,
      amount: value.toString(),
      occurredDate: asDate(line.occurredDate),
      description: line.description,
      ...line.cause,
    },
  });
}

/** Writes the exact opposite of an entry, on the same job. @throws Conflict when it is a reversal or was reversed */
export async function reverseEntry(
  context: OperationContext,
  entryId: string,
  reason: string,
): Promise<Stored<'ledgerEntry'>> {
  const entry = await context.tx.ledgerEntry.findFirst({
    where: { id: entryId },
    include: { reversedBy: { select: { id: true } } },
  });
  if (!entry) throw new NotFound('ledger entry', entryId);
  if (entry.reversesId)
    throw new Conflict('already-reversed', 'This entry is itself a reversal; write the amount anew instead.');
  if (entry.reversedBy) throw new Conflict('already-reversed', 'This entry has already been reversed.');
  return context.tx.ledgerEntry.create({
    data: {
      shopId: context.shop.id,
      jobId: entry.jobId,
      kind: entry.kind,
      amount: entry.amount.negated(),
      occurredDate: asDate(context.today),
      description: `Reversal of "${entry.description}" of ${asDay(entry.occurredDate)}: ${reason}`,
      reversesId: entry.id,
      partNeedId: entry.partNeedId,
      coatId: entry.coatId,
      taskId: entry.taskId,
      saleId: entry.saleId,
      customerRefundId: entry.customerRefundId,
      buyerOfferId: entry.buyerOfferId,
    },
  });
}

const causes = {
  partNeedId: true,
  coatId: true,
  taskId: true,
  saleId: true,
  customerRefundId: true,
  buyerOfferId: true,
} as const;
type Causes = Record<keyof typeof causes, string | null>;

const causeOf = (entry: Causes): string | null =>
  entry.partNeedId ?? entry.coatId ?? entry.taskId ?? entry.saleId ?? entry.customerRefundId ?? entry.buyerOfferId;

const elsewhere: Partial<Record<LedgerLine['kind'], string>> = {
  part: 'This was booked when a part was used; take the part back instead.',
  consumable: 'This was charged for a coat; change or archive the coat instead.',
  deposit: "This deposit belongs to a buyer's offer; withdraw the offer instead.",
  depositReturned: "This belongs to a buyer's offer and stays as it was.",
  depositForfeited: "This belongs to a buyer's offer and stays as it was.",
  other: 'This was booked with another record and stays with it.',
  purchase: 'This is what the machine was bought for; correct its acquisition instead.',
  customerRefund: 'This was paid back to a buyer; reverse the refund instead.',
};

export const ledgerOperations = [
  ...crudOperations({
    name: 'ledgerEntry',
    plural: 'ledgerEntries',
    what: 'ledger entry',
    table: 'ledgerEntry',
    shape: LedgerEntry,
    readers: priceReaders,
    archives: false,
    filters: { jobId: id.nullish(), kind: LedgerKind.nullish(), from: day.nullish(), to: day.nullish() },
    where: (filters) => ({
      ...(filters.jobId ? { jobId: filters.jobId } : {}),
      ...(filters.kind ? { kind: filters.kind } : {}),
      occurredDate: {
        ...(filters.from ? { gte: asDate(filters.from) } : {}),
        ...(filters.to ? { lte: asDate(filters.to) } : {}),
      },
    }),
    sorts: ['occurredDate', 'createdAt'],
    standardSort: '-occurredDate',
  }),
  command({
    name: 'createLedgerEntry',
    summary: 'Write an amount of money against a job; it is corrected by reversal only',
    rest: { method: 'POST', path: '/ledger-entries', status: 201 },
    input: z.strictObject({
      jobId: id,
      kind: WrittenKind,
      amount,
      occurredDate: day.nullish().meta({ scalar: 'Day', description: 'Today unless given.' }),
      description: text(300),
    }),
    output: LedgerEntry,
    async run(context, input) {
      const archived = await context.tx.job.count({ where: { id: input.jobId, archivedAt: { not: null } } });
      if (archived > 0) throw new Conflict('archived', 'This job was archived and is only kept for history.');
      return writeEntry(context, { ...input, occurredDate: input.occurredDate ?? context.today });
    },
  }),
  command({
    name: 'reverseLedgerEntry',
    summary: 'Take an amount back by writing its opposite',
    rest: { method: 'POST', path: '/ledger-entries/:id/reverse', status: 201 },
    input: z.strictObject({ id, reason: text(200) }),
    output: LedgerEntry,
    run: async (context, input) => {
      const entry = await context.tx.ledgerEntry.findFirst({
        where: { id: input.id },
        select: { kind: true, ...causes },
      });
      // What another area booked with its own record is taken back there, or the two would part. Material for making a
      // part here has no record of its own to take back.
      if (entry && !entry.taskId && (causeOf(entry) || !WrittenKind.options.some((kind) => kind === entry.kind))) {
        throw new Conflict(
          'booked-elsewhere',
          elsewhere[entry.kind] ?? 'This was booked with a sale; reverse the sale instead.',
        );
      }
      return reverseEntry(context, input.id, input.reason);
    },
  }),
];

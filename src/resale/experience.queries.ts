/** What the shop's own sold machines took, with what came after the sale: warranty, and jobs whose machine came back. */
import { Decimal } from 'decimal.js';
import { isBeyondWriting } from '../engine/money/index.js';
import type { MachineKind } from '../platform/database/client/enums.js';
import { toDecimal } from '../platform/money.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { labourByJob } from '../work/labour.js';

/** On average, of one kind. */
export interface Experience {
  jobs: number;
  cash: Decimal;
  /** What selling one cost. */
  selling: Decimal;
  minutes: number;
}

const none: Experience = { jobs: 0, cash: new Decimal(0), selling: new Decimal(0), minutes: 0 };

/** By kind of machine. Three statements, whatever is asked. */
export async function experienceWith(
  context: OperationContext,
  kinds: readonly MachineKind[],
): Promise<(kind: MachineKind) => Experience> {
  const jobs = await context.tx.job.findMany({
    where: {
      archivedAt: null,
      machine: { kind: { in: [...new Set(kinds)] } },
      OR: [{ outcome: { in: ['sold', 'returned'] } }, { purpose: 'warranty' }],
    },
    select: { id: true, outcome: true, machine: { select: { kind: true } } },
  });
  if (jobs.length === 0) return () => none;
  const ids = jobs.map((job) => job.id);
  const entries = await context.tx.ledgerEntry.findMany({
    where: { jobId: { in: ids }, kind: { in: ['part', 'consumable', 'other', 'supplierRefund', 'selling'] } },
    select: { jobId: true, kind: true, amount: true },
  });
  // One slip of older records would lead the mean of all.
  const mistyped = new Set(
    entries.filter((entry) => isBeyondWriting(toDecimal(entry.amount))).map((entry) => entry.jobId),
  );
  const labour = await labourByJob(context, ids);
  return (kind) => {
    const alike = jobs.filter((job) => job.machine.kind === kind && !mistyped.has(job.id));
    // What came after a sale adds to what the sold ones took; it is no further machine.
    const sold = alike.filter((job) => job.outcome === 'sold').length;
    if (sold === 0) return none;
    const its = new Set(alike.map((job) => job.id));
    const sum = (...kinds: string[]) =>
      Decimal.sum(
        0,
        ...entries
          .filter((entry) => its.has(entry.jobId) && kinds.includes(entry.kind))
          .map(({ amount }) => toDecimal(amount)),
      );
    const spent = sum('part', 'consumable', 'other').minus(sum('supplierRefund'));
    const minutes = [...its].reduce((all, id) => all + (labour.get(id)?.minutes ?? 0), 0);
    return {
      jobs: sold,
      cash: Decimal.max(0, spent).div(sold),
      selling: sum('selling').div(sold),
      minutes: Math.round(minutes / sold),
    };
  };
}

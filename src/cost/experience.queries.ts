/** What the shop's own sold machines took, each with what came after its sale: warranty, and jobs whose machine came back. */
import { Decimal } from 'decimal.js';
import { isBeyondWriting } from '../engine/money/index.js';
import type { MachineKind } from '../platform/database/client/enums.js';
import { toDecimal } from '../platform/money.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { labourByJob } from '../work/labour.js';

/** What one sold machine took over all of its jobs, warranty among them. */
export interface MachineEffort {
  /** Parts, consumables and the like, supplier refunds taken off. */
  cash: number;
  minutes: number;
  /** Components that were found to need repair or replacement. */
  faultyComponents: string[];
}

export interface Experience {
  /** One entry for each machine sold. */
  machines: MachineEffort[];
  /** What selling one cost, on average. */
  selling: Decimal;
}

const paidOut = ['part', 'consumable', 'other'];

/** By kind of machine. Four statements, whatever is asked. */
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
    select: {
      id: true,
      outcome: true,
      machineId: true,
      machine: { select: { kind: true } },
      findings: { where: { archivedAt: null, verdict: { in: ['repair', 'replace'] } }, select: { component: true } },
    },
  });
  const ids = jobs.map((job) => job.id);
  const entries = await context.tx.ledgerEntry.findMany({
    where: { jobId: { in: ids }, kind: { in: ['part', 'consumable', 'other', 'supplierRefund', 'selling'] } },
    select: { jobId: true, kind: true, amount: true },
  });
  const labour = await labourByJob(context, ids);
  // One slip of older records would lead the mean of all.
  const mistyped = new Set(
    entries.filter((entry) => isBeyondWriting(toDecimal(entry.amount))).map((entry) => entry.jobId),
  );
  const sumOf = (jobIds: ReadonlySet<string>, ledgerKinds: readonly string[]): Decimal =>
    Decimal.sum(
      0,
      ...entries
        .filter((entry) => jobIds.has(entry.jobId) && ledgerKinds.includes(entry.kind))
        .map(({ amount }) => toDecimal(amount)),
    );
  return (kind) => {
    const alike = jobs.filter((job) => job.machine.kind === kind && !mistyped.has(job.id));
    const sold = [...new Set(alike.filter((job) => job.outcome === 'sold').map((job) => job.machineId))];
    const machines = sold.map((machineId): MachineEffort & { selling: Decimal } => {
      const its = alike.filter((job) => job.machineId === machineId);
      const jobIds = new Set(its.map((job) => job.id));
      return {
        cash: Math.max(
          0,
          sumOf(jobIds, paidOut)
            .minus(sumOf(jobIds, ['supplierRefund']))
            .toNumber(),
        ),
        minutes: its.reduce((sum, { id }) => sum + (labour.get(id)?.minutes ?? 0), 0),
        faultyComponents: its.flatMap(({ findings }) => findings.map(({ component }) => component)),
        selling: sumOf(jobIds, ['selling']),
      };
    });
    return {
      machines: machines.map(({ selling: _, ...machine }) => machine),
      selling:
        machines.length === 0
          ? new Decimal(0)
          : Decimal.sum(...machines.map(({ selling }) => selling)).div(machines.length),
    };
  };
}

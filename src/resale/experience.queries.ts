/** What the shop's own sold machines took. */
import { Decimal } from 'decimal.js';
import { isBeyondWriting } from '../engine/money/index.js';
import type { MachineKind } from '../platform/database/client/enums.js';
import { figure } from '../platform/money.js';
import type { Call } from '../platform/operation/operation.js';
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
export async function experienceWith(call: Call, kinds: readonly MachineKind[]): Promise<(kind: MachineKind) => Experience> {
  const sold = await call.tx.job.findMany({ where: { outcome: 'sold', retiredAt: null, machine: { kind: { in: [...new Set(kinds)] } } }, select: { id: true, machine: { select: { kind: true } } } });
  if (sold.length === 0) return () => none;
  const ids = sold.map((job) => job.id);
  const entries = await call.tx.ledgerEntry.findMany({ where: { jobId: { in: ids }, kind: { in: ['part', 'consumable', 'other', 'refund', 'selling'] } }, select: { jobId: true, kind: true, amount: true } });
  // One slip of older records would lead the mean of all.
  const mistyped = new Set(entries.filter((entry) => isBeyondWriting(figure(entry.amount))).map((entry) => entry.jobId));
  const labour = await labourByJob(call, ids);
  return (kind) => {
    const its = new Set(sold.filter((job) => job.machine.kind === kind && !mistyped.has(job.id)).map((job) => job.id));
    if (its.size === 0) return none;
    const sum = (...kinds: string[]) => Decimal.sum(0, ...entries.filter((entry) => its.has(entry.jobId) && kinds.includes(entry.kind)).map(({ amount }) => figure(amount)));
    const spent = sum('part', 'consumable', 'other').minus(sum('refund'));
    const minutes = [...its].reduce((all, id) => all + (labour.get(id)?.minutes ?? 0), 0);
    return { jobs: its.size, cash: Decimal.max(0, spent).div(its.size), selling: sum('selling').div(its.size), minutes: Math.round(minutes / its.size) };
  };
}

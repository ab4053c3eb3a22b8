/** What jobs' machines were bought for, and which of a machine's jobs bears it. */
import { Decimal } from 'decimal.js';
import { allocate } from '../engine/money/index.js';
import { figure } from '../platform/money.js';
import type { Call } from '../platform/operation/operation.js';
import { asDay } from '../platform/operation/records.js';

export interface Purchase {
  /** What the machine was bought for, haul and fees included. */
  share: Decimal;
  /** What went over to parts taken off it. */
  harvested: Decimal;
  /** What the machine itself still stands for: its share less what went over. */
  left: Decimal;
  /**
   * The machine was bought once, so one job bears it: its first, jobs opened by mistake left out. A later one, as when a
   * kept machine is sold after all, starts at nothing, and all jobs together bear what was paid. Null when it has none.
   */
  borneBy: { id: string; number: number } | null;
  /** The price alone, without haul and fees: what a margin scheme reckons from, whichever job bears it. */
  purchasePrice: Decimal;
  /** The day from which it has stood here for this job: a machine's first job begins with its purchase, a later one with itself. */
  standsFrom: string;
}

/** What each job's machine was bought for, by job id: as many statements for one as for a hundred. */
export async function purchaseOf(call: Call, jobIds: string[]): Promise<Map<string, Purchase>> {
  const jobs = await call.tx.job.findMany({
    where: { id: { in: jobIds } },
    select: { id: true, openedOn: true, machineId: true, machine: { select: { jobs: { where: { retiredAt: null }, orderBy: { number: 'asc' }, take: 1, select: { id: true, number: true } } } } },
  });
  const machines = await purchaseOfMachines(call, jobs.map((job) => job.machineId));
  return new Map(
    jobs.map(({ id: jobId, openedOn, machineId, machine }) => {
      const { acquiredOn, ...bought } = machines.get(machineId)!;
      const borneBy = machine.jobs[0] ?? null;
      return [jobId, { ...bought, borneBy, standsFrom: acquiredOn && borneBy?.id === jobId ? acquiredOn : asDay(openedOn) }];
    }),
  );
}

type Bought = Pick<Purchase, 'share' | 'harvested' | 'left' | 'purchasePrice'> & { acquiredOn: string | null };

/** What machines were bought for, by machine id. */
export async function purchaseOfMachines(call: Call, machineIds: string[]): Promise<Map<string, Bought>> {
  const machines = await call.tx.machine.findMany({
    where: { id: { in: machineIds } },
    select: {
      id: true,
      acquisitionShare: true,
      acquisition: { select: { price: true, acquiredOn: true, machines: { select: { id: true, acquisitionShare: true }, orderBy: [{ createdAt: 'asc' }, { id: 'asc' }] } } },
      harvests: { select: { basisMoved: true } },
    },
  });
  return new Map(
    machines.map(({ id: machineId, acquisitionShare, acquisition, harvests }) => {
      const share = figure(acquisitionShare);
      const harvested = Decimal.sum(0, ...harvests.map((one) => figure(one.basisMoved)));
      return [
        machineId,
        {
          share,
          harvested,
          left: Decimal.max(0, share.minus(harvested)),
          purchasePrice: acquisition ? priceShare(acquisition, machineId, call.shop.currency) : share,
          acquiredOn: acquisition ? asDay(acquisition.acquiredOn) : null,
        },
      ];
    }),
  );
}

/** A machine's part of the price, as its share is of the whole cost: to the minor unit, so that all machines' parts add up to the price. */
function priceShare(acquisition: { price: { toString(): string }; machines: { id: string; acquisitionShare: { toString(): string } }[] }, machineId: string, currency: string): Decimal {
  const shares = acquisition.machines.map((one) => figure(one.acquisitionShare));
  if (shares.every((share) => share.isZero())) return new Decimal(0);
  return allocate(figure(acquisition.price), shares, currency)[acquisition.machines.findIndex((one) => one.id === machineId)]!;
}

/** What jobs' machines were bought for, and which of a machine's jobs bears it. */
import { Decimal } from 'decimal.js';
import { at, lookUp } from '../engine/look-up.js';
import { allocate, roundAmount } from '../engine/money/index.js';
import { toDecimal } from '../platform/money.js';
import { asDay } from '../platform/operation/columns.js';
import type { OperationContext } from '../platform/operation/operation.js';

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
  /**
   * What a margin scheme computes a sale with this job from, whichever job bears the purchase: the price alone, without haul
   * and fees, less the part of it that went over to parts taken off before and what was set against sales that came back.
   */
  purchasePrice: Decimal;
  /**
   * The day from which it has stood here for this job: a machine's first job begins with its purchase, a later one with
   * itself.
   */
  standsFrom: string;
}

/** What each job's machine was bought for, by job id: as many statements for one as for a hundred. */
export async function purchaseOf(context: OperationContext, jobIds: string[]): Promise<Map<string, Purchase>> {
  const jobs = await context.tx.job.findMany({
    where: { id: { in: jobIds } },
    select: {
      id: true,
      number: true,
      openedDate: true,
      machineId: true,
      sales: { where: { reversedDate: null }, select: { createdAt: true } },
      machine: {
        select: {
          harvests: { select: { basisMoved: true, createdAt: true } },
          jobs: {
            where: { archivedAt: null },
            orderBy: { number: 'asc' },
            select: {
              id: true,
              number: true,
              sales: {
                where: { reversedDate: null, returnedDate: { not: null }, taxScheme: 'marginScheme' },
                select: { price: true, customerRefundTotal: true },
              },
            },
          },
        },
      },
    },
  });
  const machines = await purchaseOfMachines(
    context,
    jobs.map((job) => job.machineId),
  );
  return new Map(
    jobs.map(({ id: jobId, number, openedDate, machineId, sales: [sale], machine }) => {
      const { acquiredDate, price, ...bought } = lookUp(machines, machineId);
      const first = machine.jobs[0];
      const borneBy = first ? { id: first.id, number: first.number } : null;
      // What is taken off a machine that came back changes nothing for the buyer who had it before.
      const harvested = Decimal.sum(
        0,
        ...machine.harvests
          .filter((one) => !sale || one.createdAt < sale.createdAt)
          .map((one) => toDecimal(one.basisMoved)),
      );
      const kept = Decimal.sum(
        0,
        ...machine.jobs
          .filter((job) => job.number < number)
          .flatMap((job) => job.sales.map((one) => toDecimal(one.price).minus(toDecimal(one.customerRefundTotal)))),
      );
      const purchasePrice = Decimal.max(
        0,
        priceOf({ share: bought.share, price }, bought.share.minus(harvested), context.shop.currency).minus(kept),
      );
      return [
        jobId,
        {
          ...bought,
          purchasePrice,
          borneBy,
          standsFrom: acquiredDate && borneBy?.id === jobId ? acquiredDate : asDay(openedDate),
        },
      ];
    }),
  );
}

type Bought = Pick<Purchase, 'share' | 'harvested' | 'left'> & {
  /** The machine's part of the price alone, without haul and fees. */
  price: Decimal;
  acquiredDate: string | null;
};

/** The price in some of what a machine was bought for: the same part of the price, to the minor unit. */
export const priceOf = (
  { share, price }: Pick<Bought, 'share' | 'price'>,
  basis: Decimal,
  currency: string,
): Decimal => (share.isZero() ? new Decimal(0) : roundAmount(Decimal.max(0, basis).times(price).div(share), currency));

/** What machines were bought for, by machine id. */
export async function purchaseOfMachines(
  context: OperationContext,
  machineIds: string[],
): Promise<Map<string, Bought>> {
  const machines = await context.tx.machine.findMany({
    where: { id: { in: machineIds } },
    select: {
      id: true,
      acquisitionShare: true,
      acquisition: {
        select: {
          price: true,
          acquiredDate: true,
          machines: { select: { id: true, acquisitionShare: true }, orderBy: [{ createdAt: 'asc' }, { id: 'asc' }] },
        },
      },
      harvests: { select: { basisMoved: true } },
    },
  });
  return new Map(
    machines.map(({ id: machineId, acquisitionShare, acquisition, harvests }) => {
      const share = toDecimal(acquisitionShare);
      const harvested = Decimal.sum(0, ...harvests.map((one) => toDecimal(one.basisMoved)));
      return [
        machineId,
        {
          share,
          harvested,
          left: Decimal.max(0, share.minus(harvested)),
          price: acquisition ? priceShare(acquisition, machineId, context.shop.currency) : share,
          acquiredDate: acquisition ? asDay(acquisition.acquiredDate) : null,
        },
      ];
    }),
  );
}

/**
 * A machine's part of the price, as its share is of the whole cost: to the minor unit, so that all machines' parts add
 * up to the price.
 */
function priceShare(
  acquisition: { price: { toString(): string }; machines: { id: string; acquisitionShare: { toString(): string } }[] },
  machineId: string,
  currency: string,
): Decimal {
  const shares = acquisition.machines.map((one) => toDecimal(one.acquisitionShare));
  if (shares.every((share) => share.isZero())) return new Decimal(0);
  return at(
    allocate(toDecimal(acquisition.price), shares, currency),
    acquisition.machines.findIndex((one) => one.id === machineId),
  );
}

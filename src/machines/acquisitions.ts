/** What came in together is paid for together: the split of an acquisition's cost over its machines. */
import { Decimal } from 'decimal.js';
import { at } from '../engine/look-up.js';
import { roundAmount, splitAcquisition } from '../engine/money/index.js';
import { Invalid, NotFound } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';
import { checkHarvested } from './harvest-basis.js';

export interface SplitMachine {
  valueAsFound?: string | null | undefined;
  share?: string | null | undefined;
}

/**
 * The cost of an acquisition over its machines, to the minor unit and adding up exactly.
 * By value where the machines' values as found are known; a machine without one counts as the mean of the others.
 * @param pointerTo where a machine stands in the input, for the fault's place
 * @throws Invalid when a manual split does not add up
 */
export function splitCost(
  total: Decimal,
  method: 'byValue' | 'equal' | 'manual',
  machines: readonly SplitMachine[],
  currency: string,
  pointerTo: (index: number) => string,
): Decimal[] {
  if (machines.length === 0) return [];
  if (method === 'manual') {
    const shares = machines.map((machine, index) => {
      if (machine.share === null || machine.share === undefined) {
        throw new Invalid([
          { detail: 'a manual split needs the share of every machine', pointer: `${pointerTo(index)}/share` },
        ]);
      }
      return checkAmount(machine.share, currency, `${pointerTo(index)}/share`);
    });
    const sum = Decimal.sum(...shares);
    if (!sum.equals(total)) {
      throw new Invalid([
        {
          detail: `the shares add up to ${sum.toString()}, but price, haul and fees together are ${total.toString()}`,
          pointer: pointerTo(0),
        },
      ]);
    }
    return shares;
  }
  return splitAcquisition(
    total,
    method,
    machines.map((machine) => machine.valueAsFound ?? null),
    currency,
  );
}

/** What the machines of an acquisition cost together. */
export const totalCostOf = ({
  price,
  haulCost,
  fees,
}: Record<'price' | 'haulCost' | 'fees', { toString(): string }>): Decimal =>
  Decimal.sum(...[price, haulCost, fees].map((one) => one.toString()));

/** What fetching it cost: as given, or computed from the distance. */
export function haulCostOf(
  given: string | null | undefined,
  kilometres: number,
  costPerKilometre: Decimal.Value,
  currency: string,
): Decimal {
  if (given !== null && given !== undefined) return new Decimal(given);
  return roundAmount(new Decimal(kilometres).times(costPerKilometre.toString()), currency);
}

/**
 * Holds an acquisition until the transaction ends, so that its machines and their shares are changed by one at a time.
 * Not against new machines' references to it (hence NO KEY): two who each add one would wait for each other for ever.
 * @throws NotFound
 */
export async function lockAcquisition(
  context: OperationContext,
  acquisitionId: string,
): Promise<Stored<'acquisition'>> {
  await context.tx.$queryRaw`SELECT 1 FROM "Acquisition" WHERE id = ${acquisitionId}::uuid FOR NO KEY UPDATE`;
  const acquisition = await context.tx.acquisition.findFirst({ where: { id: acquisitionId } });
  if (!acquisition) throw new NotFound('acquisition', acquisitionId);
  return acquisition;
}

/** An acquisition's machines in the order in which shares are given. */
export const machinesOf = (context: OperationContext, acquisitionId: string) =>
  context.tx.machine.findMany({ where: { acquisitionId }, orderBy: [{ createdAt: 'asc' }, { id: 'asc' }] });

/** Splits the acquisition anew over the machines it has now, and writes the shares. */
export async function resplit(context: OperationContext, acquisitionId: string): Promise<void> {
  const acquisition = await lockAcquisition(context, acquisitionId);
  if (acquisition.splitMethod === 'manual') return;
  const machines = await machinesOf(context, acquisition.id);
  const shares = splitCost(
    totalCostOf(acquisition),
    acquisition.splitMethod,
    machines.map((machine) => ({ valueAsFound: machine.valueAsFound?.toString() ?? null })),
    context.shop.currency,
    (index) => `/machines/${index}`,
  );
  await writeShares(context, machines, shares);
}

/** @throws Conflict when parts taken off a machine carry more than its new share */
export async function writeShares(
  context: OperationContext,
  machines: readonly Stored<'machine'>[],
  shares: readonly Decimal[],
): Promise<void> {
  const given = machines.map((machine, index) => ({ machine, share: at(shares, index) }));
  await checkHarvested(context, new Map(given.map(({ machine, share }) => [machine.id, share])));
  for (const { machine, share } of given) {
    if (share.equals(machine.acquisitionShare.toString())) continue;
    await context.tx.machine.update({
      where: { id: machine.id },
      data: { acquisitionShare: share.toString(), version: { increment: 1 } },
    });
  }
  // Where only price and haul were told apart anew, the shares stay and the price in them does not.
  await context.purchaseCorrected(machines.map((machine) => machine.id));
}

/** What came in together is paid for together: the split of an acquisition's cost over its machines. */
import { Decimal } from 'decimal.js';
import { roundAmount, splitAcquisition } from '../engine/money/index.js';
import { Invalid } from '../platform/errors.js';
import { checkHarvested } from '../parts/harvest.queries.js';
import type { Call, Presentable } from '../platform/operation/operation.js';

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
        throw new Invalid([{ detail: 'a manual split needs the share of every machine', pointer: `${pointerTo(index)}/share` }]);
      }
      return new Decimal(machine.share);
    });
    const sum = Decimal.sum(...shares);
    if (!sum.equals(total)) {
      throw new Invalid([{ detail: `the shares add up to ${sum.toString()}, but price and haul together are ${total.toString()}`, pointer: pointerTo(0) }]);
    }
    return shares;
  }
  return splitAcquisition(total, method, machines.map((machine) => machine.valueAsFound ?? null), currency);
}

/** What the acquisition cost in all: price and haul, the haul reckoned from the distance unless it was given. */
export function haulCostOf(given: string | null | undefined, kilometres: number, costPerKilometre: Decimal.Value, currency: string): Decimal {
  if (given !== null && given !== undefined) return new Decimal(given);
  return roundAmount(new Decimal(kilometres).times(costPerKilometre.toString()), currency);
}

/** Splits the acquisition anew over the machines it has now, and writes the shares. */
export async function resplit(call: Call, acquisition: Presentable): Promise<void> {
  if (acquisition.splitMethod === 'manual') return;
  const machines = await call.tx.machine.findMany({ where: { acquisitionId: acquisition.id }, orderBy: [{ createdAt: 'asc' }, { id: 'asc' }] });
  const total = new Decimal(acquisition.price.toString()).plus(acquisition.haulCost.toString());
  const shares = splitCost(
    total,
    acquisition.splitMethod,
    machines.map((machine) => ({ valueAsFound: machine.valueAsFound?.toString() ?? null })),
    call.shop.currency,
    (index) => `/machines/${index}`,
  );
  await checkHarvested(call, new Map(machines.map((machine, index) => [machine.id, shares[index]!])));
  for (const [index, machine] of machines.entries()) {
    if (shares[index]!.equals(machine.acquisitionShare.toString())) continue;
    await call.tx.machine.update({ where: { id: machine.id }, data: { acquisitionShare: shares[index]!.toString(), version: { increment: 1 } } });
  }
}

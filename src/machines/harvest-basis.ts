import { Decimal } from 'decimal.js';
import { lookUp } from '../engine/look-up.js';
import { minorUnits } from '../engine/money/index.js';
import { Conflict } from '../platform/errors.js';
import { toDecimal } from '../platform/money.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { lock } from '../platform/operation/rows.js';
import { machineName } from './machine-name.js';

/**
 * The acquisition cost that still lies on some machines: their share less what harvests have moved to parts.
 * @returns by machine id
 */
export async function basisLeft(
  context: OperationContext,
  machineIds: readonly string[],
): Promise<Map<string, Decimal>> {
  if (machineIds.length === 0) return new Map();
  const rows = await context.tx.$queryRaw<{ id: string; left: Decimal }[]>`
    select m.id, m."acquisitionShare" - coalesce(sum(h."basisMoved"), 0) as left
    from "Machine" m left join "Harvest" h on h."machineId" = m.id
    where m.id = any(${[...machineIds]}::uuid[]) group by m.id`;
  return new Map(rows.map((row) => [row.id, toDecimal(row.left)]));
}

/**
 * Sees to it that machines' new shares still cover what harvests have moved to parts: that cost lies in bins and on
 * jobs, and cannot be taken back. The machines stay locked, so that no harvest comes between.
 * @param shares by machine id
 * @throws Conflict naming the machine that would owe its parts more than it cost
 */
export async function checkHarvested(context: OperationContext, shares: ReadonlyMap<string, Decimal>): Promise<void> {
  const machineIds = [...shares.keys()];
  await lock(context, 'Machine', machineIds);
  for (const harvest of await context.tx.harvest.groupBy({
    by: ['machineId'],
    where: { machineId: { in: machineIds } },
    _sum: { basisMoved: true },
  })) {
    const gone = toDecimal(harvest._sum.basisMoved);
    const share = lookUp(shares, harvest.machineId);
    if (gone.lessThanOrEqualTo(share)) continue;
    const digits = minorUnits(context.shop.currency);
    const machine = await context.tx.machine.findUniqueOrThrow({ where: { id: harvest.machineId } });
    throw new Conflict(
      'harvested-beyond',
      `Parts taken off the ${machineName(machine)} carry ${gone.toFixed(digits)} of its cost, ` +
        `and its share would fall to ${share.toFixed(digits)}. Keep its share at least as high.`,
    );
  }
}

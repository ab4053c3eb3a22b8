import { Decimal } from 'decimal.js';
import type { Call } from '../platform/operation/operation.js';
import { figure } from './rows.js';

/**
 * The acquisition cost that still lies on some machines: their share less what harvests have moved to parts.
 * @returns by machine id
 */
export async function basisLeft(call: Call, machineIds: readonly string[]): Promise<Map<string, Decimal>> {
  if (machineIds.length === 0) return new Map();
  const rows = await call.tx.$queryRaw<{ id: string; left: Decimal }[]>`
    select m.id, m."acquisitionShare" - coalesce(sum(h."basisMoved"), 0) as left
    from "Machine" m left join "Harvest" h on h."machineId" = m.id
    where m.id = any(${[...machineIds]}::uuid[]) group by m.id`;
  return new Map(rows.map((row) => [row.id, figure(row.left)]));
}

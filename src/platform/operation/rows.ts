/** What the rows of this area have in common: groups, locks, the checks before them. */
import type { Transaction } from '../database/database.js';
import { Invalid, NotFound } from '../errors.js';
import type { OperationContext } from './operation.js';

type Lockable = 'Stock' | 'OrderLine' | 'PartNeed' | 'Machine' | 'Order';
const locks: Record<Lockable, (tx: Transaction, ids: string[]) => Promise<unknown>> = {
  Stock: (tx, ids) => tx.$queryRaw`select 1 from "Stock" where id = any(${ids}::uuid[]) order by id for update`,
  OrderLine: (tx, ids) => tx.$queryRaw`select 1 from "OrderLine" where id = any(${ids}::uuid[]) order by id for update`,
  PartNeed: (tx, ids) => tx.$queryRaw`select 1 from "PartNeed" where id = any(${ids}::uuid[]) order by id for update`,
  Machine: (tx, ids) => tx.$queryRaw`select 1 from "Machine" where id = any(${ids}::uuid[]) order by id for update`,
  Order: (tx, ids) => tx.$queryRaw`select 1 from "Order" where id = any(${ids}::uuid[]) order by id for update`,
};

/**
 * Holds rows until the transaction ends, so that what is read of them next stays true. Whoever needs several kinds
 * takes them in the order machine, order, order line, stock, need: then no two can wait for each other.
 */
export async function lock(context: OperationContext, table: Lockable, ids: readonly string[]): Promise<void> {
  if (ids.length > 0) await locks[table](context.tx, [...ids]);
}

/** @throws Invalid unless the day, which is today when not given, lies between `earliest` and today */
export function requirePastDate(
  context: OperationContext,
  given: string | null | undefined,
  pointer: string,
  earliest?: string,
): string {
  const day = given ?? context.today;
  if (day > context.today) throw new Invalid([{ detail: 'lies in the future', pointer }]);
  if (earliest !== undefined && day < earliest)
    throw new Invalid([{ detail: `must not lie before ${earliest}`, pointer }]);
  return day;
}

/** @throws NotFound unless the shop has them all; Invalid when one of them was archived */
export async function requireActiveParts(context: OperationContext, ids: readonly string[]): Promise<void> {
  const wanted = [...new Set(ids)];
  const found = await context.tx.part.findMany({
    where: { id: { in: wanted } },
    select: { id: true, name: true, archivedAt: true },
  });
  const missing = wanted.find((id) => !found.some((part) => part.id === id));
  if (missing) throw new NotFound('part', missing);
  const archived = found.find((part) => part.archivedAt);
  if (archived) throw new Invalid([{ detail: `the part "${archived.name}" was archived`, pointer: '/partId' }]);
}

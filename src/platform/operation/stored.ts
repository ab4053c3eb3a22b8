/** Stored rows of any table: read one or say that it is missing, change one that is still as the caller read it. */
import type { Prisma } from '../database/client/client.js';
import type { Transaction } from '../database/database.js';
import { NotFound, Outdated } from '../errors.js';

/** Prisma's name of a table. */
export type Table = Uncapitalize<Prisma.ModelName>;
/** A table's row as it is read. @typeParam N the relations fetched along */
export type Stored<T extends Table, N = object> = RowOf<Transaction[T], N>;
type RowOf<D, N> = Prisma.Result<D, { include: N }, 'findFirstOrThrow'>;
/** What may be written to a row. */
export type ColumnsToWrite<D> = Prisma.Args<D, 'updateMany'>['data'];

/** What is asked of every table alike. */
interface PlainDelegate {
  findFirst(query: object): Promise<{ id: string } | null>;
  findMany(query: object): Promise<{ id: string }[]>;
  create(query: object): Promise<{ id: string }>;
  updateMany(query: object): Promise<{ count: number }>;
}
// Prisma's delegates share no type, though each has these methods and every table an id.
export const plainly = (rows: unknown) => rows as PlainDelegate;

/** @throws NotFound when the shop has no such row */
export async function findOne<D, N extends object = object>(
  rows: D,
  what: string,
  rowId: string,
  include?: N,
): Promise<RowOf<D, N>> {
  const row = await plainly(rows).findFirst({ where: { id: rowId }, ...(include ? { include } : {}) });
  if (!row) throw new NotFound(what, rowId);
  // What Prisma's delegate of this table finds is a row of it.
  return row as unknown as RowOf<D, N>;
}

/**
 * Writes the columns if the row still has the version that the caller read.
 * @throws Outdated when somebody changed it since
 */
export async function changeRow<D>(
  rows: D,
  what: string,
  rowId: string,
  version: number,
  columns: ColumnsToWrite<D>,
): Promise<void> {
  const written = await plainly(rows).updateMany({
    where: { id: rowId, version },
    data: { ...(columns as object), version: { increment: 1 } },
  });
  if (written.count === 1) return;
  const current = await findOne(rows, what, rowId);
  // Only tables whose rows have a version are changed so.
  throw new Outdated((current as unknown as { version: number }).version);
}

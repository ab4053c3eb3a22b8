/**
 * The five operations every kind of record has: read one, list, create, change, archive. An area gives the
 * shapes and, where creating or changing means more than writing a row, its own function for that step.
 */
import { z } from 'zod';
import type { Prisma } from '../database/client/client.js';
import type { Transaction } from '../database/database.js';
import { Conflict, Forbidden } from '../errors.js';
import { correctionReason, id, int, isPriced, unwrapSchema } from '../shapes.js';
import { asColumns, columnOf, type Columns } from './columns.js';
import { command, everyone, type Operation, type OperationContext, ownerOnly, query, type Role } from './operation.js';
import { pageFields, pageOf, sortOf, sortShape } from './page.js';
import type { Row } from './row.js';
import { changeRow, type ColumnsToWrite, findOne, plainly, type Stored, type Table } from './stored.js';

/**
 * @typeParam T the table
 * @typeParam S the shape of a record, C of a new one, H of a change
 * @typeParam F the list's further arguments
 * @typeParam N the relations fetched along
 */
interface CrudDeclared<
  T extends Table,
  S extends z.ZodObject,
  C extends z.ZodObject,
  H extends z.ZodObject,
  F extends z.ZodRawShape,
  N extends object,
> {
  /** As in `supplier`, `suppliers`: the GraphQL fields, and by default the path. */
  name: string;
  plural: string;
  path?: string;
  /** What it is, in a few words for the summaries: `a supplier`. */
  what?: string;
  /** Where its rows are: Prisma's name of the table. */
  table: T;
  shape: S;
  create?: C;
  change?: H;
  /** Further arguments of the list, and the `where` they make. */
  filters?: F;
  where?(filters: Filters<F>, context: OperationContext): Where<T> | Promise<Where<T>>;
  sorts?: readonly NoInfer<Extract<keyof z.output<S>, string>>[];
  standardSort?: string;
  readers?: readonly Role[];
  writers?: readonly Role[];
  /** Rows can be archived: kept for history, left out of lists. */
  archives?: boolean;
  /** Archiving corrects what was recorded, so it must say why. */
  archiveNeedsReason?: boolean;
  /** Relations always fetched with the row because the shape holds them. */
  include?: N;
  /** Replaces the plain insert. */
  onCreate?(context: OperationContext, input: z.output<C>): Promise<Stored<T, N>>;
  /** Checks or completes the columns before a change is written. */
  onChange?(
    context: OperationContext,
    before: Stored<T, N>,
    columns: Columns<H>,
  ): Promise<ColumnsToWrite<Transaction[T]>>;
  /** What a change entails for other rows, once it has been written. */
  afterChange?(context: OperationContext, before: Stored<T, N>, after: Stored<T, N>): Promise<void>;
  /** Checks before a row is archived. */
  onArchive?(context: OperationContext, before: Stored<T, N>): Promise<void>;
}

/** Works out what no column holds: all rows of one reply at once, in their order, so that a list costs what one row costs. */
type Complete<R, S extends z.ZodType> = (
  context: OperationContext,
  rows: R[],
) => readonly Row<S>[] | Promise<readonly Row<S>[]>;
/** Where the columns alone do not make up the shape, something must complete them. */
type Completion<R, S extends z.ZodType> = [R] extends [Row<S>]
  ? { complete?: Complete<R, S> }
  : { complete: Complete<R, S> };

type Filters<F extends z.ZodRawShape> = { [K in keyof F]: F[K] extends z.ZodType ? z.output<F[K]> : never };
type Where<T extends Table> = Prisma.Args<Transaction[T], 'findMany'>['where'];

export function crudOperations<
  T extends Table,
  S extends z.ZodObject,
  C extends z.ZodObject,
  H extends z.ZodObject,
  F extends z.ZodRawShape,
  N extends object,
>(declared: CrudDeclared<T, S, C, H, F, N> & Completion<Stored<T, N>, S>): Operation[] {
  type R = Stored<T, N>;
  const { name, plural, table, shape, include } = declared;
  const what = declared.what ?? words(name);
  const path = declared.path ?? `/${dashed(plural)}`;
  const readers = declared.readers ?? everyone;
  const writers = declared.writers ?? ownerOnly;
  const archives = declared.archives ?? true;
  const Name = name.charAt(0).toUpperCase() + name.slice(1);
  const made: Operation[] = [];
  const rows = (context: OperationContext) => context.tx[table];
  const fetched = include ? { include } : {};
  // Without `complete` the rows are the shape's own: the type of the declaration sees to that.
  const complete = (context: OperationContext, found: R[]) =>
    (declared.complete as Complete<R, S> | undefined)?.(context, found) ?? (found as unknown as Row<S>[]);
  const completeOne = async (context: OperationContext, row: R): Promise<Row<S>> => {
    const [completed] = await complete(context, [row]);
    // One row in, one row out.
    return completed as Row<S>;
  };
  const readOne = (context: OperationContext, rowId: string) => findOne(rows(context), what, rowId, include);

  made.push(
    query({
      name,
      summary: `Read one ${what}`,
      roles: readers,
      rest: { method: 'GET', path: `${path}/:id` },
      input: z.strictObject({ id }),
      output: shape,
      run: async (context, input) => completeOne(context, await readOne(context, input.id)),
    }),
  );

  const sorts: readonly string[] = declared.sorts ?? ['createdAt'];
  const standardSort = declared.standardSort ?? sorts[0] ?? 'createdAt';
  made.push(
    query({
      name: plural,
      summary: `List ${words(plural)}`,
      roles: readers,
      rest: { method: 'GET', path },
      paged: true,
      input: z.strictObject({
        ...(declared.filters ?? {}),
        ...(archives
          ? { includeArchived: z.boolean().nullish().meta({ description: 'Also those that were archived.' }) }
          : {}),
        sort: sortShape(plural, sorts),
        ...pageFields,
      }),
      output: shape,
      async run(context, input) {
        const filters = input as Filters<F> & typeof input & { includeArchived?: boolean | null };
        const sort = sortOf(input.sort, standardSort);
        // The order would tell prices, and the cursors hold them.
        const sortedBy = shape.shape[sort.column] as z.ZodType | undefined;
        if (context.role === 'helper' && sortedBy && isPriced(unwrapSchema(sortedBy).metas))
          throw new Forbidden(`A helper key may not sort by ${sort.column}.`);
        const where = declared.where ? await declared.where(filters, context) : equalityWhere(declared.filters, input);
        const status = archives && !filters.includeArchived ? { archivedAt: null } : {};
        const page = await pageOf(input, sort, (bound, orderBy, take) =>
          plainly(rows(context)).findMany({ where: { AND: [where, status, bound ?? {}] }, orderBy, take, ...fetched }),
        );
        // What Prisma's delegate of this table finds is a row of it.
        const found = page.rows.map(({ node }) => node as unknown as R);
        const completed = await complete(context, found);
        // One row in, one row out.
        return { ...page, rows: page.rows.map(({ cursor }, index) => ({ cursor, node: completed[index] as Row<S> })) };
      },
    }),
  );

  const { create, change } = declared;
  if (create) {
    const insert = async (context: OperationContext, input: z.output<C>): Promise<R> =>
      // What Prisma's delegate of this table creates is a row of it.
      (await plainly(rows(context)).create({
        data: { shopId: context.shop.id, ...asColumns(create, input) },
        ...fetched,
      })) as unknown as R;
    made.push(
      command({
        name: `create${Name}`,
        summary: `Record a new ${what}`,
        roles: writers,
        rest: { method: 'POST', path, status: 201 },
        input: create,
        output: shape,
        run: async (context, input) => completeOne(context, await (declared.onCreate ?? insert)(context, input)),
      }),
    );
  }

  if (change) {
    made.push(
      command({
        name: `change${Name}`,
        summary: `Change the ${what}; only the fields sent are changed`,
        roles: writers,
        rest: { method: 'PATCH', path: `${path}/:id` },
        input: change.extend({ id, version: int(1, 2_000_000_000) }),
        output: shape,
        async run(context, raw) {
          const { id: rowId, version, ...fields } = raw as z.output<H> & { id: string; version: number };
          const before = await readOne(context, rowId);
          refuseArchived(before, what);
          // The rest of the input, without the two fields put to it here, is the change.
          const columns = asColumns(change, fields as unknown as z.output<H>);
          // A change without a step of its own names columns only; Prisma refuses any other.
          const written = declared.onChange
            ? await declared.onChange(context, before, columns)
            : (columns as ColumnsToWrite<Transaction[T]>);
          await changeRow(rows(context), what, rowId, version, written);
          if (declared.afterChange) await declared.afterChange(context, before, await readOne(context, rowId));
          return completeOne(context, await readOne(context, rowId));
        },
      }),
    );
  }

  if (archives && create) {
    made.push(
      command({
        name: `archive${Name}`,
        summary: `Archive the ${what}: kept for history, left out of lists`,
        roles: writers,
        rest: { method: 'DELETE', path: `${path}/:id` },
        input: z.strictObject({
          id,
          version: int(1, 2_000_000_000),
          ...(declared.archiveNeedsReason ? { reason: correctionReason } : {}),
        }),
        output: shape,
        async run(context, input) {
          const before = await readOne(context, input.id);
          refuseArchived(before, what);
          if (declared.onArchive) await declared.onArchive(context, before);
          // Every table whose rows are archived has this column.
          const archived = { archivedAt: context.now } as ColumnsToWrite<Transaction[T]>;
          await changeRow(rows(context), what, input.id, input.version, archived);
          return completeOne(context, await readOne(context, input.id));
        },
      }),
    );
  }
  return made;
}

function refuseArchived(row: unknown, what: string): void {
  if ((row as { archivedAt?: Date | null }).archivedAt)
    throw new Conflict('archived', `This ${what} was archived and is only kept for history.`);
}

function equalityWhere(filters: z.ZodRawShape | undefined, input: Record<string, unknown>): object {
  const where: Record<string, unknown> = {};
  for (const [key, field] of Object.entries((filters ?? {}) as Record<string, z.ZodType>)) {
    if (input[key] !== undefined && input[key] !== null) where[key] = columnOf(field, input[key]);
  }
  return where;
}

const words = (name: string): string => name.replace(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);
const dashed = (name: string): string => name.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`);

/**
 * The five operations every kind of record has: read one, list, create, change, archive. An area gives the
 * shapes and, where creating or changing means more than writing a row, its own function for that step.
 */
import { z } from 'zod';
import type { Transaction } from '../database/database.js';
import { Conflict, Forbidden, NotFound, Outdated } from '../errors.js';
import { id, int, isPriced, scalarOf, unwrapSchema } from '../shapes.js';
import {
  command,
  everyone,
  type Operation,
  type OperationContext,
  ownerOnly,
  type Presentable,
  query,
  type Role,
} from './operation.js';
import { pageFields, pageOf, sortOf, sortShape } from './page.js';

// Prisma's delegates share no common type; what is asked of them here is the same for each.
// eslint-disable-next-line @typescript-eslint/no-explicit-any
export type Delegate = any;

export interface RecordsDeclared {
  /** As in `supplier`, `suppliers`: the GraphQL fields, and by default the path. */
  name: string;
  plural: string;
  path?: string;
  /** What it is, in a few words for the summaries: `a supplier`. */
  what?: string;
  rows(tx: Transaction): Delegate;
  shape: z.ZodObject;
  create?: z.ZodObject;
  change?: z.ZodObject;
  /** Further arguments of the list, and the `where` they make. */
  filters?: z.ZodRawShape;
  where?(filters: Record<string, unknown>, context: OperationContext): object | Promise<object>;
  sorts?: readonly string[];
  standardSort?: string;
  readers?: readonly Role[];
  writers?: readonly Role[];
  /** Rows can be archived: kept for history, left out of lists. */
  archives?: boolean;
  /** Relations always fetched with the row because the shape holds them. */
  include?: object;
  /** Replaces the plain insert. */
  onCreate?(context: OperationContext, input: Presentable): Promise<Presentable>;
  /** Checks or completes the columns before a change is written. */
  onChange?(
    context: OperationContext,
    before: Presentable,
    columns: Record<string, unknown>,
  ): Promise<Record<string, unknown>>;
  /** What a change entails for other rows, once it has been written. */
  afterChange?(context: OperationContext, before: Presentable, after: Presentable): Promise<void>;
  /** Checks before a row is archived. */
  onArchive?(context: OperationContext, before: Presentable): Promise<void>;
}

export function records(declared: RecordsDeclared): Operation[] {
  const { name, plural, rows, shape, include } = declared;
  const what = declared.what ?? words(name);
  const path = declared.path ?? `/${dashed(plural)}`;
  const readers = declared.readers ?? everyone;
  const writers = declared.writers ?? ownerOnly;
  const archives = declared.archives ?? true;
  const Name = name[0]!.toUpperCase() + name.slice(1);
  const made: Operation[] = [];

  made.push(
    query({
      name,
      summary: `Read one ${what}`,
      roles: readers,
      rest: { method: 'GET', path: `${path}/:id` },
      input: z.strictObject({ id }),
      output: shape,
      run: (context, input) => findOne(rows(context.tx), what, input.id, include),
    }),
  );

  const sorts = declared.sorts ?? ['createdAt'];
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
      async run(context, raw) {
        const input = raw as Record<string, unknown>;
        const sort = sortOf(input.sort as string | undefined, declared.standardSort ?? sorts[0]!);
        // The order would tell prices, and the cursors hold them.
        if (context.role === 'helper' && isPriced(unwrapSchema(shape.shape[sort.column] as z.ZodType).metas))
          throw new Forbidden(`A helper key may not sort by ${sort.column}.`);
        const where = declared.where ? await declared.where(input, context) : equalityWhere(declared.filters, input);
        const status = archives && !input.includeArchived ? { archivedAt: null } : {};
        return pageOf(input, sort, (bound, orderBy, take) =>
          rows(context.tx).findMany({
            where: { AND: [where, status, bound ?? {}] },
            orderBy,
            take,
            ...(include ? { include } : {}),
          }),
        );
      },
    }),
  );

  if (declared.create) {
    made.push(
      command({
        name: `create${Name}`,
        summary: `Record a new ${what}`,
        roles: writers,
        rest: { method: 'POST', path, status: 201 },
        input: declared.create,
        output: shape,
        run: (context, input) =>
          declared.onCreate
            ? declared.onCreate(context, input)
            : rows(context.tx).create({
                data: { shopId: context.shop.id, ...asColumns(declared.create!, input) },
                ...(include ? { include } : {}),
              }),
      }),
    );
  }

  if (declared.change) {
    made.push(
      command({
        name: `change${Name}`,
        summary: `Change the ${what}; only the fields sent are changed`,
        roles: writers,
        rest: { method: 'PATCH', path: `${path}/:id` },
        input: declared.change.extend({ id, version: int(1, 2_000_000_000) }),
        output: shape,
        async run(context, raw) {
          const { id: rowId, version, ...fields } = raw as Record<string, unknown> & { id: string; version: number };
          const before = await findOne(rows(context.tx), what, rowId, include);
          refuseArchived(before, what);
          let columns = asColumns(declared.change!, fields);
          if (declared.onChange) columns = await declared.onChange(context, before, columns);
          await changeRow(rows(context.tx), what, rowId, version, columns);
          if (declared.afterChange)
            await declared.afterChange(context, before, await findOne(rows(context.tx), what, rowId, include));
          return findOne(rows(context.tx), what, rowId, include);
        },
      }),
    );
  }

  if (archives && declared.create) {
    made.push(
      command({
        name: `archive${Name}`,
        summary: `Archive the ${what}: kept for history, left out of lists`,
        roles: writers,
        rest: { method: 'DELETE', path: `${path}/:id` },
        input: z.strictObject({ id, version: int(1, 2_000_000_000) }),
        output: shape,
        async run(context, input) {
          const before = await findOne(rows(context.tx), what, input.id, include);
          refuseArchived(before, what);
          if (declared.onArchive) await declared.onArchive(context, before);
          await changeRow(rows(context.tx), what, input.id, input.version, { archivedAt: context.now });
          return findOne(rows(context.tx), what, input.id, include);
        },
      }),
    );
  }
  return made;
}

/** @throws NotFound when the shop has no such row */
export async function findOne(rows: Delegate, what: string, rowId: string, include?: object): Promise<Presentable> {
  const row = await rows.findFirst({ where: { id: rowId }, ...(include ? { include } : {}) });
  if (!row) throw new NotFound(what, rowId);
  return row;
}

/**
 * Writes the columns if the row still has the version that the caller read.
 * @throws Outdated when somebody changed it since
 */
export async function changeRow(
  rows: Delegate,
  what: string,
  rowId: string,
  version: number,
  columns: Record<string, unknown>,
): Promise<void> {
  const written = await rows.updateMany({
    where: { id: rowId, version },
    data: { ...columns, version: { increment: 1 } },
  });
  if (written.count === 1) return;
  const current = await findOne(rows, what, rowId);
  throw new Outdated(current.version as number);
}

function refuseArchived(row: Presentable, what: string): void {
  if (row.archivedAt) throw new Conflict('archived', `This ${what} was archived and is only kept for history.`);
}

/** Days as dates for Prisma; keys that were not sent stay out. */
export function asColumns(shape: z.ZodObject, input: Record<string, unknown>): Record<string, unknown> {
  const columns: Record<string, unknown> = {};
  for (const [key, field] of Object.entries(shape.shape as Record<string, z.ZodType>)) {
    const value = input[key];
    if (value !== undefined) columns[key] = columnOf(field, value);
  }
  return columns;
}

const columnOf = (field: z.ZodType, value: unknown): unknown =>
  typeof value === 'string' && scalarOf(unwrapSchema(field).metas) === 'Day' ? asDate(value) : value;

/** A plain day as Prisma stores it. */
export const asDate = (dayText: string): Date => new Date(`${dayText}T00:00:00Z`);
/** The plain day of a stored date. */
export const asDay = (date: Date): string => date.toISOString().slice(0, 10);

function equalityWhere(filters: z.ZodRawShape | undefined, input: Record<string, unknown>): object {
  const where: Record<string, unknown> = {};
  for (const [key, field] of Object.entries((filters ?? {}) as Record<string, z.ZodType>)) {
    if (input[key] !== undefined && input[key] !== null) where[key] = columnOf(field, input[key]);
  }
  return where;
}

const words = (name: string): string => name.replace(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);
const dashed = (name: string): string => name.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`);

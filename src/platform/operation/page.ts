/**
 * Pages of a list by key set: a cursor names the last row seen, so a page stays right while rows come and go,
 * and the hundredth page costs what the first one does.
 */
import { z } from 'zod';
import { Unreadable } from '../errors.js';
import { int, text } from '../shapes.js';

export const PAGE_DEFAULT = 50;
export const PAGE_MOST = 200;

/** The arguments every list takes beside its filters. */
export const pageFields = {
  first: int(0, PAGE_MOST)
    .nullish()
    .meta({ scalar: 'Int', description: `How many from the start of what follows; ${PAGE_DEFAULT} unless said.` }),
  after: text(400).nullish().meta({ description: 'A cursor: what comes after it.' }),
  last: int(0, PAGE_MOST).nullish().meta({ scalar: 'Int', description: 'How many from the end of what precedes.' }),
  before: text(400).nullish().meta({ description: 'A cursor: what comes before it.' }),
};

export interface PageRequest {
  first?: number | null | undefined;
  after?: string | null | undefined;
  last?: number | null | undefined;
  before?: string | null | undefined;
}

export interface Page<R> {
  rows: { node: R; cursor: string }[];
  hasNextPage: boolean;
  hasPreviousPage: boolean;
}

/** A column to sort by that is never null, and which way. */
export interface Sort {
  column: string;
  descending: boolean;
}

/** `name` or `-name` as a caller writes a sort, for a set of columns. */
export function sortShape(name: string, columns: readonly string[]) {
  const values = columns.flatMap((column) => [column, `-${column}`]) as [string, ...string[]];
  return z
    .enum(values)
    .nullish()
    .meta({ description: `One of ${columns.join(', ')}; a leading minus sorts downward. (${name})` });
}

export function sortOf(wanted: string | null | undefined, standard: string): Sort {
  const words = wanted ?? standard;
  return words.startsWith('-') ? { column: words.slice(1), descending: true } : { column: words, descending: false };
}

const nameOf = ({ column, descending }: Sort): string => (descending ? `-${column}` : column);

function cursorOf(row: { id: string }, sort: Sort): string {
  const value: unknown = row[sort.column as keyof typeof row];
  const plain =
    value instanceof Date ? { d: value.toISOString() } : typeof value === 'object' ? { n: String(value) } : value;
  return Buffer.from(JSON.stringify([nameOf(sort), plain, row.id])).toString('base64url');
}

/** A cursor is not signed: one made by hand may hold a value of another kind than its column, which only Prisma notices. */
function refuseForged(error: unknown): never {
  throw (error as Error).name === 'PrismaClientValidationError' ? badCursor() : error;
}

const badCursor = () =>
  new Unreadable('bad-cursor', 'The cursor was not made by this list in this order; start again without it.');

function readCursor(cursor: string, sort: Sort): { value: unknown; id: string } {
  try {
    const [order, plain, id] = JSON.parse(Buffer.from(cursor, 'base64url').toString('utf8')) as [
      string,
      unknown,
      string,
    ];
    if (order !== nameOf(sort) || !z.uuid().safeParse(id).success) throw new Error('another list');
    if (plain !== null && typeof plain === 'object') {
      if ('d' in plain) {
        const date = new Date(String(plain.d));
        if (Number.isNaN(date.getTime())) throw new Error('no date');
        return { value: date, id };
      }
      if ('n' in plain && /^-?\d{1,15}(\.\d+)?$/.test(String(plain.n))) return { value: String(plain.n), id };
      throw new Error('no value');
    }
    if (typeof plain !== 'number' && (typeof plain !== 'string' || plain.includes('\0') || !plain.isWellFormed()))
      throw new Error('no value');
    return { value: plain, id };
  } catch {
    throw badCursor();
  }
}

/**
 * @param request first/after/last/before as sent
 * @param sort the order; ties are broken by id
 * @param find given a Prisma `where` piece, an `orderBy` and how many, the rows
 */
export async function pageOf<R extends { id: string }>(
  request: PageRequest,
  sort: Sort,
  find: (where: object | undefined, orderBy: object[], take: number) => Promise<R[]>,
): Promise<Page<R>> {
  const backward =
    request.last !== null && request.last !== undefined && (request.first === null || request.first === undefined);
  const wanted = (backward ? request.last : request.first) ?? PAGE_DEFAULT;
  const beyond = (cursor: string, later: boolean): object => {
    const { value, id } = readCursor(cursor, sort);
    const way = later !== sort.descending ? 'gt' : 'lt';
    const idWay = later !== sort.descending ? 'gt' : 'lt';
    return { OR: [{ [sort.column]: { [way]: value } }, { [sort.column]: value, id: { [idWay]: id } }] };
  };
  const bounds: object[] = [];
  if (request.after) bounds.push(beyond(request.after, true));
  if (request.before) bounds.push(beyond(request.before, false));
  const direction = sort.descending !== backward ? 'desc' : 'asc';
  const orderBy = [{ [sort.column]: direction }, { id: direction }];
  const found =
    bounds.length === 0
      ? await find(undefined, orderBy, wanted + 1)
      : await find({ AND: bounds }, orderBy, wanted + 1).catch(refuseForged);
  const more = found.length > wanted;
  let kept = found.slice(0, wanted);
  if (backward) kept.reverse();
  let cutStart = false;
  // The connections algorithm applies `first`, then `last`.
  if (!backward && request.last !== null && request.last !== undefined && kept.length > request.last) {
    kept = kept.slice(kept.length - request.last);
    cutStart = true;
  }
  return {
    rows: kept.map((node) => ({ node, cursor: cursorOf(node, sort) })),
    hasNextPage: backward ? Boolean(request.before) : more,
    hasPreviousPage: backward ? more : cutStart || Boolean(request.after),
  };
}

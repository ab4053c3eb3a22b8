/** Tables in and out as CSV (RFC 4180): a column for each field, named after it. */
import { parse } from 'csv-parse/sync';
import { stringify } from 'csv-stringify/sync';
import type { z } from 'zod';
import { Invalid, Unreadable } from '../errors.js';
import { readQuery } from './query-string.js';

/**
 * @param entry the shape of a row, which gives each cell its kind; an empty cell is a field left out
 * @throws Unreadable for what is no table, Invalid for a column that the shape does not have
 */
export function entriesFromCsv(text: string, entry: z.ZodObject): Record<string, unknown>[] {
  let rows: Record<string, string>[];
  try {
    rows = parse(text, { columns: true, bom: true, skip_empty_lines: true, trim: true, max_record_size: 100_000 });
  } catch (error) {
    throw new Unreadable('bad-csv', `The table could not be read: ${(error as Error).message}`);
  }
  const unknown = Object.keys(rows[0] ?? {}).filter((column) => !Object.hasOwn(entry.shape, column));
  if (unknown.length > 0)
    throw new Invalid(
      unknown.map((column) => ({
        detail: `there is no column "${column.slice(0, 60)}"; there are ${Object.keys(entry.shape).join(', ')}`,
        pointer: '',
      })),
    );
  return rows.map((row) =>
    readQuery(
      entry,
      Object.fromEntries(
        Object.entries(row)
          .filter(([, cell]) => cell !== '')
          .map(([column, cell]) => [column, withoutGuard(cell)]),
      ),
    ),
  );
}

/** What a spreadsheet takes for a formula, unless it is a number: a name entered as =HYPERLINK(…) must stay a name. */
const FORMULA = /^[=+\-@\t\r]/;
const NUMBER = /^[+-]?\d+(\.\d+)?$/;
const guarded = (text: string): string => (FORMULA.test(text) && !NUMBER.test(text) ? `'${text}` : text);
/** As it was before, so that a table that was given out can be read again. */
const withoutGuard = (cell: string): string =>
  cell.startsWith("'") && guarded(cell.slice(1)) === cell ? cell.slice(1) : cell;

/** @param item the shape of a record: its fields are the columns; what holds several values is written as JSON */
export function csvOf(item: z.ZodObject, records: readonly Record<string, unknown>[]): string {
  const columns = Object.keys(item.shape);
  const cell = (value: unknown): string =>
    value === null || value === undefined
      ? ''
      : guarded(typeof value === 'object' ? JSON.stringify(value) : String(value));
  return stringify(
    records.map((record) => columns.map((column) => cell(record[column]))),
    { header: true, columns, record_delimiter: '\r\n' },
  );
}

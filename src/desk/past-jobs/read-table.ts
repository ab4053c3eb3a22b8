/** Reads a table of past machines as people keep it: any order of columns, several words for each, several ways to write. Pure. */
import { parse } from 'csv-parse/sync';
import type { z } from 'zod';
import { parseDay } from '../../engine/days.js';
import { at } from '../../engine/look-up.js';
import { Unreadable } from '../../platform/errors.js';
import { TaskKind } from '../../work/routes.shapes.js';

/** What a column may be taken for, with the headings that say so, lower case. */
const fields = {
  kind: ['kind', 'type', 'machine kind', 'machine type', 'what'],
  maker: ['maker', 'make', 'brand', 'manufacturer', 'made by'],
  model: ['model', 'model name'],
  description: ['description', 'words', 'known by', 'machine'],
  serial: ['serial', 'serial number', 'serial no'],
  year: ['year', 'model year', 'built'],
  engine: ['engine', 'motor'],
  source: ['source', 'from', 'bought at'],
  seller: ['seller', 'bought from'],
  acquired: ['acquired', 'bought', 'date bought', 'purchase date', 'bought on', 'acquired on', 'came in'],
  price: ['price', 'paid', 'bought for', 'purchase price', 'price paid', 'cost'],
  haulKilometres: ['haul km', 'haul kilometres', 'haul', 'km'],
  haulCost: ['haul cost', 'fetching', 'transport'],
  fees: ['fees', 'premium', 'auction fees'],
  opened: ['opened', 'started', 'job opened', 'work started'],
  finished: ['finished', 'done', 'work finished'],
  hours: ['hours', 'hours worked', 'labour hours', 'labor hours', 'time'],
  worker: ['worked by', 'worker', 'who'],
  parts: ['parts', 'parts cost'],
  paint: ['paint', 'paint cost', 'consumables'],
  other: ['other', 'other costs', 'expenses'],
  ask: ['asked', 'ask', 'asking price', 'asked for'],
  offered: ['offered', 'listed', 'listed on', 'offered on', 'date listed'],
  sold: ['sold', 'sold on', 'date sold', 'sale date'],
  salePrice: ['sold for', 'sale price', 'selling price', 'received'],
  sellingCost: ['selling cost', 'selling costs', 'sale fees'],
  buyer: ['buyer', 'sold to'],
  outcome: ['outcome', 'became', 'ended as'],
  closed: ['closed', 'closed on', 'ended', 'ended on'],
  condition: ['condition'],
  checkedBy: ['checked by', 'safety checked by'],
  checked: ['checked', 'checked on', 'safety checked'],
  notes: ['notes', 'note', 'remarks', 'comment'],
} as const;
export type Field = keyof typeof fields;

const taskKinds = TaskKind.options.filter((kind) => kind !== 'cure');
export type HoursKind = z.output<typeof TaskKind>;

export interface Column {
  header: string;
  field: Field | null;
  /** Of a column such as "hours strip". */
  hoursOf: HoursKind | null;
}
export interface TableRow {
  line: number;
  cells: Partial<Record<Field, string>>;
  hours: Partial<Record<HoursKind, string>>;
}

const plain = (text: string): string =>
  text
    .trim()
    .toLowerCase()
    .replace(/[_\s]+/g, ' ')
    .replace(/[:.()]/g, '')
    .trim();

function columnOf(header: string): Column {
  const name = plain(header);
  const hoursOf = taskKinds.find((kind) => name === `hours ${kind}` || name === `${kind} hours`) ?? null;
  const field = hoursOf
    ? null
    : ((Object.keys(fields) as Field[]).find((one) => (fields[one] as readonly string[]).includes(name)) ?? null);
  return { header, field, hoursOf };
}

/**
 * @returns the columns and the rows, empty cells and empty lines left out
 * @throws Unreadable `bad-csv` for what is no table, or one with two columns of one meaning
 */
export function readTable(csv: string): { columns: Column[]; rows: TableRow[] } {
  let records: { record: string[]; info: { lines: number } }[];
  const firstLine = csv.slice(0, csv.indexOf('\n') < 0 ? undefined : csv.indexOf('\n'));
  const delimiter = at(
    [',', ';', '\t'].sort((a, b) => firstLine.split(b).length - firstLine.split(a).length),
    0,
  );
  try {
    records = parse(csv, {
      bom: true,
      delimiter,
      skip_empty_lines: true,
      trim: true,
      relax_column_count: true,
      info: true,
      max_record_size: 100_000,
    }) as unknown as typeof records;
  } catch (error) {
    throw new Unreadable('bad-csv', `The table could not be read: ${(error as Error).message}`);
  }
  const [head, ...body] = records;
  if (!head) throw new Unreadable('bad-csv', 'The table is empty: its first line must name the columns.');
  const columns = head.record.map(columnOf);
  for (const [index, { header, field, hoursOf }] of columns.entries()) {
    const twin = columns.findIndex(
      (one) => (field !== null && one.field === field) || (hoursOf !== null && one.hoursOf === hoursOf),
    );
    if (twin >= 0 && twin < index)
      throw new Unreadable(
        'bad-csv',
        `The columns "${at(columns, twin).header}" and "${header}" say the same thing; leave one of them out.`,
      );
  }
  const rows = body
    .filter(({ record }) => record.some((cell) => cell !== ''))
    .map(({ record, info }): TableRow => {
      const row: TableRow = { line: info.lines, cells: {}, hours: {} };
      columns.forEach(({ field, hoursOf }, index) => {
        const cell = record[index];
        if (cell === undefined || cell === '') return;
        if (field) row.cells[field] = cell;
        if (hoursOf) row.hours[hoursOf] = cell;
      });
      return row;
    });
  return { columns, rows };
}

/** `1,240.50`, `59,70`, `$60`: decimal text; undefined for what is no amount. */
export function readAmount(text: string): string | undefined {
  const bare = text.replace(/^[^\d.,-]+|[^\d.,]+$/gu, '').replace(/\s/gu, '');
  const number = /^\d+,\d{1,2}$/.test(bare)
    ? bare.replace(',', '.')
    : /^\d{1,3}(\.\d{3})+,\d{1,2}$/.test(bare)
      ? bare.replaceAll('.', '').replace(',', '.')
      : bare.replace(/,(?=\d{3}(\D|$))/g, '');
  return /^\d+(\.\d+)?$/.test(number) ? number : undefined;
}

/** Hours as people write them: `14.5`, `14,5`, `14:30`, `2 h 15`. Whole minutes; undefined for what is none. */
export function readHours(text: string): number | undefined {
  const clock = /^(\d{1,4})\s*(?::|h)\s*(\d{1,2})?\s*(?:m|min)?$/i.exec(text.trim());
  if (clock) return Number(clock[1]) * 60 + Number(clock[2] ?? 0);
  const hours = Number(
    text
      .trim()
      .replace(',', '.')
      .replace(/\s*(h|hours)$/i, ''),
  );
  return Number.isFinite(hours) && hours >= 0 ? Math.round(hours * 60) : undefined;
}

export type DayOrder = 'dayFirst' | 'monthFirst';

/** Which of the two comes first in dates with slashes; null where nothing tells, 'both' where the file contradicts itself. */
export function dayOrderOf(cells: readonly string[]): DayOrder | 'both' | null {
  const pairs = cells.flatMap((cell) => {
    const match = /^(\d{1,2})[/-](\d{1,2})[/-](\d{4}|\d{2})$/.exec(cell.trim());
    return match ? [[Number(match[1]), Number(match[2])] as const] : [];
  });
  if (pairs.length === 0) return null;
  const [first, second] = [pairs.some(([one]) => one > 12), pairs.some(([, other]) => other > 12)];
  if (first && second) return 'both';
  return first ? 'dayFirst' : second ? 'monthFirst' : null;
}

/** `2025-04-03`, `3.4.2025`, `3/4/2025` by the file's order of day and month; YYYY-MM-DD, or undefined for no real day. */
export function readDate(text: string, order: DayOrder): string | undefined {
  const trimmed = text.trim();
  const iso = /^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})$/.exec(trimmed);
  const [, first = '', sign = '', second = '', ofYear = ''] =
    /^(\d{1,2})([/.-])(\d{1,2})\2(\d{4}|\d{2})$/.exec(trimmed) ?? [];
  if (!iso && !first) return undefined;
  const dayFirst = sign === '.' || order === 'dayFirst';
  const [year = '', month = '', day = ''] =
    iso?.slice(1) ?? (dayFirst ? [ofYear, second, first] : [ofYear, first, second]);
  const full = `${year.length === 2 ? `20${year}` : year}-${month.padStart(2, '0')}-${day.padStart(2, '0')}`;
  return parseDay(full) === undefined ? undefined : full;
}

const kinds: readonly (readonly [string, RegExp])[] = [
  ['singleStageThrower', /\b(single|one|1)[- ]?stage\b|^singleStageThrower$/i],
  ['twoStageThrower', /\b(two|2|double|three|3)[- ]?stage\b|^twoStageThrower$/i],
  ['walkBehindMower', /\bmower\b|^walkBehindMower$/i],
  ['other', /^other$|\btiller\b|\bblower\b|\btrimmer\b|\bsaw\b|\bgenerator\b|\bwasher\b|\bedger\b|\bchipper\b/i],
];
export const readKind = (text: string) =>
  kinds.find(([, words]) => words.test(text.trim()))?.[0] as
    'singleStageThrower' | 'twoStageThrower' | 'walkBehindMower' | 'other' | undefined;

/** Makes past jobs of a table's rows, and says of each what was understood and what was not. */
import { Decimal } from 'decimal.js';
import { at } from '../../engine/look-up.js';
import { minorUnits } from '../../engine/money/index.js';
import { kindWords, machineName } from '../../machines/machine-name.js';
import { asDate, asDay } from '../../platform/operation/columns.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { readShop } from '../../shop/shop.queries.js';
import { spreadHours, type Stretch } from './hours-spread.js';
import { PastJob } from './past-jobs.shapes.js';
import {
  type Column,
  type DayOrder,
  dayOrderOf,
  type Field,
  type HoursKind,
  readAmount,
  readDate,
  readHours,
  readKind,
  readTable,
  type TableRow,
} from './read-table.js';

export interface UnderstoodRow {
  line: number;
  understood: string | null;
  faults: string[];
  notes: string[];
  /** None while there are faults. */
  job: PastJob | null;
}
export interface UnderstoodTable {
  columns: { header: string; understoodAs: string | null }[];
  rows: UnderstoodRow[];
}

const dateFields = ['acquired', 'opened', 'finished', 'offered', 'sold', 'closed', 'checked'] as const;
const moneyFields = [
  'price',
  'haulCost',
  'fees',
  'parts',
  'paint',
  'other',
  'ask',
  'salePrice',
  'sellingCost',
] as const;
const MOST_ROWS = 500;

interface Known {
  order: DayOrder;
  people: { id: string; name: string }[];
  /** What was planned for a kind of task on a kind of machine, by the shop's routes. */
  planned: ReadonlyMap<string, number>;
  taken: Map<string, Stretch[]>;
  onRecord: { key: string; number: number }[];
}

/** @throws Unreadable for what is no table */
export async function understandTable(context: OperationContext, csv: string): Promise<UnderstoodTable> {
  const { columns, rows } = readTable(csv);
  const dates = rows.flatMap((row) => dateFields.flatMap((field) => row.cells[field] ?? []));
  const told = dayOrderOf(dates);
  const shop = await readShop(context);
  const order =
    told === 'dayFirst' || told === 'monthFirst' ? told : shop.unitSystem === 'imperial' ? 'monthFirst' : 'dayFirst';
  const known: Known = {
    order,
    people: await context.tx.person.findMany({
      where: { archivedAt: null },
      select: { id: true, name: true },
      orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
    }),
    planned: await plannedMinutes(context),
    taken: await labourTaken(context, rows, order),
    onRecord: await jobsOnRecord(context),
  };
  const seen = new Map<string, number>();
  // Earlier ones first, so that remembered hours are laid out in the order in which they were worked.
  const understood = rows.slice(0, MOST_ROWS).map((row) => understandRow(context, row, known, seen));
  if (told === 'both')
    for (const row of understood)
      row.faults.push(
        'Dates with slashes have the day first in some lines and the month first in others: write 2025-04-03.',
      );
  for (const row of rows.slice(MOST_ROWS))
    understood.push({
      line: row.line,
      understood: null,
      faults: [`A table holds ${MOST_ROWS} machines at most.`],
      notes: [],
      job: null,
    });
  return { columns: columns.map(columnWords), rows: understood };
}

const columnWords = ({ header, field, hoursOf }: Column) => ({
  header,
  understoodAs: hoursOf ? `hours of ${hoursOf}` : field,
});

/** Likely minutes by kind of machine and task, of the oldest route for each kind of machine. */
async function plannedMinutes(context: OperationContext): Promise<Map<string, number>> {
  const routes = await context.tx.route.findMany({
    where: { archivedAt: null },
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
    include: { tasks: { select: { kind: true, handsOnMinutes: true } } },
  });
  const planned = new Map<string, number>();
  for (const machineKind of new Set(routes.map((route) => route.machineKind))) {
    const route = at(
      routes.filter((one) => one.machineKind === machineKind),
      0,
    );
    for (const task of route.tasks) {
      const key = `${machineKind} ${task.kind}`;
      planned.set(key, (planned.get(key) ?? 0) + task.handsOnMinutes);
    }
  }
  return planned;
}

async function labourTaken(
  context: OperationContext,
  rows: readonly TableRow[],
  order: DayOrder,
): Promise<Map<string, Stretch[]>> {
  const days = rows.flatMap((row) => (row.cells.acquired ? (readDate(row.cells.acquired, order) ?? []) : [])).sort();
  const entries = days[0]
    ? await context.tx.labourEntry.findMany({
        where: { archivedAt: null, OR: [{ endedAt: null }, { endedAt: { gt: asDate(days[0]) } }] },
        select: { personId: true, startedAt: true, endedAt: true },
      })
    : [];
  const taken = new Map<string, Stretch[]>();
  for (const { personId, startedAt, endedAt } of entries)
    taken.set(personId, [
      ...(taken.get(personId) ?? []),
      { start: startedAt.getTime(), end: (endedAt ?? context.now).getTime() },
    ]);
  return taken;
}

const keyOf = (maker: unknown, model: unknown, acquired: string, price: string): string =>
  [maker ?? '', model ?? '', acquired, new Decimal(price).toString()].join('\n').toLowerCase();

async function jobsOnRecord(context: OperationContext): Promise<Known['onRecord']> {
  const jobs = await context.tx.job.findMany({
    where: { archivedAt: null, machine: { acquisitionId: { not: null } } },
    select: { number: true, machine: { select: { maker: true, model: true, acquisition: true } } },
  });
  return jobs.flatMap(({ number, machine }) =>
    machine.acquisition
      ? [
          {
            number,
            key: keyOf(
              machine.maker,
              machine.model,
              asDay(machine.acquisition.acquiredDate),
              machine.acquisition.price.toString(),
            ),
          },
        ]
      : [],
  );
}

const sources = ['classified', 'auction', 'donation', 'tradeIn', 'dealer', 'other'] as const;
const outcomes: readonly (readonly ['sold' | 'kept' | 'partedOut' | 'scrapped', RegExp])[] = [
  ['sold', /^sold$/i],
  ['kept', /^kept?$|^ours$/i],
  ['partedOut', /^parted ?out$|^parts$|^donor$|^taken apart$/i],
  ['scrapped', /^scrap(ped)?$/i],
];

function understandRow(
  context: OperationContext,
  row: TableRow,
  known: Known,
  seen: Map<string, number>,
): UnderstoodRow {
  const faults: string[] = [];
  const notes: string[] = [];
  const cell = (field: Field): string | null => row.cells[field] ?? null;
  const read = <T>(field: Field, how: (text: string) => T | undefined, wanted: string): T | null => {
    const text = cell(field);
    if (text === null) return null;
    const value = how(text);
    if (value === undefined) faults.push(`${field}: "${text.slice(0, 60)}" is not ${wanted}.`);
    return value ?? null;
  };
  const dates = Object.fromEntries(
    dateFields.map((field) => [
      field,
      read(field, (text) => readDate(text, known.order), 'a date, such as 2025-04-03'),
    ]),
  ) as Record<(typeof dateFields)[number], string | null>;
  for (const field of dateFields) {
    const date = dates[field];
    if (date && date > context.today) faults.push(`${field}: ${date} lies in the future.`);
  }
  const digits = minorUnits(context.shop.currency);
  const money = Object.fromEntries(
    moneyFields.map((field) => [field, read(field, readAmount, 'an amount, such as 59.70')]),
  ) as Record<(typeof moneyFields)[number], string | null>;
  for (const field of moneyFields) {
    const given = money[field];
    if (given && new Decimal(given).decimalPlaces() > digits)
      faults.push(`${field}: ${given} has more decimals than ${context.shop.currency}.`);
  }
  const kind = read('kind', readKind, 'a kind: single-stage, two-stage, mower or other');
  if (kind === null && cell('kind') === null)
    faults.push('kind: say what it was: single-stage, two-stage, mower or other.');
  const [acquired, price] = [dates.acquired, money.price];
  if (cell('acquired') === null) faults.push('acquired: say when it came in.');
  if (cell('price') === null) faults.push('price: say what was paid; 0 for a gift.');
  const year = read('year', (text) => (/^(19|20)\d\d$/.test(text) ? Number(text) : undefined), 'a year, such as 1998');
  const condition = read(
    'condition',
    (text) => (/^[1-5]$/.test(text) ? Number(text) : undefined),
    'a condition from 1 to 5',
  );
  const haulKilometres = read('haulKilometres', (text) => readNumber(text), 'a number of kilometres');
  const source = read(
    'source',
    (text) => sources.find((one) => one.toLowerCase() === text.replace(/[ -]/g, '').toLowerCase()) ?? 'other',
    '',
  );
  const told = read(
    'outcome',
    (text) => outcomes.find(([, words]) => words.test(text))?.[0],
    'an outcome: sold, kept, parted out or scrapped',
  );
  const outcome = told ?? (money.salePrice ? 'sold' : null);
  if (outcome === 'sold' && (!money.salePrice || !dates.sold)) faults.push('sold: a sale needs its day and its price.');
  if (outcome !== 'sold' && money.salePrice) faults.push(`sold for: it was ${outcome}, not sold.`);
  if (outcome && outcome !== 'sold' && !dates.closed) faults.push(`closed: say when it was ${outcome}.`);
  if (!outcome) notes.push('Nothing says that it was sold or ended: its job is open.');
  const last = outcome === 'sold' ? dates.sold : dates.closed;
  const opened = dates.opened ?? acquired;
  if (acquired && opened && opened < acquired) faults.push(`opened: ${opened} lies before it came in on ${acquired}.`);
  if (opened && last && last < opened)
    faults.push(`${outcome === 'sold' ? 'sold' : 'closed'}: ${last} lies before ${opened}, when work began.`);
  const offered = money.ask ? (dates.offered ?? dates.finished ?? last) : null;
  if (money.ask && !offered) faults.push('offered: say when it was offered at that price.');
  if (offered && opened && offered < opened) faults.push(`offered: ${offered} lies before ${opened}, when work began.`);
  if (offered && last && offered > last) faults.push(`offered: ${offered} lies after ${last}, when it had gone.`);
  if (money.ask && money.ask === '0') faults.push('asked: must be above 0.');
  if (outcome === 'sold' && !cell('checkedBy'))
    notes.push('No safety checks are said to have been made; its papers say so.');

  const hours = hoursOf(context, row, known, { opened, finished: dates.finished, last, kind }, read, faults, notes);
  const machine = {
    kind: kind ?? 'other',
    maker: cell('maker'),
    model: cell('model'),
    description: cell('description'),
  };
  if (acquired && price && faults.length === 0) {
    const key = keyOf(machine.maker, machine.model, acquired, price) + (cell('serial') ?? machine.description ?? '');
    const onRecord = known.onRecord.find((one) => one.key === keyOf(machine.maker, machine.model, acquired, price));
    const twin = seen.get(key);
    if (onRecord)
      faults.push(`Such a machine, bought on ${acquired} for ${price}, is on record already: job ${onRecord.number}.`);
    if (twin !== undefined) faults.push(`The same machine stands in line ${twin}.`);
    seen.set(key, row.line);
  }
  const understood =
    acquired && price ? sentence(machine, acquired, price, outcome, last, money.salePrice, hours.minutes) : null;
  if (faults.length > 0 || !acquired || !price || !kind)
    return { line: row.line, understood, faults, notes, job: null };
  const given = PastJob.safeParse({
    source: source ?? 'other',
    acquiredDate: acquired,
    price,
    seller: cell('seller'),
    ...(money.haulCost ? { haulCost: money.haulCost } : {}),
    ...(haulKilometres === null ? {} : { haulKilometres }),
    ...(money.fees ? { fees: money.fees } : {}),
    machine: {
      ...machine,
      kind,
      serial: cell('serial'),
      yearEstimate: year,
      engine: cell('engine'),
      notes: cell('notes'),
      ...(condition === null ? {} : { condition }),
      disposition: outcome === 'kept' ? 'keep' : outcome === 'partedOut' ? 'donor' : 'sell',
    },
    openedDate: opened,
    tasks: hours.tasks,
    expenses: (['parts', 'paint', 'other'] as const).flatMap((field) => {
      const amount = money[field];
      return amount && !new Decimal(amount).isZero()
        ? [
            {
              kind: field === 'paint' ? 'consumable' : 'other',
              amount,
              occurredDate: dates.finished ?? last ?? opened,
              description: `${field === 'parts' ? 'Parts' : field === 'paint' ? 'Paint' : 'Other costs'}, as the old list has them`,
            },
          ]
        : [];
    }),
    ...(cell('checkedBy')
      ? {
          safetyChecks: {
            checkedBy: cell('checkedBy'),
            checkedDate: dates.checked ?? dates.finished ?? offered ?? last ?? opened,
          },
        }
      : {}),
    offers: offered ? [{ askPrice: money.ask, offeredDate: offered }] : [],
    ...(outcome === 'sold'
      ? {
          sale: {
            soldDate: last,
            price: money.salePrice,
            buyer: cell('buyer'),
            ...(money.sellingCost ? { sellingCost: money.sellingCost } : {}),
          },
        }
      : {}),
    ...(outcome && outcome !== 'sold' ? { ended: { outcome, closedDate: last } } : {}),
  });
  if (given.success) return { line: row.line, understood, faults, notes, job: given.data };
  return {
    line: row.line,
    understood,
    faults: given.error.issues.map((issue) => `${issue.path.join(' ')}: ${issue.message}.`),
    notes,
    job: null,
  };
}

const readNumber = (text: string): number | undefined => {
  const value = Number(text.replace(',', '.'));
  return Number.isFinite(value) && value >= 0 ? value : undefined;
};

const sentence = (
  machine: Parameters<typeof machineName>[0],
  acquired: string,
  price: string,
  outcome: string | null,
  last: string | null,
  salePrice: string | null,
  minutes: number,
): string =>
  [
    `${machineName(machine)}${machine.maker ? ` (${kindWords[machine.kind]})` : ''}, bought ${acquired} for ${price}`,
    ...(minutes > 0 ? [`${Math.round(minutes / 6) / 10} h of work`] : []),
    ...(outcome === 'sold' ? [`sold ${last} for ${salePrice}`] : outcome ? [`${outcome} ${last}`] : []),
  ].join(', ');

type Reader = <T>(field: Field, how: (text: string) => T | undefined, wanted: string) => T | null;

/** Hours by kind of task, against what the shop's route plans for it; a sum alone is work of which nothing is learnt. */
function hoursOf(
  context: OperationContext,
  row: TableRow,
  { people, planned, taken }: Known,
  days: { opened: string | null; finished: string | null; last: string | null; kind: string | null },
  read: Reader,
  faults: string[],
  notes: string[],
): { tasks: PastJob['tasks']; minutes: number } {
  const kinds = Object.entries(row.hours).flatMap(([kind, text]) => {
    const minutes = readHours(text);
    if (minutes === undefined) faults.push(`hours ${kind}: "${text.slice(0, 60)}" is no number of hours.`);
    return minutes ? [{ kind: kind as HoursKind, minutes }] : [];
  });
  const sum = read('hours', readHours, 'a number of hours, such as 14.5') ?? 0;
  const detailed = kinds.reduce((total, one) => total + one.minutes, 0);
  if (sum > 0 && detailed > sum)
    faults.push(`hours: ${sum / 60} is less than the kinds of work add up to, ${detailed / 60}.`);
  const work: { kind: HoursKind; minutes: number; handsOnMinutes: number; name: string }[] = kinds.map(
    ({ kind, minutes }) => ({
      kind,
      minutes,
      handsOnMinutes: planned.get(`${days.kind} ${kind}`) ?? 0,
      name: `Work of the kind ${kind}`,
    }),
  );
  if (sum > detailed)
    work.push({ kind: 'repair', minutes: sum - detailed, handsOnMinutes: 0, name: 'Work, as the old list has it' });
  if (work.length === 0 || faults.length > 0) return { tasks: [], minutes: Math.max(sum, detailed) };
  const named = row.cells.worker?.toLowerCase();
  const person = named
    ? people.find((one) => one.name.toLowerCase() === named)
    : people.length === 1
      ? people[0]
      : undefined;
  if (!person) {
    faults.push(
      named
        ? `worked by: nobody here is called "${(row.cells.worker ?? '').slice(0, 60)}".`
        : 'worked by: say who worked on it; several people work here, or nobody is on record.',
    );
    return { tasks: [], minutes: Math.max(sum, detailed) };
  }
  const from = days.opened ?? context.today;
  const to = days.finished ?? days.last ?? context.today;
  const own = taken.get(person.id) ?? [];
  taken.set(person.id, own);
  const tasks: PastJob['tasks'] = [];
  for (const one of work) {
    const stretches = spreadHours(one.minutes, { from, to, timeZone: context.shop.timeZone }, own);
    if (!stretches) {
      faults.push(
        `hours: ${one.minutes / 60} h do not fit between ${from} and ${to} beside what else ${person.name} worked then.`,
      );
      break;
    }
    tasks.push({
      name: one.name,
      kind: one.kind,
      handsOnMinutes: one.handsOnMinutes,
      people: 1,
      labour: stretches.map(({ start, end }) => ({
        personId: person.id,
        startedAt: new Date(start).toISOString(),
        endedAt: new Date(end).toISOString(),
      })),
    });
  }
  notes.push(`The hours are laid on the days from ${from} on; when they were worked is not known.`);
  return { tasks, minutes: Math.max(sum, detailed) };
}

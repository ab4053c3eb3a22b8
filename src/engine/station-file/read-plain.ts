import { EngineError } from '../error.js';
import { splitLine } from './csv.js';
import type { DayDraft, DraftField, LineReader, StationItem, Tally } from './tally.js';
import { convert, DIMENSION, type Dimension, parseFileDay, type Unit, UNIT_WORDS } from './units.js';

const NAMES: Record<DraftField, { words: string[]; dimension: Dimension }> = {
  highCelsius: { words: ['high', 'tmax', 'max', 'maximum'], dimension: 'temperature' },
  lowCelsius: { words: ['low', 'tmin', 'min', 'minimum'], dimension: 'temperature' },
  precipitationMillimetres: { words: ['precipitation', 'precip', 'prcp', 'rain', 'rainfall'], dimension: 'depth' },
  snowfallMillimetres: { words: ['snowfall', 'snow', 'newsnow'], dimension: 'depth' },
  humidityPercent: { words: ['humidity', 'relativehumidity', 'rh', 'rhav'], dimension: 'share' },
  dewPointCelsius: { words: ['dewpoint', 'adpt', 'td'], dimension: 'temperature' },
};

/** Words a column's name may have besides: "daily max air temp". */
const FILLERS = new Set(['daily', 'air', 'temp', 'temperature', 'avg', 'average', 'mean', 'total']);
const MISSING = new Set(['', 'm', 'na', 'n/a', 'nan', 'null', '-', '--', '-9999', '-9999.0']);

interface Column {
  field: DraftField;
  unit: Unit;
  at: number;
  title: string;
}

/** A CSV file with a day column and columns whose names end in their unit: `date,high_c,low_c,snowfall_in`. */
export class PlainReader implements LineReader {
  private readonly columns: Column[] = [];
  private readonly dayAt: number;
  private readonly traceAt: number;

  /** @throws EngineError `unknown-format`, `unit-missing`, `unit-mismatch`, `column-twice` */
  constructor(
    private readonly tally: Tally,
    header: readonly string[],
    private readonly delimiter: string,
  ) {
    const words = header.map(wordsOf);
    this.dayAt = words.findIndex((list) => ['date', 'day'].includes(list.join('')));
    this.traceAt = words.findIndex((list) => list.join('') === 'snowtrace');
    header.forEach((title, at) => {
      if (at === this.dayAt || at === this.traceAt) return;
      const column = columnOf(title, words[at]!, at);
      if (!column) tally.unused.add(title);
      else if (this.columns.some(({ field }) => field === column.field))
        throw new EngineError('column-twice', `Two columns tell the same: '${title}' is the second`, title);
      else this.columns.push(column);
    });
    if (this.dayAt < 0 || this.columns.length === 0) {
      throw new EngineError(
        'unknown-format',
        'This is no station file known here: expected a GHCN-Daily .dly file, an NCEI daily-summaries CSV, ' +
          'or a CSV whose first line names a date column and columns with their units, ' +
          'such as date,high_c,low_c,precipitation_mm,snowfall_mm',
        'line 1',
      );
    }
    tally.format = 'plain-csv';
    tally.units = this.columns.map(({ title, unit }) => `${title}: ${unit}`);
  }

  push(text: string, line: number): StationItem[] {
    const fields = splitLine(text, this.delimiter);
    if (!fields) return [this.tally.fault(line, 'has a quote that is not closed')];
    const number = parseFileDay(fields[this.dayAt] ?? '');
    if (number === undefined)
      return [this.tally.fault(line, `has no day written YYYY-MM-DD or YYYYMMDD but '${fields[this.dayAt] ?? ''}'`)];
    const draft: DayDraft = { line, number };
    const items = this.columns.flatMap((column) => this.readColumn(fields[column.at] ?? '', column, draft, line));
    const trace = (fields[this.traceAt] ?? '').toLowerCase();
    if (['1', 'true', 'yes', 't'].includes(trace)) draft.snowTrace = true;
    else if (!['', '0', 'false', 'no'].includes(trace))
      items.push(this.tally.fault(line, `has '${trace}' where a trace of snow is told by 1 or 0`));
    return [...items, ...this.tally.finish(draft)];
  }

  finish(): StationItem[] {
    return [];
  }

  private readColumn(written: string, { field, unit, title }: Column, draft: DayDraft, line: number): StationItem[] {
    const text = written.toLowerCase();
    if (MISSING.has(text)) return [];
    if (text === 't' && DIMENSION[unit] === 'depth') {
      if (field === 'snowfallMillimetres') draft.snowTrace = true;
      return this.tally.put(draft, field, 0, title, line);
    }
    // Where the comma does not part the columns it may part the decimals.
    const point = this.delimiter === ',' ? text : text.replace(',', '.');
    if (!/^[-+]?(\d+(\.\d*)?|\.\d+)$/.test(point)) return [this.tally.fault(line, `has '${written}' for ${title}`)];
    return this.tally.put(draft, field, convert(Number(point), unit), title, line);
  }
}

/** `highCelsius`, `high_c` and `High (°C)` are all the words high and c or celsius. */
function wordsOf(title: string): string[] {
  return title
    .replace(/([a-z])([A-Z])/g, '$1 $2')
    .toLowerCase()
    .split(/[^a-z0-9°%]+/)
    .filter((word) => word !== '');
}

function columnOf(title: string, words: readonly string[], at: number): Column | undefined {
  const unit = UNIT_WORDS[words.at(-1) ?? ''];
  const name = (unit ? words.slice(0, -1) : words).filter((word) => !FILLERS.has(word)).join('');
  for (const [field, { words: known, dimension }] of Object.entries(NAMES) as [
    DraftField,
    (typeof NAMES)[DraftField],
  ][]) {
    if (!known.includes(name)) continue;
    if (!unit)
      throw new EngineError(
        'unit-missing',
        `Column '${title}' does not say its unit; end its name with one, such as ` +
          `${dimension === 'temperature' ? '_c or _f' : dimension === 'depth' ? '_mm or _in' : '_pct'}`,
        title,
      );
    if (DIMENSION[unit] !== dimension)
      throw new EngineError('unit-mismatch', `Column '${title}' cannot be in ${unit}`, title);
    return { field, unit, at, title };
  }
  return undefined;
}

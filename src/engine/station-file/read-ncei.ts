import { EngineError } from '../error.js';
import { splitLine } from './csv.js';
import { ELEMENTS, ghcnValue, NOT_OBSERVED } from './ghcn.js';
import { takeGhcnValue } from './read-dly.js';
import type { DayDraft, LineReader, StationItem, Tally } from './tally.js';
import { convert, parseFileDay, type Unit } from './units.js';

/** The unit systems in which NCEI hands out daily summaries. */
export type NceiUnits = 'ghcn' | 'metric' | 'us';

const UNITS: Record<Exclude<NceiUnits, 'ghcn'>, Record<string, Unit>> = {
  metric: {
    TMAX: 'celsius',
    TMIN: 'celsius',
    ADPT: 'celsius',
    PRCP: 'millimetres',
    SNOW: 'millimetres',
    RHAV: 'percent',
  },
  us: { TMAX: 'fahrenheit', TMIN: 'fahrenheit', ADPT: 'fahrenheit', PRCP: 'inches', SNOW: 'inches', RHAV: 'percent' },
};

export function looksLikeNcei(header: readonly string[]): boolean {
  const names = new Set(header.map((name) => name.toUpperCase()));
  return names.has('STATION') && names.has('DATE') && ['TMAX', 'TMIN', 'PRCP', 'SNOW'].some((name) => names.has(name));
}

interface Column {
  name: string;
  at: number;
  /** Its measurement and quality flags. */
  flagsOf: ((fields: readonly string[]) => readonly [measurement: string, quality: string]) | null;
}

/** What stands beside a value in the older export, instead of one column of flags. */
const FLAG_COLUMNS = ['MEASUREMENT FLAG', 'QUALITY FLAG', 'SOURCE FLAG', 'TIME OF OBSERVATION'];

/**
 * NCEI daily-summaries CSV: a line a day, each element with its flags beside it: joined by commas in a column of their own,
 * or, in the older export, in columns named alike after each element, with days as 19500112. With flags the values stand
 * in GHCN units unless said otherwise; without them the file does not tell its units.
 */
export class NceiReader implements LineReader {
  private readonly columns: Column[];
  private readonly stationAt: number;
  private readonly dateAt: number;
  private readonly units: NceiUnits;

  /** @throws EngineError `units-unstated` */
  constructor(
    private readonly tally: Tally,
    header: readonly string[],
    private readonly delimiter: string,
    private readonly wanted: string | undefined,
    units: NceiUnits | undefined,
  ) {
    const names = header.map((name) => name.toUpperCase());
    this.stationAt = names.indexOf('STATION');
    this.dateAt = names.indexOf('DATE');
    this.columns = Object.keys(ELEMENTS)
      .map((name) => ({ name, at: names.indexOf(name), flagsOf: flagsOf(names, name) }))
      .filter(({ at }) => at >= 0);
    const flagged = this.columns.some((column) => column.flagsOf !== null);
    if (!flagged && units === undefined) {
      throw new EngineError(
        'units-unstated',
        'This daily-summaries file does not tell its units: say whether it was downloaded in ' +
          'GHCN, metric or US units, or download it again with attributes',
        'units',
      );
    }
    this.units = units ?? 'ghcn';
    tally.format = 'ncei-csv';
    tally.units = this.columns.map(
      ({ name }) => `${name}: ${this.units === 'ghcn' ? ELEMENTS[name]!.unit : UNITS[this.units][name]!}`,
    );
    const known = ['STATION', 'STATION_NAME', 'DATE', 'NAME', 'LATITUDE', 'LONGITUDE', 'ELEVATION', ...FLAG_COLUMNS];
    for (const name of names)
      if (!ELEMENTS[name] && !name.endsWith('_ATTRIBUTES') && !known.includes(name)) tally.unused.add(name);
  }

  push(text: string, line: number): StationItem[] {
    const fields = splitLine(text, this.delimiter);
    if (!fields) return [this.tally.fault(line, 'has a quote that is not closed')];
    const station = fields[this.stationAt] ?? '';
    const number = parseFileDay(fields[this.dateAt] ?? '');
    if (number === undefined)
      return [this.tally.fault(line, `has no day written YYYY-MM-DD or YYYYMMDD but '${fields[this.dateAt] ?? ''}'`)];
    if (this.tally.station === null) this.tally.station = this.wanted ?? station;
    if (station !== this.tally.station)
      return [this.tally.fault(line, `is of station ${station}; this import reads ${this.tally.station}`)];
    const draft: DayDraft = { line, number };
    return [
      ...this.columns.flatMap((column) => this.readColumn(fields, column, draft, line)),
      ...this.tally.finish(draft),
    ];
  }

  finish(): StationItem[] {
    return [];
  }

  private readColumn(
    fields: readonly string[],
    { name, at, flagsOf: flags }: Column,
    draft: DayDraft,
    line: number,
  ): StationItem[] {
    const written = fields[at] ?? '';
    if (written === '') return [];
    const stored = /^[-+]?\d+(\.\d+)?$/.test(written) ? Number(written) : NaN;
    if (Number.isNaN(stored)) return [this.tally.fault(line, `has '${written}' for ${name}`)];
    if (stored === NOT_OBSERVED) return [];
    if (this.units === 'ghcn' && written.includes('.')) {
      return [
        this.tally.fault(
          line,
          `has ${written} for ${name}; GHCN units are whole numbers, so say in which units the file was downloaded`,
        ),
      ];
    }
    const element = ELEMENTS[name]!;
    const value =
      this.units === 'ghcn' ? ghcnValue(stored, element.perUnit) : convert(stored, UNITS[this.units][name]!);
    const [measurement, quality] = flags?.(fields) ?? ['', ''];
    return takeGhcnValue(this.tally, draft, { field: element.field, name, value, measurement, quality, line });
  }
}

/** Where an element's flags stand in a line, by the header; null where it has none. */
function flagsOf(names: readonly string[], name: string): Column['flagsOf'] {
  const joinedAt = names.indexOf(`${name}_ATTRIBUTES`);
  if (joinedAt >= 0)
    return (fields) => {
      const [measurement = '', quality = ''] = (fields[joinedAt] ?? '').split(',');
      return [measurement, quality];
    };
  const at = names.indexOf(name);
  let end = at + 1;
  while (FLAG_COLUMNS.includes(names[end] ?? '')) end += 1;
  const beside = names.slice(at + 1, end);
  if (beside.length === 0) return null;
  const place = (flag: string): number => (beside.includes(flag) ? at + 1 + beside.indexOf(flag) : -1);
  const [measurementAt, qualityAt] = [place('MEASUREMENT FLAG'), place('QUALITY FLAG')];
  return (fields) => [fields[measurementAt] ?? '', fields[qualityAt] ?? ''];
}

import { dayNumberOf, isoDay } from '../days.js';
import { relativeHumidityPercent } from '../weather/dew-point.js';
import { emptyDay, type StationDay } from '../weather/record.js';

export type StationFormat = 'ghcn-dly' | 'ncei-csv' | 'plain-csv';

/** One day read, or one thing on one line that could not be. */
export type StationItem =
  { kind: 'day'; line: number; record: StationDay } | { kind: 'fault'; line: number; detail: string };

/** Reads one format line by line. */
export interface LineReader {
  push(text: string, line: number): StationItem[];
  /** Ends what is in hand, after the last line. */
  finish(): StationItem[];
}

/** Lines from one to another, both included. */
export interface LineRange {
  fromLine: number;
  toLine: number;
}

export interface StationSummary {
  format: StationFormat;
  /** The station's own identifier, where the format tells it. */
  station: string | null;
  /** In which unit each column or element was read. */
  units: string[];
  lines: number;
  days: number;
  firstDate: string | null;
  lastDate: string | null;
  faultyLines: number;
  /** The first hundred. */
  validationErrors: { line: number; detail: string }[];
  /** Every line of which something could not be read, as stretches of lines. */
  faultyLineRanges: LineRange[];
  /** Values kept as not observed because their quality flag says so. */
  failedQuality: number;
  /** Days with some snow, too little to measure. */
  traces: number;
  notes: string[];
}

/** What may be said of a day, before it is known whether it can stand. */
export interface DayDraft {
  line: number;
  number: number;
  highCelsius?: number;
  lowCelsius?: number;
  precipitationMillimetres?: number;
  snowfallMillimetres?: number;
  snowTrace?: boolean;
  humidityPercent?: number;
  dewPointCelsius?: number;
}

export type DraftField =
  | 'highCelsius'
  | 'lowCelsius'
  | 'precipitationMillimetres'
  | 'snowfallMillimetres'
  | 'humidityPercent'
  | 'dewPointCelsius';

/** What no weather on earth has reached; a value beyond is a slip of unit or pen. */
const BOUNDS: Record<DraftField, [number, number]> = {
  highCelsius: [-90, 60],
  lowCelsius: [-90, 60],
  precipitationMillimetres: [0, 2000],
  snowfallMillimetres: [0, 3000],
  humidityPercent: [0, 100],
  dewPointCelsius: [-90, 40],
};

const KEPT_FAULTS = 100;
/** Before the first thermometers, or after anyone here: a slip of the pen. It also bounds what is kept of days met. */
const FIRST_DAY = dayNumberOf(1700, 1, 1);
const LAST_DAY = dayNumberOf(2199, 12, 31);

/** Gathers what an import met with, and turns drafts into days. */
export class Tally {
  format: StationFormat = 'plain-csv';
  station: string | null = null;
  units: string[] = [];
  lines = 0;
  failedQuality = 0;
  readonly unused = new Set<string>();
  private readonly notes = new Map<string, number>();
  private readonly seen = new Set<number>();
  private readonly validationErrors: { line: number; detail: string }[] = [];
  private readonly faulty = new Set<number>();
  private first = Infinity;
  private last = -Infinity;
  private traces = 0;

  /** @param today the last day that can have been observed; none is too late when absent */
  constructor(private readonly today = Infinity) {}

  fault(line: number, detail: string): StationItem {
    this.faulty.add(line);
    if (this.validationErrors.length < KEPT_FAULTS) this.validationErrors.push({ line, detail });
    return { kind: 'fault', line, detail };
  }

  /** Counts something worth telling once, at the end. */
  note(what: string): void {
    this.notes.set(what, (this.notes.get(what) ?? 0) + 1);
  }

  /** Puts a value into a draft unless it cannot be true. */
  put(draft: DayDraft, field: DraftField, value: number, name: string, line: number): StationItem[] {
    const [least, most] = BOUNDS[field];
    if (!(value >= least && value <= most))
      return [this.fault(line, `${name} on ${isoDay(draft.number)} reads ${value}, outside ${least} to ${most}`)];
    draft[field] = value;
    return [];
  }

  /** The draft as a day, unless nothing was observed or the day was told before. */
  finish(draft: DayDraft): StationItem[] {
    const items: StationItem[] = [];
    const { highCelsius, lowCelsius, number, line } = draft;
    if (highCelsius !== undefined && lowCelsius !== undefined && highCelsius < lowCelsius) {
      items.push(
        this.fault(
          line,
          `on ${isoDay(number)} the high ${highCelsius} °C is below the low ${lowCelsius} °C; both are left out`,
        ),
      );
      delete draft.highCelsius;
      delete draft.lowCelsius;
    }
    const record = this.dayOf(draft);
    if (!record) return items;
    if (number < FIRST_DAY || number > LAST_DAY)
      return [...items, this.fault(line, `${record.day} lies outside the years 1700 to 2199`)];
    if (number > this.today)
      return [...items, this.fault(line, `${record.day} has not been yet; what is to come is entered as a forecast`)];
    if (this.seen.has(number))
      return [...items, this.fault(line, `${record.day} was told before; the earlier line stands`)];
    this.seen.add(number);
    this.first = Math.min(this.first, number);
    this.last = Math.max(this.last, number);
    if (record.snowTrace) this.traces += 1;
    return [...items, { kind: 'day', line, record }];
  }

  private dayOf(draft: DayDraft): StationDay | undefined {
    const {
      highCelsius,
      lowCelsius,
      precipitationMillimetres,
      snowfallMillimetres,
      snowTrace = false,
      humidityPercent,
      dewPointCelsius,
    } = draft;
    const observed = [highCelsius, lowCelsius, precipitationMillimetres, snowfallMillimetres, humidityPercent];
    if (observed.every((value) => value === undefined)) return undefined;
    let humidity = humidityPercent ?? null;
    if (humidity === null && dewPointCelsius !== undefined && highCelsius !== undefined && lowCelsius !== undefined) {
      humidity = Math.round(relativeHumidityPercent((highCelsius + lowCelsius) / 2, dewPointCelsius) * 10) / 10;
      this.note('days have their humidity computed from the dew point');
    }
    return {
      ...emptyDay(isoDay(draft.number)),
      highCelsius: highCelsius ?? null,
      lowCelsius: lowCelsius ?? null,
      precipitationMillimetres: precipitationMillimetres ?? null,
      snowfallMillimetres: snowfallMillimetres ?? null,
      snowTrace,
      humidityPercent: humidity,
    };
  }

  summary(): StationSummary {
    const notes = [...this.notes].map(([what, count]) => `${count} ${what}.`);
    if (this.unused.size > 0) notes.push(`Not used: ${[...this.unused].join(', ')}.`);
    return {
      format: this.format,
      station: this.station,
      units: this.units,
      lines: this.lines,
      days: this.seen.size,
      firstDate: this.seen.size > 0 ? isoDay(this.first) : null,
      lastDate: this.seen.size > 0 ? isoDay(this.last) : null,
      faultyLines: this.faulty.size,
      validationErrors: this.validationErrors,
      faultyLineRanges: rangesOf(this.faulty),
      failedQuality: this.failedQuality,
      traces: this.traces,
      notes,
    };
  }
}

function rangesOf(lines: ReadonlySet<number>): LineRange[] {
  const ranges: LineRange[] = [];
  for (const line of [...lines].sort((a, b) => a - b)) {
    const last = ranges.at(-1);
    if (last && last.toLine === line - 1) last.toLine = line;
    else ranges.push({ fromLine: line, toLine: line });
  }
  return ranges;
}

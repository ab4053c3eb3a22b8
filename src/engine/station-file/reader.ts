import { dayNumber } from '../days.js';
import { EngineError } from '../error.js';
import { delimiterOf, splitLine } from './csv.js';
import { DlyReader, looksLikeDly } from './read-dly.js';
import { looksLikeNcei, NceiReader, type NceiUnits } from './read-ncei.js';
import { PlainReader } from './read-plain.js';
import { type LineReader, type StationItem, type StationSummary, Tally } from './tally.js';

export interface StationReaderOptions {
  /** The station wanted, where a file may hold several; the first one met when absent. */
  station?: string;
  /** In which units an NCEI file was downloaded, where it does not tell. */
  units?: NceiUnits;
  /** The day on which it is read: a line for a later one is a slip of the pen. */
  today?: string;
}

/**
 * Reads a station's daily records from the lines of a file, whichever of the three formats it is in: GHCN-Daily
 * `.dly`, NCEI daily-summaries CSV, or a plain CSV that names its units. Holds one month at the most, and which
 * days were met. Days come in the file's order, none twice; a line that cannot be read is told and passed over.
 */
export class StationReader {
  private readonly tally: Tally;
  private reader: LineReader | undefined;

  constructor(private readonly options: StationReaderOptions = {}) {
    this.tally = new Tally(options.today === undefined ? undefined : dayNumber(options.today, 'today'));
  }

  /**
   * @param text one line, without its end
   * @throws EngineError `unknown-format`, `units-unstated`, `unit-missing`, `unit-mismatch`, `column-twice` at the first line
   */
  push(text: string): StationItem[] {
    this.tally.lines += 1;
    const line = this.tally.lines;
    const clean = (line === 1 ? text.replace(/^\uFEFF/, '') : text).replace(/\r$/, '');
    if (clean.trim() === '') return [];
    if (this.reader) return this.reader.push(clean, line);
    if (looksLikeDly(clean)) {
      this.reader = new DlyReader(this.tally, this.options.station);
      return this.reader.push(clean, line);
    }
    const delimiter = delimiterOf(clean);
    const header = splitLine(clean, delimiter);
    if (!header)
      throw new EngineError('unknown-format', 'The first line has a quote that is not closed', `line ${line}`);
    this.reader = looksLikeNcei(header)
      ? new NceiReader(this.tally, header, delimiter, this.options.station, this.options.units)
      : new PlainReader(this.tally, header, delimiter);
    return [];
  }

  /**
   * After the last line: what was still in hand.
   * @throws EngineError `unknown-format` when there was no line at all
   */
  finish(): StationItem[] {
    if (!this.reader) throw new EngineError('unknown-format', 'The file is empty', 'line 1');
    return this.reader.finish();
  }

  /** What has been met so far. */
  summary(): StationSummary {
    return this.tally.summary();
  }

  /** All lines in turn, for a caller that streams. */
  async *read(lines: AsyncIterable<string> | Iterable<string>): AsyncGenerator<StationItem, void> {
    for await (const line of lines) yield* this.push(line);
    yield* this.finish();
  }
}

const LONGEST_LINE = 100_000;

/**
 * Cuts a stream of text into lines, at LF or CR LF.
 * @throws EngineError `line-too-long`, so that a file without line ends is not gathered whole
 */
export async function* linesOf(chunks: AsyncIterable<string> | Iterable<string>): AsyncGenerator<string, void> {
  let rest = '';
  for await (const chunk of chunks) {
    const lines = (rest + chunk).split('\n');
    rest = lines.pop() ?? '';
    yield* lines.map((line) => line.replace(/\r$/, ''));
    if (rest.length > LONGEST_LINE)
      throw new EngineError('line-too-long', `A line is longer than ${LONGEST_LINE} characters`, 'lines');
  }
  if (rest !== '') yield rest.replace(/\r$/, '');
}

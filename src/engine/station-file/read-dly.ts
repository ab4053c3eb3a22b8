import { dayNumberOf, daysInMonth } from '../days.js';
import { ELEMENTS, ghcnValue, NOT_OBSERVED } from './ghcn.js';
import type { DayDraft, LineReader, StationItem, Tally } from './tally.js';

const LINE = /^([A-Z0-9_-]{11})(\d{4})(\d{2})([A-Z0-9]{4})/;
const VALUE_WIDTH = 8;
const VALUES_FROM = 21;

export const looksLikeDly = (text: string): boolean =>
  LINE.test(text) && text.length >= VALUES_FROM + 5 && !text.includes(',');

/**
 * GHCN-Daily `.dly`: one line a month and element, 31 values of five characters with three flags each (GHCN-Daily
 * readme.txt, section III). A month's elements stand together, so one month is held at a time.
 */
export class DlyReader implements LineReader {
  private month = '';
  private drafts: DayDraft[] = [];
  private readonly done = new Set<string>();

  constructor(
    private readonly tally: Tally,
    private readonly wanted: string | undefined,
  ) {
    tally.format = 'ghcn-dly';
    tally.units = Object.entries(ELEMENTS).map(([name, { unit }]) => `${name}: ${unit}`);
  }

  push(text: string, line: number): StationItem[] {
    const match = LINE.exec(text);
    if (!match)
      return [
        this.tally.fault(
          line,
          'is not a line of a .dly file: station, year, month and element are expected in its first 21 characters',
        ),
      ];
    // The pattern has four groups, none of them optional.
    const [, station, year, month, element] = match as unknown as [string, string, string, string, string];
    if (Number(month) < 1 || Number(month) > 12) return [this.tally.fault(line, `has no month ${month}`)];
    if (this.tally.station === null) this.tally.station = this.wanted ?? station;
    if (station !== this.tally.station)
      return [this.tally.fault(line, `is of station ${station}; this import reads ${this.tally.station}`)];
    const items: StationItem[] = [];
    const key = year + month;
    if (key !== this.month) {
      items.push(...this.finish());
      if (this.done.has(key))
        return [
          ...items,
          this.tally.fault(line, `comes back to ${year}-${month} after other months; sort the file by month`),
        ];
      this.month = key;
      this.drafts = Array.from({ length: daysInMonth(Number(year), Number(month)) }, (_, k) => ({
        line,
        number: dayNumberOf(Number(year), Number(month), k + 1),
      }));
    }
    const known = ELEMENTS[element];
    if (!known) {
      this.tally.unused.add(element);
      return items;
    }
    return [...items, ...this.readValues(text, line, element, known)];
  }

  /** Ends the month in hand; also called when the file ends. */
  finish(): StationItem[] {
    if (this.month) this.done.add(this.month);
    const items = this.drafts.flatMap((draft) => this.tally.finish(draft));
    this.month = '';
    this.drafts = [];
    return items;
  }

  private readValues(
    text: string,
    line: number,
    element: string,
    { field, perUnit }: (typeof ELEMENTS)[string],
  ): StationItem[] {
    const items: StationItem[] = [];
    for (let k = 0; k < 31; k += 1) {
      const at = VALUES_FROM + k * VALUE_WIDTH;
      const written = text.slice(at, at + 5);
      const draft = this.drafts[k];
      if (written.trim() === '') {
        if (draft) items.push(this.tally.fault(line, `ends before day ${k + 1}`));
        break;
      }
      if (!/^ *-?\d+$/.test(written)) {
        items.push(this.tally.fault(line, `has '${written}' where ${element} of day ${k + 1} should stand`));
        continue;
      }
      const stored = Number(written);
      if (stored === NOT_OBSERVED) continue;
      if (!draft) {
        items.push(this.tally.fault(line, `has a value for day ${k + 1}, which that month does not have`));
        continue;
      }
      const [measurement, quality] = [text[at + 5] ?? ' ', text[at + 6] ?? ' '];
      items.push(
        ...takeGhcnValue(this.tally, draft, {
          field,
          name: element,
          value: ghcnValue(stored, perUnit),
          measurement,
          quality,
          line,
        }),
      );
    }
    return items;
  }
}

/** Takes a value with its flags into a draft, by the same rules for both of NOAA's formats. */
export function takeGhcnValue(
  tally: Tally,
  draft: DayDraft,
  {
    field,
    name,
    value,
    measurement,
    quality,
    line,
  }: {
    field: (typeof ELEMENTS)[string]['field'];
    name: string;
    value: number;
    measurement: string;
    quality: string;
    line: number;
  },
): StationItem[] {
  if (quality.trim() !== '') {
    tally.failedQuality += 1;
    return [];
  }
  if (measurement === 'P') {
    // Nobody wrote a zero; somebody later took it for one. A missing day is not zero.
    tally.note('values were only taken for zero (flag P) and are kept as not observed');
    return [];
  }
  if (measurement === 'A') tally.note('values are totals over several days (flag A) and stand on the last of them');
  if (measurement === 'T' && field === 'snowfallMillimetres') draft.snowTrace = true;
  return tally.put(draft, field, value, name, line);
}

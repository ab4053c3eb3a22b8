/** A wearing component's readings on one machine, looked ahead. Pure. */
import { type Component, projectWear, type TypicalWear, type WearProjection } from '../engine/diagnosis/index.js';
import { EngineError } from '../engine/error.js';

export interface WearFinding {
  foundDate: string;
  unit: string | null;
  measuredValue: number | null;
  newSize: number | null;
  limitLow: number | null;
  limitHigh: number | null;
}

export interface Outlook {
  unit: string;
  limit: number;
  grows: boolean;
  readings: { date: string; value: number }[];
  projection: WearProjection;
  reasons: string[];
}

const DAYS_A_SEASON = 365.25;
/** Of what may wear, a reading by hand is off by so much where nothing says otherwise. A judgement, no source. */
const READING_ERROR_SHARE = 0.05;

/**
 * @param findings of the component on the machine, any order; what is in another unit than the latest does not count
 * @returns why not, in words, where nothing can be told
 */
export function outlookOf(component: Component | null, findings: readonly WearFinding[]): Outlook | string {
  const measured = findings
    .filter((one) => one.measuredValue !== null && one.unit !== null)
    .sort((a, b) => (a.foundDate < b.foundDate ? -1 : 1));
  const latest = measured.at(-1);
  if (!latest || latest.unit === null) return 'It was not measured.';
  const { unit } = latest;
  const wear: TypicalWear | null = component?.wear?.unit === unit ? component.wear : null;
  const limit = limitOf(latest, wear);
  if (!limit) return 'No limit is known: say below or above which size it is worn out.';
  const newSize = latest.newSize ?? wear?.newSize ?? null;
  const readings = measured
    .filter((one) => one.unit === unit)
    .map((one) => ({ date: one.foundDate, value: one.measuredValue ?? 0 }));
  const range = Math.abs((newSize ?? readings[0]?.value ?? limit.size) - limit.size);
  const readingError = wear?.readingError ?? Math.max(range, Math.abs(limit.size) / 10) * READING_ERROR_SHARE;
  const first = Date.parse(readings[0]?.date ?? '');
  try {
    const projection = projectWear({
      readings: readings.map(({ date, value }) => ({
        season: (Date.parse(date) - first) / 86_400_000 / DAYS_A_SEASON,
        value,
      })),
      limit: limit.size,
      grows: limit.grows,
      readingError,
      typical: wear && { perSeason: wear.perSeason, deviation: wear.deviation },
    });
    return {
      unit,
      limit: limit.size,
      grows: limit.grows,
      readings,
      projection,
      reasons: [
        `${readings.length} ${readings.length === 1 ? 'reading' : 'readings'}, each off by about ${round(readingError)} ${unit}`,
        wear
          ? `such a part usually loses ${wear.perSeason} ${unit} a season, give or take ${wear.deviation}: a judgement, no source`
          : 'the wear is that between its own readings',
        'a season is a year: hours of running are not recorded',
      ],
    };
  } catch (error) {
    if (error instanceof EngineError && error.code === 'too-little-known')
      return 'One reading tells nothing of its wear, and no usual rate is known for it: measure it again later.';
    throw error;
  }
}

function limitOf(finding: WearFinding, wear: TypicalWear | null): { size: number; grows: boolean } | null {
  const { limitLow, limitHigh, newSize, measuredValue } = finding;
  if (limitLow !== null && limitHigh !== null && measuredValue !== null) {
    // Of two limits it wears towards the one that is farther from new.
    const from = newSize ?? wear?.newSize ?? measuredValue;
    return Math.abs(from - limitLow) >= Math.abs(limitHigh - from)
      ? { size: limitLow, grows: false }
      : { size: limitHigh, grows: true };
  }
  if (limitLow !== null) return { size: limitLow, grows: false };
  if (limitHigh !== null) return { size: limitHigh, grows: true };
  return wear && { size: wear.limit, grows: wear.limit > wear.newSize };
}

const round = (value: number): number => Math.round(value * 100) / 100;

/** "about 1.8 seasons (0.9 to 3.1)", or what else is to be said of the life left. */
export function lifeWords({ seasonsLeft }: Pick<WearProjection, 'seasonsLeft'>): string {
  const { low, likely, high } = seasonsLeft;
  if (likely === 0) return 'past its limit';
  if (likely === null) return 'no end of it in sight';
  const tenths = (value: number): string => value.toFixed(1);
  const to = high === null ? 'no end in sight' : tenths(high);
  return `about ${tenths(likely)} seasons left (${low === null ? '?' : tenths(low)} to ${to})`;
}

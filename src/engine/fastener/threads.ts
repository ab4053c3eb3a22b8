/** Millimetres in an inch, exactly. */
export const INCH = 25.4;

/** Inches in mm, to the nearest millionth: every sixty-fourth of an inch is then exact. */
export function inchesToMillimetres(inches: number): number {
  return Math.round(inches * INCH * 1e6) / 1e6;
}

/** A screw thread. Lengths in mm; a metric thread has no `threadsPerInch`. */
export interface Thread {
  system: 'inch' | 'metric';
  /** Nominal size as the trade writes it: '#10', '1/4', 'M6'. */
  size: string;
  majorDiameterMillimetres: number;
  pitchMillimetres: number;
  threadsPerInch: number | null;
  series: Series;
  /** Tolerance class: '2A', '2B', '6g', '6H'; null when not stated. */
  toleranceClass: string | null;
  leftHand: boolean;
  /** Thread starts; 1 unless the designation says double or triple. */
  starts: number;
}

/** Unified coarse, fine, extra-fine, constant-pitch and special; metric coarse and fine. */
export type Series = 'UNC' | 'UNF' | 'UNEF' | 'UN' | 'UNS' | 'coarse' | 'fine';

/** One size of a thread system, with the pitches that it is made in. */
export interface ThreadSize {
  size: string;
  /** Inches or millimetres, as the system goes. */
  diameter: number;
  /** Threads per inch by series, or pitch in mm; the first is the one meant when none is named. */
  pitches: readonly (readonly [Series, number])[];
}

const inch = (size: string, diameter: number, unc: number | null, unf: number | null, unef: number | null = null) => ({
  size,
  diameter,
  pitches: (
    [
      ['UNC', unc],
      ['UNF', unf],
      ['UNEF', unef],
    ] as const
  ).filter((pair): pair is readonly ['UNC' | 'UNF' | 'UNEF', number] => pair[1] !== null),
});

const numbered = (n: number, unc: number | null, unf: number | null, unef: number | null = null) =>
  // Number sizes: 0.060 in plus 0.013 in a number (check values §1.1).
  inch(`#${n}`, Math.round(60 + 13 * n) / 1000, unc, unf, unef);

/** Unified sizes: ASME B1.1 coarse, fine and extra-fine series, as shop charts repeat them; recalled, not read there. */
export const INCH_SIZES: readonly ThreadSize[] = [
  numbered(0, null, 80),
  numbered(1, 64, 72),
  numbered(2, 56, 64),
  numbered(3, 48, 56),
  numbered(4, 40, 48),
  numbered(5, 40, 44),
  numbered(6, 32, 40),
  numbered(8, 32, 36),
  numbered(10, 24, 32),
  numbered(12, 24, 28, 32),
  inch('1/4', 0.25, 20, 28, 32),
  inch('5/16', 0.3125, 18, 24, 32),
  inch('3/8', 0.375, 16, 24, 32),
  inch('7/16', 0.4375, 14, 20, 28),
  inch('1/2', 0.5, 13, 20, 28),
  inch('9/16', 0.5625, 12, 18, 24),
  inch('5/8', 0.625, 11, 18, 24),
  inch('3/4', 0.75, 10, 16, 20),
  inch('7/8', 0.875, 9, 14, 20),
  inch('1', 1, 8, 12, 20),
  inch('1-1/8', 1.125, 7, 12, 18),
  inch('1-1/4', 1.25, 7, 12, 18),
  inch('1-3/8', 1.375, 6, 12, 18),
  inch('1-1/2', 1.5, 6, 12, 18),
];

const metric = (diameter: number, coarse: number, ...fine: number[]): ThreadSize => ({
  size: `M${diameter}`,
  diameter,
  pitches: [['coarse', coarse], ...fine.map((pitch) => ['fine', pitch] as const)],
});

/** ISO metric sizes with coarse and fine pitches in mm: ISO 261, recalled; M5–M12 coarse as in check values §1.1. */
export const METRIC_SIZES: readonly ThreadSize[] = [
  metric(1.6, 0.35),
  metric(2, 0.4, 0.25),
  metric(2.5, 0.45, 0.35),
  metric(3, 0.5, 0.35),
  metric(3.5, 0.6, 0.35),
  metric(4, 0.7, 0.5),
  metric(5, 0.8, 0.5),
  metric(6, 1, 0.75),
  metric(7, 1, 0.75),
  metric(8, 1.25, 1, 0.75),
  metric(10, 1.5, 1.25, 1, 0.75),
  metric(12, 1.75, 1.5, 1.25, 1),
  metric(14, 2, 1.5, 1.25, 1),
  metric(16, 2, 1.5, 1),
  metric(18, 2.5, 2, 1.5, 1),
  metric(20, 2.5, 2, 1.5, 1),
  metric(22, 2.5, 2, 1.5, 1),
  metric(24, 3, 2, 1.5, 1),
  metric(27, 3, 2, 1.5, 1),
  metric(30, 3.5, 3, 2, 1.5, 1),
  metric(33, 3.5, 3, 2, 1.5),
  metric(36, 4, 3, 2, 1.5),
  metric(39, 4, 3, 2, 1.5),
];

/** True if the threads would screw together: same system, size, pitch, hand and starts. */
export function sameThread(a: Thread, b: Thread): boolean {
  return (
    a.system === b.system &&
    a.size === b.size &&
    Math.abs(a.pitchMillimetres - b.pitchMillimetres) < 1e-9 &&
    a.leftHand === b.leftHand &&
    a.starts === b.starts
  );
}

/** True for a nut's thread: tolerance class B, or upper-case metric position. */
export function isInternal(toleranceClass: string): boolean {
  return /[BGH]$/.test(toleranceClass);
}

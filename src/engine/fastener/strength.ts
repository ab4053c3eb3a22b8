import type { Fastener } from './designation.js';
import { INCH, type Thread } from './threads.js';
import type { Grade } from './vocabulary.js';

/** Newtons in a pound-force, and pascals·10⁻⁶ in a thousand pounds per square inch. */
export const POUND_FORCE = 4.4482216152605;
export const KSI = (POUND_FORCE * 1000) / (INCH * INCH);

/** A figure with where it comes from; `tabulated` tells a table's rounded value from a computed one. */
export interface Cited {
  value: number;
  tabulated: boolean;
  source: string;
}

/**
 * Tensile stress area in mm². Metric: π/4·(d − 0.9382·P)², ISO 898-1 §9.1.6.1. Inch: π/4·(D − 0.9743/n)², the form that
 * thread tables use. Both as in check values §1.1.
 */
export function tensileStressArea(thread: Thread): number {
  const factor = thread.system === 'inch' ? 0.9743 : 0.9382;
  return (Math.PI / 4) * (thread.majorDiameterMillimetres - factor * thread.pitchMillimetres) ** 2;
}

/** Nominal stress areas in mm², ISO 898-1 as reproduced (check values §1.1). */
const METRIC_COARSE_AREAS: Readonly<Record<string, number>> = { M5: 14.2, M6: 20.1, M8: 36.6, M10: 58, M12: 84.3 };

/** Stress area as the standard's table gives it, where one is held here; else computed. */
export function citedStressArea(thread: Thread): Cited {
  const value = thread.series === 'coarse' ? METRIC_COARSE_AREAS[thread.size] : undefined;
  if (value !== undefined) return { value, tabulated: true, source: 'EN ISO 898-1 table, as reproduced' };
  const source = thread.system === 'inch' ? 'π/4·(D − 0.9743/n)²' : 'π/4·(d − 0.9382·P)², ISO 898-1 §9.1.6.1';
  return { value: tensileStressArea(thread), tabulated: false, source };
}

/** Strengths in MPa. `rank` orders grades of one kind of steel: a higher one may stand in for a lower one. */
export interface Strength {
  proofMegapascals: number;
  yieldMegapascals: number;
  tensileMegapascals: number;
  source: string;
}

const SAE = 'SAE J429 as quoted from Shigley & Mischke, 5th ed., p. 341';
const ISO = 'ISO 898-1 as reproduced';
const RECALLED = 'ISO 898-1, recalled from memory, not read';

/** @returns the strength of a grade at a thread's size, or null where none is held here (nuts, stainless, soft metals). */
export function strengthOf(grade: Grade, thread: Thread): Strength | null {
  const d = thread.majorDiameterMillimetres;
  const mpa = (proof: number, yields: number, tensile: number, source: string): Strength => ({
    proofMegapascals: proof,
    yieldMegapascals: yields,
    tensileMegapascals: tensile,
    source,
  });
  const ksi = (proof: number, yields: number, tensile: number) => mpa(proof * KSI, yields * KSI, tensile * KSI, SAE);
  switch (grade) {
    case 'grade 2':
      return d <= 0.7501 * INCH ? ksi(55, 57, 74) : null;
    case 'grade 5':
      return d <= 1.0001 * INCH ? ksi(85, 92, 120) : ksi(74, 81, 105);
    case 'grade 8':
      return ksi(120, 130, 150);
    case '4.6':
      return mpa(225, 240, 400, RECALLED);
    case '4.8':
      return mpa(310, 340, 420, RECALLED);
    case '5.8':
      return mpa(380, 420, 520, ISO);
    case '8.8':
      return d <= 16 ? mpa(580, 640, 800, ISO) : mpa(600, 660, 830, ISO);
    case '9.8':
      return mpa(650, 720, 900, RECALLED);
    case '10.9':
      return mpa(830, 940, 1040, ISO);
    case '12.9':
      return mpa(970, 1100, 1220, RECALLED);
    default:
      return null;
  }
}

/** Proof and ultimate tensile loads in N, ISO 898-1 coarse threads (check values §1.4). */
const ISO_LOADS: Readonly<Partial<Record<Grade, Readonly<Record<string, readonly [number, number]>>>>> = {
  '5.8': { M5: [5400, 7380], M6: [7640, 10_400], M8: [13_900, 19_000], M10: [22_000, 30_200], M12: [32_000, 43_800] },
  '8.8': {
    M5: [8230, 11_350],
    M6: [11_600, 16_100],
    M8: [21_200, 29_200],
    M10: [33_700, 46_400],
    M12: [48_900, 67_400],
  },
  '10.9': {
    M5: [11_800, 14_800],
    M6: [16_700, 20_900],
    M8: [30_400, 38_100],
    M10: [48_100, 60_300],
    M12: [70_000, 87_700],
  },
};

const lbf = (...pairs: (readonly [string, number, number | null])[]) =>
  Object.fromEntries(pairs.map(([thread, proof, tensile]) => [thread, [proof, tensile] as const]));

/** Proof and tensile loads in lbf, SAE J429 (check values §1.4); the 1/2-13 row is recalled. Rounded to 50 or 100 lbf. */
const SAE_LOADS: Readonly<Partial<Record<Grade, Readonly<Record<string, readonly [number, number | null]>>>>> = {
  'grade 2': lbf(
    ['1/4-20', 1750, 2350],
    ['5/16-18', 2900, 3900],
    ['3/8-16', 4250, 5750],
    ['7/16-14', 5850, null],
    ['1/2-13', 7800, 10_500],
    ['1/4-28', 2000, 2700],
    ['3/8-24', 4800, 6500],
  ),
  'grade 5': lbf(
    ['1/4-20', 2700, 3800],
    ['5/16-18', 4450, 6300],
    ['3/8-16', 6600, 9300],
    ['7/16-14', 9050, 12_800],
    ['1/2-13', 12_100, 17_000],
    ['1/4-28', 3100, 4350],
    ['3/8-24', 7450, 10_500],
  ),
  'grade 8': lbf(
    ['1/4-20', 3800, 4750],
    ['5/16-18', 6300, 7850],
    ['3/8-16', 9300, 11_600],
    ['7/16-14', 12_800, 15_900],
    ['1/2-13', 17_000, 21_300],
    ['1/4-28', 4350, 5450],
    ['3/8-24', 10_500, 13_200],
  ),
};

/** Proof and tensile loads of a bolt, in N: from the standard's table where one is held here, and by strength × area. */
export interface Loads {
  proofNewtons: Cited;
  tensileNewtons: Cited;
  /** Proof strength times the computed area, whatever the table says. */
  computedProofNewtons: number;
}

/** @returns loads of a graded bolt, or null without a grade or where its strength is not held here. */
export function loadsOf({ thread, grade }: Pick<Fastener, 'thread' | 'grade'>): Loads | null {
  const strength = grade && strengthOf(grade, thread);
  if (!grade || !strength) return null;
  const area = tensileStressArea(thread);
  const table =
    thread.series === 'coarse'
      ? ISO_LOADS[grade]?.[thread.size]
      : SAE_LOADS[grade]?.[`${thread.size}-${thread.threadsPerInch}`];
  const unit = thread.system === 'inch' ? POUND_FORCE : 1;
  const cite = (listed: number | null | undefined, megapascals: number, what: string): Cited =>
    listed
      ? {
          value: listed * unit,
          tabulated: true,
          source: thread.system === 'inch' ? 'SAE J429 load table' : 'ISO 898-1 load table',
        }
      : { value: megapascals * area, tabulated: false, source: `${what} strength × stress area; ${strength.source}` };
  return {
    proofNewtons: cite(table?.[0], strength.proofMegapascals, 'proof'),
    tensileNewtons: cite(table?.[1], strength.tensileMegapascals, 'tensile'),
    computedProofNewtons: strength.proofMegapascals * area,
  };
}

/** Where words go under lines that come down to them, so that no words lie on others and no line runs through words. */

export interface HangingLabel {
  /** The line comes down here, left of the words. */
  lineAt: number;
  /** The words reach from here … */
  from: number;
  /** … to here. */
  to: number;
}

/** Left free behind words. */
const GAP = 10;

/**
 * The row of each label, 0 on top. All words stand right of their line, so from right to left each label takes the
 * highest row that lies under every line, and with it under all words, that it would reach: lines to the left of the
 * words above pass them by.
 * @returns rows in the labels' own order; two on one place hang in the order given
 */
export function labelRows(labels: readonly HangingLabel[]): number[] {
  const rows: number[] = labels.map(() => 0);
  const order = labels.map((_, index) => index).sort((a, b) => at(labels, b).lineAt - at(labels, a).lineAt || a - b);
  for (const [place, index] of order.entries()) {
    const reached = order.slice(0, place).filter((other) => at(labels, other).lineAt <= at(labels, index).to + GAP);
    rows[index] = Math.max(-1, ...reached.map((other) => at(rows, other))) + 1;
  }
  return rows;
}

/**
 * About how wide words are in a sans-serif of 12 px, rather too wide than too narrow: what font there is only the
 * reader knows.
 */
export function widthOfText(words: string): number {
  return [...words].reduce((sum, letter) => sum + widthOfLetter(letter), 0);
}

function widthOfLetter(letter: string): number {
  if (/[ijl.,:;'|!()[\] ]/.test(letter)) return 4.8;
  if (/[mwMW%@…—]/.test(letter)) return 12;
  if (/[a-z]/.test(letter)) return 7.5;
  if (/[A-Z0-9]/.test(letter)) return 8.4;
  // Scripts whose letters fill a square stand from here on.
  return (letter.codePointAt(0) ?? 0) >= 0x2e80 ? 13 : 9;
}
import { at } from '../engine/look-up.js';

import type { Fastener } from './designation.js';
import { printDecimal, printInches } from './number.js';
import { INCH, type Thread } from './threads.js';
import { DRIVE_WORDS, FINISH_WORDS, GRADE_WORDS, HEAD_WORDS } from './vocabulary.js';

/**
 * The one way in which this project writes a fastener, such as `1/4-20 UNC-2A-LH x 3/4 hex, grade 5, zinc` or
 * `M6x1-6g x 20 hex, 8.8, ISO 4017`. Reading it back gives the same fastener.
 */
export function printDesignation(fastener: Fastener): string {
  const { thread, lengthMillimetres, head, drive, grade, finish, standard, designedToFail } = fastener;
  const length = lengthMillimetres === null ? '' : ` x ${printLength(lengthMillimetres, thread.system)}`;
  const first = [head && HEAD_WORDS[head][0], designedToFail && 'shear'].filter(Boolean).join(' ');
  const rest = [
    drive && DRIVE_WORDS[drive][0],
    grade && GRADE_WORDS[grade][0],
    finish && FINISH_WORDS[finish][0],
    standard,
  ].filter(Boolean);
  const words = [first, ...rest].filter(Boolean).join(', ');
  return `${printThread(thread)}${length}${words ? ` ${words}` : ''}`;
}

/** The thread alone: `1/4-20 UNC-2A`, `M10x1.25-6H-LH`. */
export function printThread(thread: Thread): string {
  const { size, series, threadsPerInch, pitchMillimetres, toleranceClass, leftHand, starts } = thread;
  const start =
    thread.system === 'inch' ? `${size}-${threadsPerInch} ${series}` : `${size}x${printDecimal(pitchMillimetres)}`;
  const many = starts === 2 ? ' DOUBLE' : starts === 3 ? ' TRIPLE' : '';
  return `${start}${toleranceClass ? `-${toleranceClass}` : ''}${leftHand ? '-LH' : ''}${many}`;
}

/** A length in the system's own unit; millimetres on an inch thread say so. */
export function printLength(millimetres: number, system: 'inch' | 'metric'): string {
  if (system === 'metric') return printDecimal(millimetres);
  const inches = millimetres / INCH;
  const text = printInches(inches);
  const exact = text.includes('/') || !text.includes('.') || Math.abs(Number(text) - inches) < 1e-9;
  return exact ? text : `${printDecimal(millimetres)} mm`;
}

/** A length in a sentence: '3/4 in', '20 mm'. */
export function showLength(millimetres: number, system: 'inch' | 'metric'): string {
  const text = printLength(millimetres, system);
  return text.endsWith('mm') ? text : `${text} ${system === 'inch' ? 'in' : 'mm'}`;
}

import type { Fastener } from './designation.js';
import { NUMBER, numberValue } from './number.js';
import { printThread } from './print.js';
import { Scanner } from './scanner.js';
import {
  INCH,
  INCH_SIZES,
  inchesToMillimetres,
  isInternal,
  METRIC_SIZES,
  type Series,
  type Thread,
  type ThreadSize,
} from './threads.js';
import { DRIVE_WORDS, FINISH_WORDS, GRADE_WORDS, HEAD_WORDS, IDLE_WORDS, isNut, SHEAR_WORDS } from './vocabulary.js';

/** A designation understood, and what had to be assumed to understand it. */
export interface ParsedDesignation {
  fastener: Fastener;
  assumed: string[];
}

const TIMES = String.raw`\s*[x×*]\s*`;
const SEPARATORS = String.raw`[\s,;–-]*`;
const METRIC_FIT = String.raw`\d[a-z](?:\d[a-z])?`;

/**
 * Reads an inch or metric fastener designation, such as `1/4-20 UNC-2A x 3/4`, `#10-24 x 1/2`, `M6x1.0-6g x 20 8.8` or
 * `5/16-18 x 1 carriage, grade 5, zinc`. Order: size, pitch, series, tolerance class, hand, starts, length, then words
 * for head, drive, grade, finish and standard in any order, among which the hand and starts may stand too.
 * @throws EngineError `fastener-syntax`: the message says what was not understood and what was expected; the path is
 *   the offset, from 0, in the text
 */
export function parseDesignation(text: string): ParsedDesignation {
  const scanner = new Scanner(text);
  const assumed: string[] = [];
  const words: Words = { head: null, drive: null, grade: null, finish: null, standard: null, designedToFail: false };
  // The words may come first: `ISO 4762 - M6 x 35 - 10.9`.
  while (
    !scanner.done &&
    !/^(?:M\s*\d|[#.½¼¾⅛⅜⅝⅞\d]|no\b)/i.test(scanner.text.slice(scanner.at)) &&
    readWord(scanner, words)
  );
  const readThread = /M/i.test(text[scanner.at] ?? '') ? readMetric : readInch;
  const { thread, lengthMillimetres } = readThread(scanner, assumed);
  while (!scanner.done) {
    if (readWord(scanner, words) || readLateHand(scanner, thread)) continue;
    const number = /^[\d.½¼¾⅛⅜⅝⅞][^\s,]*/.exec(scanner.text.slice(scanner.at));
    if (number && lengthMillimetres === null)
      scanner.fail(`a length has an x before it, as in ${printThread(thread)} x ${number[0]}`);
    scanner.fail('expected a head, drive, grade, finish, hand or standard');
  }
  const fastener: Fastener = { thread, lengthMillimetres, ...words };
  checkWhole(scanner, fastener);
  return { fastener, assumed };
}

type Words = Omit<Fastener, 'thread' | 'lengthMillimetres'>;

interface ThreadAndLength {
  thread: Thread;
  lengthMillimetres: number | null;
}

function readInch(scanner: Scanner, assumed: string[]): ThreadAndLength {
  const size = readInchSize(scanner);
  const inchMark = scanner.take(String.raw`\s*(?:"|″|in\b\.?)`);
  let pitch: Pitch | null = null;
  if (scanner.take(String.raw`\s*[-–]\s*(?=\d)`)) {
    pitch = readPitch(scanner, size);
  } else {
    // `1/2 x 13 UNC x 1-1/2`: the first number is threads per inch if the size is made so, and a length if not.
    const before = scanner.at;
    const count = scanner.take(`${TIMES}(\\d+)(?![\\d./½¼¾⅛⅜⅝⅞]|[- ]\\d|\\s*(?:mm|in|"|″))`);
    if (count) {
      const named = size.pitches.find(([, tpi]) => tpi === Number(count[1]));
      if (named) pitch = { series: named[0], value: named[1] };
      else scanner.at = before;
    }
  }
  const series = readSeries(scanner, size, pitch);
  if (series) pitch = series;
  if (!pitch) {
    const [name, tpi] = size.pitches[0]!;
    pitch = { series: name, value: tpi };
    assumed.push(
      `${inchMark || size.size.startsWith('#') ? size.size : `${size.size} in`} is taken as ` +
        `${name === 'UNC' ? 'coarse' : 'fine'}, ${tpi} threads per inch`,
    );
  }
  const toleranceClass = readFit(scanner, String.raw`[123][AB]\b`, '1A to 3A or 1B to 3B')?.toUpperCase() ?? null;
  const { leftHand, starts } = readHand(scanner);
  return {
    thread: {
      system: 'inch',
      size: size.size,
      majorDiameterMillimetres: inchesToMillimetres(size.diameter),
      pitchMillimetres: INCH / pitch.value,
      threadsPerInch: pitch.value,
      series: pitch.series,
      toleranceClass,
      leftHand,
      starts,
    },
    lengthMillimetres: readLength(scanner, 'inch'),
  };
}

function readInchSize(scanner: Scanner): ThreadSize {
  const start = scanner.at;
  const numbered = scanner.take(String.raw`(?:#|no\.?\s*)(\d+)`);
  if (numbered) {
    return (
      INCH_SIZES.find((s) => s.size === `#${Number(numbered[1])}`) ??
      scanner.fail(`no number size #${numbered[1]} (there are 0 to 6, 8, 10 and 12)`, start)
    );
  }
  const written = scanner.take(NUMBER);
  if (!written) scanner.fail('expected a thread size such as 1/4, #10 or M6', start);
  const value = numberValue(written[0]);
  // `10-24` is the number size: no ten-inch thread is known here, and a bare integer with a pitch of its own decides.
  const next = /^\s*-\s*(\d+)/.exec(scanner.text.slice(scanner.at));
  const number = INCH_SIZES.find((s) => s.size === `#${written[0]}`);
  if (number && next && number.pitches.some(([, tpi]) => tpi === Number(next[1]))) return number;
  return (
    INCH_SIZES.find((s) => value !== null && Math.abs(s.diameter - value) < 0.0006) ??
    scanner.fail('no inch thread of that size is known here', start)
  );
}

function readMetric(scanner: Scanner, assumed: string[]): ThreadAndLength {
  const start = scanner.at;
  const written = scanner.take(String.raw`M\s*(\d+(?:\.\d+)?)`);
  if (!written) scanner.fail('expected a metric size such as M6', start);
  const size =
    METRIC_SIZES.find((s) => s.diameter === Number(written[1])) ??
    scanner.fail('no metric thread of that size is known here', start);
  let pitch: Pitch | null = null;
  const before = scanner.at;
  const second = scanner.take(`${TIMES}(\\d*\\.\\d+|\\d+)`);
  if (second) {
    const value = Number(second[1]);
    const named = size.pitches.find(([, p]) => Math.abs(p - value) < 1e-9);
    const numberAt = scanner.at - second[1]!.length;
    if (named) pitch = { series: named[0], value: named[1] };
    else if (/^\s*(?:[x×*]|-\s*\d[a-z])/i.test(scanner.text.slice(scanner.at)) || value < size.diameter / 2) {
      // Another number or a fit follows, or it is too short for a length: it was meant as a pitch.
      scanner.fail(`${size.size} is made with pitch ${list(size)}`, numberAt);
    } else scanner.at = before;
  }
  if (!pitch) {
    const [series, value] = size.pitches[0]!;
    pitch = { series, value };
    assumed.push(`${size.size} without a pitch is coarse, ${value} mm`);
  }
  const series = pitch.series;
  scanner.take(String.raw`\s+(?:coarse|fine)\b`);
  const toleranceClass = readFit(
    scanner,
    `${METRIC_FIT}\\b`,
    `a tolerance class such as 6g or 6H (a pitch is written ${size.size}x${pitch.value})`,
  );
  if (toleranceClass) checkMetricFit(scanner, toleranceClass);
  const { leftHand, starts } = readHand(scanner);
  return {
    thread: {
      system: 'metric',
      size: size.size,
      majorDiameterMillimetres: size.diameter,
      pitchMillimetres: pitch.value,
      threadsPerInch: null,
      series,
      toleranceClass,
      leftHand,
      starts,
    },
    lengthMillimetres: readLength(scanner, 'metric'),
  };
}

interface Pitch {
  series: Series;
  value: number;
}

function readPitch(scanner: Scanner, size: ThreadSize): Pitch {
  const at = scanner.at;
  const match = scanner.take(String.raw`\d+(?!\d*[./½¼¾⅛⅜⅝⅞])`);
  if (!match) scanner.fail('expected threads per inch');
  const tpi = Number(match[0]);
  const named = size.pitches.find(([, value]) => value === tpi);
  if (named) return { series: named[0], value: tpi };
  // Special and constant-pitch threads exist, but must be named: a slip of the pen is far more common.
  const special = /^\s*(UNS|UN)\b/i.exec(scanner.text.slice(scanner.at));
  if (special && tpi >= 4 && tpi <= 100) return { series: special[1]!.toUpperCase() as Series, value: tpi };
  return scanner.fail(`${size.size} is made with ${list(size)} threads per inch`, at);
}

function readSeries(scanner: Scanner, size: ThreadSize, pitch: Pitch | null): Pitch | null {
  const before = scanner.at;
  const match = scanner.take(String.raw`[\s-]*(UNC|UNF|UNEF|UNS|UN|NC|NF|coarse|fine)\b`);
  if (!match) return null;
  const word = match[1]!.toUpperCase();
  const at = before + match[0].length - match[1]!.length;
  const series = ({ NC: 'UNC', NF: 'UNF', COARSE: 'UNC', FINE: 'UNF' }[word] ?? word) as Series;
  if (pitch && (pitch.series === series || series === 'UN' || series === 'UNS')) return pitch;
  const named = size.pitches.find(([name]) => name === series);
  if (pitch) {
    const says = named
      ? `${size.size} ${series} has ${named[1]} threads per inch`
      : `there is no ${size.size} ${series}`;
    scanner.fail(`${says}; ${pitch.value} is ${pitch.series}`, at);
  }
  return named ? { series, value: named[1] } : scanner.fail(`there is no ${size.size} ${series}`, at);
}

function readFit(scanner: Scanner, pattern: string, expected: string): string | null {
  const match = scanner.take(String.raw`(?:\s*-\s*|\s+)(${pattern})`);
  if (match) return match[1]!;
  // A dash with a digit after the thread can only have been meant as a tolerance class.
  const dash = scanner.take(String.raw`\s*-\s*(?=\d)`);
  return dash ? scanner.fail(`expected ${expected}`) : null;
}

function checkMetricFit(scanner: Scanner, fit: string): void {
  const at = scanner.at - fit.length;
  for (const [, grade, position = ''] of fit.matchAll(/(\d)([a-zA-Z])/g)) {
    if (Number(grade) < 3 || Number(grade) > 9) scanner.fail('a metric tolerance grade runs from 3 to 9', at);
    if (!'efghGH'.includes(position)) scanner.fail('a metric tolerance position is e, f, g, h, G or H', at);
  }
}

function readHand(scanner: Scanner): { leftHand: boolean; starts: number } {
  let leftHand = false;
  let starts = 1;
  for (;;) {
    const hand = scanner.take(String.raw`[\s,-]*\b(LH|RH|left[- ]hand|right[- ]hand)\b`);
    if (hand) leftHand = /^l/i.test(hand[1]!);
    const many = hand ? null : scanner.take(String.raw`[\s,-]*\b(double|triple)\b(?:\s+start\b)?`);
    if (many) starts = /^d/i.test(many[1]!) ? 2 : 3;
    if (!hand && !many) return { leftHand, starts };
  }
}

/** Many write the hand last: `3/8-16 x 1 hex, left-hand`. @returns false if none stands here */
function readLateHand(scanner: Scanner, thread: Thread): boolean {
  const before = scanner.at;
  const { leftHand, starts } = readHand(scanner);
  if (scanner.at === before) return false;
  if (thread.leftHand && !leftHand && /\b(?:RH|right)/i.test(scanner.text.slice(before, scanner.at)))
    scanner.fail('a second hand after left-hand', before);
  thread.leftHand ||= leftHand;
  thread.starts = Math.max(thread.starts, starts);
  return true;
}

function readLength(scanner: Scanner, system: Thread['system']): number | null {
  const before = scanner.at;
  if (!scanner.take(TIMES)) return null;
  const at = scanner.at;
  const written = scanner.take(`${NUMBER}(?![\\d/])`);
  if (!written) scanner.fail('expected a length after x');
  const value = numberValue(written[0]);
  if (!value) scanner.fail('a length must be more than nothing', at);
  const named = scanner.take(String.raw`\s*(?:(mm)\b|("|″|in\b\.?|inch(?:es)?\b))`);
  const inInches = named ? named[2] !== undefined : system === 'inch';
  const millimetres = inInches ? inchesToMillimetres(value) : value;
  if (millimetres > 2000) scanner.fail('a length over two metres is not a fastener', before);
  return millimetres;
}

const VOCABULARY = [
  ...entries('head', HEAD_WORDS),
  ...entries('drive', DRIVE_WORDS),
  ...entries('finish', FINISH_WORDS),
  ...entries('grade', GRADE_WORDS),
  ...IDLE_WORDS.map((word) => ({ word, key: 'idle' as const, value: '' })),
  ...SHEAR_WORDS.map((word) => ({ word, key: 'shear' as const, value: '' })),
  // Longest first, so that `hex nut` is not read as `hex`.
].sort((a, b) => b.word.length - a.word.length);

function entries<K extends string>(key: K, words: Readonly<Record<string, readonly string[]>>) {
  return Object.entries(words).flatMap(([value, list]) => list.map((word) => ({ word, key, value })));
}

/** Reads one word of the vocabulary with the separators around it; false if none stands here. */
function readWord(scanner: Scanner, words: Words): boolean {
  scanner.take(SEPARATORS);
  const at = scanner.at;
  const standard = scanner.take(String.raw`(ISO|DIN|JIS|ASME|ANSI|EN)\s*([A-Z]?\s?\d[\d.]*\d)(?![\w.])`);
  if (standard) {
    if (words.standard) scanner.fail(`a second standard after ${words.standard}`, at);
    words.standard = `${standard[1]!.toUpperCase()} ${standard[2]!.toUpperCase().replace(' ', '')}`;
  } else {
    const entry = VOCABULARY.find(({ word }) => scanner.take(`${word.replace(/[.]/g, '\\.')}(?![\\w.])`));
    if (!entry) return scanner.done;
    if (entry.key === 'shear') words.designedToFail = true;
    else if (entry.key !== 'idle') {
      const said = words[entry.key];
      if (said !== null && said !== entry.value) scanner.fail(`a second ${entry.key} after ${said}`, at);
      Object.assign(words, { [entry.key]: entry.value });
    }
  }
  scanner.take(SEPARATORS);
  return true;
}

function checkWhole(scanner: Scanner, { thread, head, lengthMillimetres, grade }: Fastener): void {
  const fit = thread.toleranceClass;
  const nut = isNut(head);
  if (fit && nut !== isInternal(fit) && head !== null) {
    scanner.fail(`class ${fit} is for ${isInternal(fit) ? 'an internal' : 'an external'} thread, not for this head`, 0);
  }
  if (nut && lengthMillimetres !== null) scanner.fail('a nut has no length', 0);
  const marked = grade?.startsWith('grade') ? 'inch' : grade && /^(\d|class|A\d)/.test(grade) ? 'metric' : null;
  if (marked && marked !== thread.system) {
    scanner.fail(`${grade} is a ${marked} strength on ${thread.system === 'inch' ? 'an inch' : 'a metric'} thread`, 0);
  }
}

function list(size: ThreadSize): string {
  return size.pitches.map(([series, value]) => `${value} (${series})`).join(', ');
}

/** Reads back what the labels draw: the words and the QR codes of a PDF's pages. Made for these checks, not for any PDF. */
import { inflateSync } from 'node:zlib';

export interface PdfPage {
  words: string;
  /** Filled rectangles: left, top, width, height. */
  rectangles: number[][];
}

/** The pages of a PDF in order, each with its text and its filled rectangles. */
export function readPages(pdf: Buffer): PdfPage[] {
  const whole = pdf.toString('latin1');
  const contents = [...whole.matchAll(/\/Type \/Page\n[\s\S]*?\/Contents (\d+) 0 R/g)].map(([, number]) =>
    Number(number),
  );
  const stream = (number: number): string => {
    const object = new RegExp(`(?:^|\\n)${number} 0 obj\\n[\\s\\S]*?/Length (\\d+)[\\s\\S]*?stream\\n`).exec(whole)!;
    const start = object.index + object[0].length;
    return inflateSync(pdf.subarray(start, start + Number(object[1]))).toString('latin1');
  };
  const letters = new Map(
    [...whole.matchAll(/\/(F\d+) (\d+) 0 R/g)].map(([, name, number]) => [
      name!,
      lettersOf(stream(Number(new RegExp(`\\n${number} 0 obj\\n[^]*?/ToUnicode (\\d+) 0 R`).exec(whole)![1]))),
    ]),
  );
  return contents.map((number) => {
    const drawn = stream(number);
    const words = [...drawn.matchAll(/\/(F\d+) [\d.]+ Tf\n\[(.*?)\] TJ/g)]
      .map(([, font, pieces]) =>
        [...pieces!.matchAll(/<([0-9a-f]*)>/g)]
          .map(([, glyphs]) =>
            glyphs!
              .match(/.{4}/g)!
              .map((glyph) => letters.get(font!)![parseInt(glyph, 16)])
              .join(''),
          )
          .join(''),
      )
      .join('\n');
    // A path that is filled ends in f; those stroked are the lines to cut along.
    const filled = [...drawn.matchAll(/((?:[-\d.]+ [-\d.]+ [-\d.]+ [-\d.]+ re\n?)+)f\n/g)];
    return {
      words,
      rectangles: filled.flatMap(([, path]) =>
        [...path!.matchAll(/([-\d.]+) ([-\d.]+) ([-\d.]+) ([-\d.]+) re/g)].map(([, ...four]) => four.map(Number)),
      ),
    };
  });
}

/** By glyph, from what a font says of itself (`/ToUnicode`); one glyph may stand for several letters. */
function lettersOf(map: string): string[] {
  const [, list] = /<0000> <[0-9a-f]{4}> \[(.*?)\]/.exec(map)!;
  return [...list!.matchAll(/<([0-9a-f ]*)>/g)].map(([, codes]) =>
    String.fromCharCode(...codes!.split(' ').map((code) => parseInt(code, 16))),
  );
}

const SIZE = 33;

/** One code's rectangles as its modules, dark being true; the finder pattern in its corner tells how large one is. */
export function modulesOf(rectangles: readonly number[][]): boolean[][] {
  const [left, top, run] = rectangles[0]!;
  const unit = run! / 7;
  const modules = Array.from({ length: SIZE }, () => Array<boolean>(SIZE).fill(false));
  for (const [x, y, width] of rectangles) {
    for (let k = 0; k < Math.round(width! / unit); k += 1)
      modules[Math.round((y! - top!) / unit)]![Math.round((x! - left!) / unit) + k] = true;
  }
  return modules;
}

/**
 * What a version 4-M QR code says in byte mode, by ISO/IEC 18004: 33 modules a side, an alignment pattern at (26, 26), 100
 * codewords in two blocks of 32 data and 18 correction codewords by turns. Nothing is corrected: the code must be whole.
 * The layout is written down from memory of the standard; that common readers read these codes was seen by hand.
 */
export function decodeCode(modules: readonly boolean[][]): string {
  const at = (x: number, y: number): boolean => modules[y]![x]!;
  const mask = (Number(at(2, 8)) ^ 1) * 4 + Number(at(3, 8)) * 2 + (Number(at(4, 8)) ^ 1);
  const masks: ((x: number, y: number) => number)[] = [
    (x, y) => (x + y) % 2,
    (_x, y) => y % 2,
    (x) => x % 3,
    (x, y) => (x + y) % 3,
    (x, y) => (Math.floor(x / 3) + Math.floor(y / 2)) % 2,
    (x, y) => ((x * y) % 2) + ((x * y) % 3),
    (x, y) => (((x * y) % 2) + ((x * y) % 3)) % 2,
    (x, y) => (((x + y) % 2) + ((x * y) % 3)) % 2,
  ];
  const isPattern = (x: number, y: number): boolean =>
    (x < 9 && y < 9) ||
    (x < 9 && y >= SIZE - 8) ||
    (x >= SIZE - 8 && y < 9) ||
    x === 6 ||
    y === 6 ||
    (Math.abs(x - 26) <= 2 && Math.abs(y - 26) <= 2);
  let bits = '';
  for (let right = SIZE - 1; right >= 1; right -= 2) {
    if (right === 6) right = 5;
    for (let step = 0; step < SIZE; step += 1) {
      const y = ((right + 1) & 2) === 0 ? SIZE - 1 - step : step;
      for (const x of [right, right - 1])
        if (!isPattern(x, y)) bits += at(x, y) !== (masks[mask]!(x, y) === 0) ? '1' : '0';
    }
  }
  const codewords = Array.from({ length: 100 }, (_, k) => bits.slice(8 * k, 8 * k + 8));
  const data = [0, 1].flatMap((block) => codewords.slice(0, 64).filter((_, k) => k % 2 === block)).join('');
  if (data.slice(0, 4) !== '0100') throw new Error(`not in byte mode: ${data.slice(0, 4)}`);
  const length = parseInt(data.slice(4, 12), 2);
  return Buffer.from(Array.from({ length }, (_, k) => parseInt(data.slice(12 + 8 * k, 20 + 8 * k), 2))).toString(
    'utf8',
  );
}

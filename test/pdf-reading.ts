/** Reads back what the labels draw: the words and the QR codes of a PDF's pages. Made for these checks, not for any PDF. */
import { createRequire } from 'node:module';
import { inflateSync } from 'node:zlib';
import type jsQR from 'jsqr';

// The package is of an older kind, whose export has another name for a module than for a compiler.
const readCode = createRequire(import.meta.url)('jsqr') as typeof jsQR.default;

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
/**
 * What a drawn QR code says, read by a public decoder from its rectangles painted as pixels.
 * @param rectangles of one code, the first being the upper edge of its first finder pattern: seven modules wide
 */
export function decodeCode(rectangles: readonly number[][]): string {
  const [left, top, run] = rectangles[0] as [number, number, number];
  const unit = run / 7;
  const cell = (value: number, from: number) => Math.round((value - from) / unit);
  const size = Math.max(...rectangles.map(([x = 0, , width = 0]) => cell(x, left) + Math.round(width / unit)));
  const quiet = 4;
  const scale = 4;
  const side = (size + 2 * quiet) * scale;
  const pixels = new Uint8ClampedArray(side * side * 4).fill(255);
  for (const [x = 0, y = 0, width = 0] of rectangles)
    for (let dx = 0; dx < Math.round(width / unit) * scale; dx += 1)
      for (let dy = 0; dy < scale; dy += 1) {
        const column = (cell(x, left) + quiet) * scale + dx;
        const row = (cell(y, top) + quiet) * scale + dy;
        pixels.fill(0, (row * side + column) * 4, (row * side + column) * 4 + 3);
      }
  const read = readCode(pixels, side, side);
  if (!read) throw new Error('no code can be read');
  return read.data;
}

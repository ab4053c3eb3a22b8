/**
 * What becomes of a picture that is sent: it is told by its content what it is, decoded once within limits, turned upright
 * and written anew, so that nothing of the file that came is kept, the place it was taken at least of all.
 */
import sharp from 'sharp';
import { EngineError } from '../engine/error.js';

export interface Normalised {
  full: Uint8Array;
  thumbnail: Uint8Array;
  /** Pixels of `full`. */
  width: number;
  height: number;
}

/** Pixels of what is decoded at most: twice what the finest camera of a phone takes. */
const MAX_PIXELS = 100_000_000;
const SECONDS = 20;
/** The longer side of what is kept: sharp on any screen, legible in print. */
const FULL_SIDE = 2048;
export const THUMBNAIL_BYTES = 10_240;
const thumbnails = [
  { side: 320, quality: 60 },
  { side: 280, quality: 45 },
  { side: 240, quality: 35 },
  { side: 160, quality: 30 },
  { side: 96, quality: 25 },
];

export type PictureFormat = 'jpeg' | 'png' | 'webp';

/**
 * By the first bytes, whatever the name says.
 * Sources: ITU T.81 (JPEG), W3C PNG 3rd edition, RFC 9649 (WebP), ISO/IEC 23008-12 (HEIF).
 */
export function formatOf(content: Uint8Array): PictureFormat | 'heif' | undefined {
  const latin = (from: number, to: number) => String.fromCharCode(...content.subarray(from, to));
  if (content[0] === 0xff && content[1] === 0xd8 && content[2] === 0xff) return 'jpeg';
  if (latin(0, 8) === '\x89PNG\r\n\x1a\n') return 'png';
  if (latin(0, 4) === 'RIFF' && latin(8, 12) === 'WEBP') return 'webp';
  if (latin(4, 8) === 'ftyp' && /^(hei|hev|mif1|msf1|avi)/.test(latin(8, 12))) return 'heif';
  return undefined;
}

/** @throws EngineError for a kind of file that is not taken in, in words that say what to do */
export function requireFormat(content: Uint8Array): PictureFormat {
  const format = formatOf(content);
  if (format === 'heif')
    throw new EngineError(
      'unknown-picture-format',
      'This picture is in the HEIF format. ' +
        'Choose JPEG (“most compatible”) in the camera’s settings, or send a JPEG, PNG or WebP.',
    );
  if (!format)
    throw new EngineError('unknown-picture-format', 'This is no picture that can be read: send a JPEG, PNG or WebP.');
  return format;
}

/**
 * @returns JPEG: the whole, at most 2,048 pixels a side, and a thumbnail of at most 10 kB
 * @throws EngineError when it is no whole picture, or holds too many pixels
 */
export async function normalisePicture({ content }: { content: Uint8Array }): Promise<Normalised> {
  requireFormat(content);
  try {
    // The head alone tells the size: nothing is decoded before that is known to be bearable.
    const { width, height } = await sharp(content, { limitInputPixels: false }).metadata();
    if (width * height > MAX_PIXELS)
      throw new EngineError(
        'picture-too-large',
        `The picture has ${Math.round((width * height) / 1e6)} million pixels; ` +
          `at most ${MAX_PIXELS / 1e6} million are taken. Send a smaller one.`,
      );
    const whole = await sharp(content, { limitInputPixels: MAX_PIXELS, failOn: 'error', sequentialRead: true })
      .timeout({ seconds: SECONDS })
      .rotate()
      .resize({ width: FULL_SIDE, height: FULL_SIDE, fit: 'inside', withoutEnlargement: true })
      .flatten({ background: '#fff' })
      .jpeg({ quality: 80, mozjpeg: true })
      .toBuffer({ resolveWithObject: true });
    return {
      full: whole.data,
      thumbnail: await thumbnailOf(whole.data),
      width: whole.info.width,
      height: whole.info.height,
    };
  } catch (error) {
    if (error instanceof EngineError) throw error;
    throw new EngineError(
      'unreadable-picture',
      'The picture did not arrive whole, or is damaged: take it again, or send another.',
    );
  }
}

async function thumbnailOf(full: Buffer): Promise<Uint8Array> {
  let small: Buffer = full;
  for (const { side, quality } of thumbnails) {
    small = await sharp(full)
      .resize({ width: side, height: side, fit: 'inside', withoutEnlargement: true })
      .jpeg({ quality, mozjpeg: true })
      .toBuffer();
    if (small.length <= THUMBNAIL_BYTES) break;
  }
  return small;
}

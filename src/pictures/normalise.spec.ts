import { describe, expect, it } from '@jest/globals';
import sharp from 'sharp';
import { formatOf, normalisePicture, THUMBNAIL_BYTES } from './normalise.js';

/** Noise: what compresses worst. */
const noise = (width: number, height: number) =>
  sharp({
    create: { width, height, channels: 3, background: '#888', noise: { type: 'gaussian', mean: 128, sigma: 60 } },
  });

const refused = async (content: Uint8Array) => normalisePicture({ content }).catch((error: Error) => error.message);

describe('a picture that is sent', () => {
  it.each(['jpeg', 'png', 'webp'] as const)('is taken as %s by its content and kept as JPEG', async (format) => {
    const sent = await noise(640, 480)[format]().toBuffer();
    expect(formatOf(sent)).toBe(format);
    const made = await normalisePicture({ content: sent });
    expect([formatOf(made.full), formatOf(made.thumbnail)]).toEqual(['jpeg', 'jpeg']);
    expect([made.width, made.height]).toEqual([640, 480]);
  });

  it('is kept within 2,048 pixels a side, with a thumbnail of at most 10 kB even of noise', async () => {
    const made = await normalisePicture({ content: await noise(3000, 2000).jpeg({ quality: 90 }).toBuffer() });
    expect([made.width, made.height]).toEqual([2048, 1365]);
    expect(made.thumbnail.length).toBeLessThanOrEqual(THUMBNAIL_BYTES);
    expect(Math.max((await sharp(made.thumbnail).metadata()).width, 0)).toBeGreaterThanOrEqual(96);
  });

  it('stands upright and tells neither place nor camera', async () => {
    // Orientation 6 (Exif 2.32, tag 0x0112): the camera was held upright, the rows run down the right side.
    const sent = await noise(400, 300)
      .jpeg()
      .withExif({
        IFD0: { Make: 'Invented', Orientation: '6' },
        IFD3: { GPSLatitudeRef: 'N', GPSLatitude: '51/1 30/1 0/1' },
      })
      .withMetadata({ orientation: 6 })
      .toBuffer();
    expect((await sharp(sent).metadata()).exif).toBeDefined();
    const made = await normalisePicture({ content: sent });
    expect([made.width, made.height]).toEqual([300, 400]);
    for (const file of [made.full, made.thumbnail]) {
      const { exif, xmp, iptc, orientation } = await sharp(file).metadata();
      expect([exif, xmp, iptc, orientation]).toEqual([undefined, undefined, undefined, undefined]);
    }
  });

  it('is refused in words when it is of another kind, whatever it is called', async () => {
    const heif = Buffer.concat([Buffer.from([0, 0, 0, 24]), Buffer.from('ftypheic0000mif1heic')]);
    expect(await refused(heif)).toMatch(/HEIF.*JPEG/);
    expect(await refused(Buffer.from('<svg xmlns="http://www.w3.org/2000/svg"/>'))).toMatch(/JPEG, PNG or WebP/);
    expect(await refused(Buffer.from('GIF89a......'))).toMatch(/JPEG, PNG or WebP/);
    expect(await refused(new Uint8Array())).toMatch(/JPEG, PNG or WebP/);
  });

  it('is refused before it is decoded when it would unfold to too many pixels', async () => {
    const bomb = await sharp({ create: { width: 12_000, height: 9_000, channels: 3, background: '#fff' } })
      .png()
      .toBuffer();
    expect(bomb.length).toBeLessThan(1_000_000);
    const from = process.cpuUsage();
    expect(await refused(bomb)).toMatch(/108 million pixels/);
    expect(process.cpuUsage(from).user).toBeLessThan(200_000);
  });

  it('is refused when it did not arrive whole or is damaged', async () => {
    const whole = await noise(640, 480).jpeg().toBuffer();
    expect(await refused(whole.subarray(0, whole.length / 2))).toMatch(/not arrive whole/);
    expect(await refused(whole.subarray(0, 40))).toMatch(/not arrive whole/);
    expect(
      await refused(Buffer.concat([Buffer.from([0xff, 0xd8, 0xff]), Buffer.from('and nothing of the kind')])),
    ).toMatch(/not arrive whole/);
  });
});

import { describe, expect, it } from '@jest/globals';
import { acrossFlats, deriveFacts, INCH, noWrenchReason, parseDesignation } from './index.js';
import { INCH_SIZES, METRIC_SIZES } from './threads.js';

const read = (text: string) => parseDesignation(text).fastener;
const tool = (text: string) => acrossFlats(read(text))[0]?.tool;
const millimetres = (text: string) => acrossFlats(read(text)).map((one) => one.millimetres);

describe('wrenches of the sizes beside the common ones', () => {
  // FreeCAD_FastenersWB FsData/iso4014head.csv and DIN934.csv, column s; the two standards differ at M22 alone (§1.2 says so too).
  it.each([
    ['M3', 5.5],
    ['M4', 7],
    ['M7', 11],
    ['M18', 27],
    ['M20', 30],
    ['M24', 36],
    ['M27', 41],
    ['M30', 46],
    ['M33', 50],
    ['M36', 55],
    ['M39', 60],
  ])('metric hex %s: %p mm by ISO and by DIN', (size, wrench) => {
    expect(millimetres(`${size} x 60 hex`).slice(0, 2)).toEqual([wrench, wrench]);
    expect(millimetres(`${size} hex nut`).slice(0, 2)).toEqual([wrench, wrench]);
  });
  it('M22 is 34 mm by ISO and 32 mm by DIN, and the answer says to measure', () => {
    expect(millimetres('M22 x 60 hex')).toEqual([34, 32]);
    expect(deriveFacts(read('M22 x 60 hex, 8.8')).cautions.join(' ')).toContain('Measure');
  });

  // The same, asmeb18.2.1.6def.csv (s in mm: 33.3375, 38.1, 42.8625, 47.625, 52.3875, 57.15).
  it.each([
    ['7/8', '1-5/16', 33.3375],
    ['1', '1-1/2', 38.1],
    ['1-1/8', '1-11/16', 42.8625],
    ['1-1/4', '1-7/8', 47.625],
    ['1-3/8', '2-1/16', 52.3875],
    ['1-1/2', '2-1/4', 57.15],
  ])('inch hex %s: %s in', (size, wrench, wide) => {
    for (const form of ['hex', 'hex nut', 'square head', 'square nut']) {
      const text = form.endsWith('nut') ? `${size} ${form}` : `${size} x 3 ${form}`;
      expect([form, tool(text)]).toEqual([form, `${wrench} in`]);
      expect(millimetres(text)[0]).toBeCloseTo(wide, 4);
    }
  });

  // asmeb18.2.1.1def.csv and asmeb18.2.2.2def.csv, column F: a square nut is wider than the square head below 3/4.
  it.each([
    ['1/4', 0.375, 0.4375],
    ['5/16', 0.5, 0.5625],
    ['3/8', 0.5625, 0.625],
    ['1/2', 0.75, 0.8125],
    ['3/4', 1.125, 1.125],
  ])('square %s: head %p in, nut %p in', (size, head, nut) => {
    expect(millimetres(`${size} x 2 square head`)[0]).toBeCloseTo(head * INCH, 6);
    expect(millimetres(`${size} square nut`)[0]).toBeCloseTo(nut * INCH, 6);
  });

  // en1665def.csv and iso4162def.csv (s_max), iso4161def.csv (s_max).
  it.each([
    ['M6', 10, 8, 10],
    ['M8', 13, 10, 13],
    ['M10', 16, 13, 15],
    ['M12', 18, 15, 18],
    ['M16', 24, 21, 24],
  ])('metric hex flange %s: heavy series %p, small series %p, nut %p mm', (size, heavy, small, nut) => {
    expect(millimetres(`${size} x 30 hex flange`)).toEqual([heavy, small]);
    expect(millimetres(`${size} x 30 hex flange, ISO 4162`)).toEqual([small]);
    expect(millimetres(`${size} x 30 hex flange, EN 1665`)).toEqual([heavy]);
    expect(millimetres(`${size} flange nut`)).toEqual([nut]);
  });

  // asmeb18.2.1.8def.csv (s in mm); asmeb18.2.2.12def.csv gives least widths F, each within 0.02 in below the wrench.
  it.each([
    ['1/4', 9.525, 0.433],
    ['5/16', 12.7, 0.4945],
    ['3/8', 14.2875, 0.5565],
    ['1/2', 19.05, 0.743],
    ['3/4', 28.575, 1.1065],
  ])('inch hex flange %s: %p mm, its nut from %p in', (size, wide, least) => {
    expect(millimetres(`${size} x 1 hex flange`)[0]).toBeCloseTo(wide, 4);
    const nut = millimetres(`${size} flange nut`)[0]! / INCH;
    expect(nut).toBeGreaterThan(least);
    expect(nut - least).toBeLessThan(0.02);
  });

  // iso4762def.csv (s_mean less its clearance) and asmeb18.3.1adef.csv (s_mean in mm).
  it.each([
    ['M20', 17],
    ['M24', 19],
    ['M30', 22],
    ['M36', 27],
    ['7/8', 19.05],
    ['1-1/8', 22.225],
    ['1-1/2', 25.4],
  ])('key of a socket cap screw %s: %p mm', (size, key) =>
    expect(millimetres(`${size} x 90 mm socket cap`)[0]).toBeCloseTo(key, 4),
  );
});

describe('every size and head of the trade', () => {
  const forms = ['hex', 'hex nut', 'hex flange', 'flange nut', 'square head', 'square nut', 'socket cap', 'heavy hex'];
  it('gets a wrench wider than its thread, or a sentence that says why none', () => {
    let named = 0;
    for (const { size, diameter } of [...INCH_SIZES, ...METRIC_SIZES]) {
      for (const form of forms) {
        const fastener = read(form.endsWith('nut') ? `${size} ${form}` : `${size} x 30 mm ${form}`);
        const flats = acrossFlats(fastener);
        const reason = noWrenchReason(fastener);
        expect([size, form, flats.length > 0]).toEqual([size, form, reason === null]);
        named += flats.length > 0 ? 1 : 0;
        const across = (one: (typeof flats)[number]) =>
          fastener.thread.system === 'inch' ? one.millimetres / INCH : one.millimetres;
        // A DIN 478 square is as wide as its thread, and a key goes into the screw.
        const least = form === 'socket cap' ? 0.4 : form === 'square head' ? 1 : 1.2;
        for (const one of flats) expect(across(one) / diameter).toBeGreaterThanOrEqual(least);
      }
    }
    // 24 inch and 23 metric sizes; hex heads and nuts of every one from 1/4 in and M1.6 up have one.
    expect(named).toBeGreaterThanOrEqual(210);
    for (const { size } of [...METRIC_SIZES, ...INCH_SIZES.filter((one) => one.diameter >= 0.25)])
      expect([size, tool(`${size} hex nut`) !== undefined]).toEqual([size, true]);
  });

  it('says that the head is missing, that a head takes no wrench, and that a table has no such row', () => {
    expect(noWrenchReason(read('5/16-18 x 1'))).toContain('names no head');
    expect(deriveFacts(read('5/16-18 x 1')).wrenchReasons).toHaveLength(1);
    expect(noWrenchReason(read('5/16-18 x 1 carriage'))).toContain('on the nut');
    expect(noWrenchReason(read('#10-24 x 1 pan head'))).toContain('driver');
    expect(noWrenchReason(read('M30 x 60 hex flange'))).toBe(
      'EN 1665, ISO 4162 has no row for M30 here: measure across the flats.',
    );
    expect(noWrenchReason(read('M24 x 60 heavy hex'))).toContain('No table of heavy hex sizes in millimetres');
    expect(noWrenchReason(read('1/4-20 x 1 hex'))).toBeNull();
    expect(deriveFacts(read('1/4-20 x 1 hex')).wrenchReasons).toEqual([]);
  });
});

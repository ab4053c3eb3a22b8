import { describe, expect, it } from '@jest/globals';
import { acrossFlats, clearanceHoles, deriveFacts, INCH, parseDesignation, tapDrill } from './index.js';
import { INCH_SIZES, METRIC_SIZES } from './threads.js';

const read = (text: string) => parseDesignation(text).fastener;
const tool = (text: string) => acrossFlats(read(text))[0]?.tool;

describe('wrench to reach for', () => {
  it('a 7/16 in wrench fits the quarter-inch hex bolts of these machines (common practice, no source)', () => {
    expect(tool('1/4-20 x 3/4 hex, grade 5, zinc')).toBe('7/16 in');
    expect(tool('1/4-28 x 1 hex')).toBe('7/16 in');
  });

  // check-values.md §1.2: ASME B18.2.1, machinecalcs.com/wrench-size-chart.
  it.each([
    ['1/4', '7/16'],
    ['5/16', '1/2'],
    ['3/8', '9/16'],
    ['7/16', '5/8'],
    ['1/2', '3/4'],
    ['9/16', '13/16'],
    ['5/8', '15/16'],
    ['3/4', '1-1/8'],
  ])('inch hex cap screw %s: %s in', (size, wrench) => expect(tool(`${size} x 1 hex`)).toBe(`${wrench} in`));

  // The same: ISO 4014/4017, old DIN 931/933, JIS small (ficientdesign.com; en.wikipedia.org Width across flats for the
  // change of M10 and M12 from 17 and 19).
  it.each([
    ['M5', 8, 8, 8],
    ['M6', 10, 10, 10],
    ['M8', 13, 13, 12],
    ['M10', 16, 17, 14],
    ['M12', 18, 19, 17],
    ['M14', 21, 22, 19],
    ['M16', 24, 24, 22],
  ])('metric hex %s: ISO %p, DIN %p, JIS %p', (size, iso, din, jis) => {
    expect(tool(`${size} x 30 hex, ISO 4017`)).toBe(`${iso} mm`);
    expect(tool(`${size} x 30 hex, DIN 933`)).toBe(`${din} mm`);
    expect(tool(`${size} x 30 hex, JIS B1180`)).toBe(`${jis} mm`);
    const unsaid = acrossFlats(read(`${size} x 30 hex`));
    expect(unsaid.map((f) => f.millimetres)).toEqual([iso, din, jis]);
  });

  it('heavy hex is one step larger: 1/2 → 7/8', () => expect(tool('1/2-13 x 2 heavy hex')).toBe('7/8 in'));

  // ASME B18.2.2 as reproduced at fdocuments.in nutsspec: the 7/16 nut is wider than the 7/16 bolt head.
  it.each([
    ['1/4', '7/16'],
    ['5/16', '1/2'],
    ['3/8', '9/16'],
    ['7/16', '11/16'],
    ['1/2', '3/4'],
    ['5/8', '15/16'],
  ])('inch hex nut %s: %s in', (size, wrench) => expect(tool(`${size} hex nut`)).toBe(`${wrench} in`));

  // ASME B18.2.2 wrench openings (engineersedge.com wrench_openings_table_15788), in: a wrench is wider than its head.
  it.each([
    ['1/4', 0.44, 0.446],
    ['5/16', 0.504, 0.51],
    ['3/8', 0.566, 0.573],
    ['1/2', 0.755, 0.763],
  ])('the head of %s enters an opening of %p–%p in', (size, low, high) => {
    const across = acrossFlats(read(`${size} x 1 hex`))[0]!.millimetres / INCH;
    expect(across).toBeLessThan(low);
    expect(high - across).toBeLessThan(0.02);
  });

  it('says that metric heads differ, and says nothing where nothing is held', () => {
    expect(deriveFacts(read('M10 x 30 hex, 8.8')).cautions.join(' ')).toContain('17 mm (DIN (before ISO 272))');
    expect(acrossFlats(read('1/4-20 x 1 carriage'))).toEqual([]);
    expect(tool('1/4-20 x 1 socket cap')).toBe('3/16 in');
    expect(tool('M6 x 20 socket cap')).toBe('5 mm');
  });
});

describe('holes', () => {
  // medesign.seas.upenn.edu tap drill chart (read), inches.
  it.each([
    ['#4-40', 0.089],
    ['#6-32', 0.1065],
    ['#8-32', 0.136],
    ['#10-24', 0.1495],
    ['#10-32', 0.159],
    ['1/4-20', 0.201],
    ['1/4-28', 0.213],
    ['5/16-18', 0.257],
    ['3/8-16', 0.3125],
    ['1/2-13', 0.421875],
  ])('tap drill for %s: %p in', (text, inches) => {
    expect(tapDrill(read(text).thread)!.millimetres / INCH).toBeCloseTo(inches, 6);
  });

  it('every tap drill leaves 58 to 83 % of a full thread', () => {
    // Percentage of thread as charts state it: (diameter − drill) / (1.299 · pitch); aimed at 75 % (common practice).
    for (const size of [...INCH_SIZES, ...METRIC_SIZES]) {
      for (const [, pitch] of size.pitches) {
        const { thread } = read(`${size.size}${size.size.startsWith('M') ? 'x' : '-'}${pitch}`);
        const drill = tapDrill(thread);
        if (!drill) continue;
        const share = (thread.majorDiameterMillimetres - drill.millimetres) / (1.299 * thread.pitchMillimetres);
        expect([thread.size, pitch, share > 0.58 && share < 0.83]).toEqual([thread.size, pitch, true]);
      }
    }
  });

  // ISO 273 fine and medium as reproduced at engineeringhardware.com.
  it.each([
    ['M5', 5.3, 5.5],
    ['M6', 6.4, 6.6],
    ['M8', 8.4, 9],
    ['M10', 10.5, 11],
    ['M12', 13, 13.5],
  ])('clearance for %s: %p and %p mm', (size, close, free) => {
    const holes = clearanceHoles(read(size).thread)!;
    expect([holes.close.millimetres, holes.free.millimetres]).toEqual([close, free]);
  });

  // medesign.seas.upenn.edu tap drill chart, close and free, inches.
  it.each([
    ['#10', 0.196, 0.201],
    ['1/4', 0.257, 0.266],
    ['5/16', 0.323, 0.332],
    ['3/8', 0.386, 0.397],
    ['1/2', 0.516, 0.531],
  ])('clearance for %s: %p and %p in', (size, close, free) => {
    const holes = clearanceHoles(read(`${size} UNC`).thread)!;
    expect(Math.abs(holes.close.millimetres / INCH - close)).toBeLessThan(0.001);
    expect(Math.abs(holes.free.millimetres / INCH - free)).toBeLessThan(0.001);
  });

  it('says null, not a guess, where no table is held', () => {
    expect(tapDrill(read('1-8').thread)).toBeNull();
    expect(clearanceHoles(read('1-8').thread)).toBeNull();
  });
});

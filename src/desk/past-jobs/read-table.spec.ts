import { describe, expect, it } from '@jest/globals';
import { spreadHours } from './hours-spread.js';
import { dayOrderOf, readAmount, readDate, readHours, readKind, readTable } from './read-table.js';

describe('a table of past machines', () => {
  it('is read in any order of columns and by any usual heading; what is not understood is named', () => {
    const { columns, rows } = readTable('Sold for;Make;Colour;HOURS STRIP\n480;Norvane;red;3,5\n;;;\n\n;Pikestone;;');
    expect(columns.map((one) => [one.header, one.field ?? one.hoursOf])).toEqual([
      ['Sold for', 'salePrice'],
      ['Make', 'maker'],
      ['Colour', null],
      ['HOURS STRIP', 'strip'],
    ]);
    expect(rows).toEqual([
      { line: 2, cells: { salePrice: '480', maker: 'Norvane' }, hours: { strip: '3,5' } },
      { line: 5, cells: { maker: 'Pikestone' }, hours: {} },
    ]);
  });
  it('is refused where two columns say the same, or where it is none', () => {
    expect(() => readTable('maker,brand\na,b')).toThrow('"maker" and "brand" say the same thing');
    expect(() => readTable('')).toThrow('empty');
    expect(() => readTable('a,b\n"1,2\n')).toThrow('could not be read');
  });
  it.each([
    ['60', '60'],
    ['$1,240.50', '1240.50'],
    ['59,70', '59.70'],
    ['1.240,50 €', '1240.50'],
    ['CAD 12', '12'],
    ['-5', undefined],
    ['about 60', '60'],
    ['none', undefined],
  ])('the amount %j is %j', (text, amount) => expect(readAmount(text)).toBe(amount));
  it.each([
    ['14.5', 870],
    ['14,5', 870],
    ['14:30', 870],
    ['2 h 15', 135],
    ['3h', 180],
    ['3 hours', 180],
    ['a day', undefined],
    ['-2', undefined],
  ])('%j are %j minutes', (text, minutes) => expect(readHours(text)).toBe(minutes));
  it.each([
    ['2025-04-03', 'monthFirst', '2025-04-03'],
    ['3.4.2025', 'monthFirst', '2025-04-03'],
    ['3/4/2025', 'dayFirst', '2025-04-03'],
    ['3/4/25', 'monthFirst', '2025-03-04'],
    ['2025/4/3', 'dayFirst', '2025-04-03'],
    ['29.2.2025', 'dayFirst', undefined],
    ['April 3', 'dayFirst', undefined],
  ] as const)('the date %j, %s, is %j', (text, order, date) => expect(readDate(text, order)).toBe(date));
  it('tells the order of day and month from the file, and when it contradicts itself', () => {
    expect(dayOrderOf(['3/4/2025', '25/4/2025'])).toBe('dayFirst');
    expect(dayOrderOf(['3/4/2025', '4/25/2025'])).toBe('monthFirst');
    expect(dayOrderOf(['25/4/2025', '4/25/2025'])).toBe('both');
    expect(dayOrderOf(['3/4/2025', '2025-04-25'])).toBeNull();
  });
  it.each([
    ['Two-stage', 'twoStageThrower'],
    ['2 stage thrower', 'twoStageThrower'],
    ['single stage', 'singleStageThrower'],
    ['singleStageThrower', 'singleStageThrower'],
    ['Push mower', 'walkBehindMower'],
    ['tiller', 'other'],
    ['car', undefined],
  ])('the kind %j is %j', (text, kind) => expect(readKind(text)).toBe(kind));
});

describe('remembered hours', () => {
  const days = { from: '2025-03-03', to: '2025-03-05', timeZone: 'UTC' };
  const at = (day: number, hour: number) => Date.UTC(2025, 2, day, hour);
  it('are laid on as few days as eight hours a day allow, around what else was worked', () => {
    const taken = [{ start: at(3, 9), end: at(3, 12) }];
    // 10 h: 7 to 9 and 12 to 18 on the 3rd make eight, two more on the 4th.
    expect(spreadHours(600, days, taken)).toEqual([
      { start: at(3, 7), end: at(3, 9) },
      { start: at(3, 12), end: at(3, 18) },
      { start: at(4, 7), end: at(4, 9) },
    ]);
    // The next machine's hours begin where these leave room: 18 to 21 on the 3rd.
    expect(spreadHours(60, days, taken)).toEqual([{ start: at(3, 18), end: at(3, 19) }]);
  });
  it('that the days do not hold are not laid anywhere', () => {
    expect(spreadHours(24 * 60 + 1, days, [])).toBeUndefined();
    expect(spreadHours(24 * 60, days, [])).toHaveLength(3);
  });
  it('never overlap, whatever was worked besides, and add up (200 cases)', () => {
    let seed = 7;
    const random = (below: number) => (seed = (seed * 1103515245 + 12345) % 2 ** 31) % below;
    for (let round = 0; round < 200; round += 1) {
      const taken = [0, 1, 2].map((k) => {
        const start = at(3 + k, 6 + random(10));
        return { start, end: start + random(300) * 60_000 };
      });
      const minutes = 1 + random(900);
      const made = spreadHours(minutes, days, taken);
      const all = [...taken].sort((a, b) => a.start - b.start).filter((one) => one.end > one.start);
      for (let k = 1; k < all.length; k += 1) expect(all[k]!.start).toBeGreaterThanOrEqual(all[k - 1]!.end);
      if (made) expect(made.reduce((sum, one) => sum + (one.end - one.start) / 60_000, 0)).toBe(minutes);
    }
  });
});

import { expect, it } from '@jest/globals';
import fc from 'fast-check';
import { dayNumber, isoDay, monthDay, onYear, parseDay, yearOf } from './days.js';

it('counts days as the platform does, both ways', () => {
  // From year 1 to year 9999.
  fc.assert(
    fc.property(fc.integer({ min: -719_162, max: 2_932_896 }), (number) => {
      const iso = new Date(number * 86_400_000).toISOString().slice(0, 10);
      expect(isoDay(number)).toBe(iso);
      expect(dayNumber(iso)).toBe(number);
      expect(yearOf(number)).toBe(Number(iso.slice(0, 4)));
    }),
    { numRuns: 2000 },
  );
  for (const iso of ['1900-02-28', '2000-02-29', '2024-12-31', '1970-01-01', '0001-01-01'])
    expect(isoDay(dayNumber(iso))).toBe(iso);
});

it('knows which days do not exist', () => {
  for (const text of [
    '2023-02-29',
    '1900-02-29',
    '2024-13-01',
    '2024-00-10',
    '2024-04-31',
    '2024-4-01',
    '',
    '0000-01-01',
  ])
    expect(parseDay(text)).toBeUndefined();
  expect(() => dayNumber('2023-02-29', 'startDate')).toThrow(
    expect.objectContaining({ code: 'bad-day', path: 'startDate' }),
  );
  expect(isoDay(onYear(monthDay('02-29'), 2023))).toBe('2023-02-28');
  expect(() => monthDay('13-01')).toThrow(expect.objectContaining({ code: 'bad-month-day' }));
});

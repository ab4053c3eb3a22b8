import { describe, expect, it } from '@jest/globals';
import { levels, LocalMinutes, openIntervals } from './shop-calendar.js';

const TORONTO = 'America/Toronto';
const weekdays = [1, 2, 3, 4, 5].map((weekday) => ({ weekday, opens: '09:00', closes: '17:00' }));

describe('minutes since the midnight at the start of today', () => {
  // IANA tz: America/Toronto went back an hour on 1 November 2026 at 02:00 and forward on 8 March 2026 at 02:00.
  it('count 25 hours on the day the clock goes back', () => {
    const local = new LocalMinutes('2026-10-31', TORONTO);
    expect(local.midnight(1)).toBe(1440);
    expect(local.midnight(2)).toBe(1440 + 1500);
    // Nine in the morning is ten hours after that midnight.
    expect(local.at(1, 540)).toBe(1440 + 600);
    expect(local.at(1, 1440)).toBe(local.midnight(2));
    expect(local.dayOf(2939)).toBe('2026-11-01');
    expect(local.dayOf(2940)).toBe('2026-11-02');
    expect(local.toInstant(local.at(1, 540)).toISOString()).toBe('2026-11-01T14:00:00.000Z');
  });

  it('count 23 hours on the day the clock goes forward, and put a time that does not exist an hour later', () => {
    const local = new LocalMinutes('2026-03-07', TORONTO);
    expect(local.midnight(2)).toBe(1440 + 1380);
    expect(local.at(1, 540)).toBe(1440 + 480);
    expect(local.toInstant(local.at(1, 150)).toISOString()).toBe('2026-03-08T07:30:00.000Z');
    expect(local.ofInstant(new Date('2026-03-08T07:30:59Z'))).toBe(local.at(1, 150));
  });

  it('reach back before today, and know the weekday', () => {
    const local = new LocalMinutes('2026-09-15', TORONTO);
    expect(local.ofDay('2026-09-14')).toBe(-1440);
    expect(local.ofDay('2026-09-15')).toBe(0);
    expect(local.ofDay('2026-11-02')).toBe(48 * 1440 + 60);
    // 15 September 2026 is a Tuesday.
    expect([0, 5, 6].map((offset) => local.weekday(offset))).toEqual([2, 7, 1]);
    expect(local.dayAt(16)).toBe('2026-10-01');
  });
});

describe('open intervals', () => {
  const local = new LocalMinutes('2026-09-18', TORONTO); // a Friday

  it('follow the week and leave days off out, both ends included', () => {
    expect(openIntervals(local, weekdays, [], 5)).toEqual([
      { startMinutes: 540, endMinutes: 1020 },
      { startMinutes: 3 * 1440 + 540, endMinutes: 3 * 1440 + 1020 },
      { startMinutes: 4 * 1440 + 540, endMinutes: 4 * 1440 + 1020 },
    ]);
    expect(openIntervals(local, weekdays, [{ startDate: '2026-09-21', endDate: '2026-09-22' }], 5)).toEqual([
      { startMinutes: 540, endMinutes: 1020 },
    ]);
  });

  it('join a period that ends at midnight with one that begins there', () => {
    const night = [
      { weekday: 5, opens: '20:00', closes: '24:00' },
      { weekday: 6, opens: '00:00', closes: '02:00' },
    ];
    expect(openIntervals(local, night, [], 3)).toEqual([{ startMinutes: 1200, endMinutes: 1560 }]);
  });

  it('are an hour longer where the clock goes back within them', () => {
    const change = new LocalMinutes('2026-11-01', TORONTO);
    expect(openIntervals(change, [{ weekday: 7, opens: '00:00', closes: '04:00' }], [], 1)).toEqual([
      { startMinutes: 0, endMinutes: 300 },
    ]);
  });
});

describe('levels', () => {
  it('say how many calendars are open at once', () => {
    expect(levels([[{ startMinutes: 0, endMinutes: 100 }], [{ startMinutes: 50, endMinutes: 150 }]])).toEqual([
      { startMinutes: 0, endMinutes: 50, open: 1 },
      { startMinutes: 50, endMinutes: 100, open: 2 },
      { startMinutes: 100, endMinutes: 150, open: 1 },
    ]);
    expect(levels([[{ startMinutes: 0, endMinutes: 10 }], [{ startMinutes: 10, endMinutes: 20 }]])).toEqual([
      { startMinutes: 0, endMinutes: 20, open: 1 },
    ]);
    expect(levels([])).toEqual([]);
  });
});

import { expect, it } from '@jest/globals';
import { addDays } from '../../platform/days.js';
import type { SnowOutlook } from '../../season/first-snow.js';
import { LocalMinutes } from './shop-calendar.js';
import { isLikelyReady, lastReadyMinute, probabilityReady, readyByDate } from './what-counts-as-ready.js';

it('is the same to the day, to the minute and as a chance', () => {
  const marginDays = 14;
  const snow = '2026-12-05';
  const local = new LocalMinutes('2026-11-01', 'America/Toronto');
  // The snow is known to come on that day.
  const outlook = {
    medianDate: snow,
    happenedDate: null,
    sample: [{ weatherYear: 2020, firstSnowDate: snow }],
    curve: [{ day: snow, probability: 1 }],
  } as Pick<SnowOutlook, 'medianDate' | 'happenedDate' | 'sample' | 'curve'> as SnowOutlook;
  const readyBy = readyByDate(outlook, marginDays);
  for (let day = '2026-11-15'; day < '2026-11-28'; day = addDays(day, 1)) {
    const ready = isLikelyReady(day, readyBy);
    expect(ready).toBe(day <= '2026-11-21');
    expect(local.endOfDay(day) - 1 <= lastReadyMinute(snow, marginDays, local)).toBe(ready);
    expect(probabilityReady(outlook, day, marginDays)).toBe(ready ? 1 : 0);
  }
});

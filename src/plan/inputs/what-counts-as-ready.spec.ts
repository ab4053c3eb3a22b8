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
  const season = { marginDays, endDate: '2027-03-15' };
  const readyBy = readyByDate(outlook, marginDays);
  for (let day = '2026-11-15'; day < '2026-11-28'; day = addDays(day, 1)) {
    const ready = isLikelyReady(day, readyBy);
    expect(ready).toBe(day <= '2026-11-21');
    expect(local.endOfDay(day) - 1 <= lastReadyMinute(snow, season, local)).toBe(ready);
    expect(probabilityReady(outlook, day, season)).toBe(ready ? 1 : 0);
  }
  // In a winter without snow it is the end of the season that counts, for the plan and for a sure finish.
  const none = {
    ...outlook,
    sample: [{ weatherYear: 2020, firstSnowDate: null }],
    curve: [{ day: snow, probability: 0 }],
  };
  for (const day of ['2027-03-15', '2027-03-16']) {
    expect(probabilityReady(none, day, season)).toBe(day <= season.endDate ? 1 : 0);
    expect(local.endOfDay(day) - 1 <= lastReadyMinute(null, season, local)).toBe(day <= season.endDate);
  }
});

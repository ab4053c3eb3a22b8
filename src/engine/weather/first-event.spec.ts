import { describe, expect, it } from '@jest/globals';
import { dayNumber, isoDay } from '../days.js';
import {
  type EventRule,
  findSeasons,
  firstSnowRule,
  lastFrostRule,
  seasonLabel,
  seasonSpan,
  seasonStartYear,
} from './first-event.js';
import { emptyDay, type StationDay, stationRecord } from './record.js';

/** Every day from one to another, made by a function of the day. */
function days(from: string, to: string, make: (day: string) => Partial<StationDay> | null): StationDay[] {
  const list: StationDay[] = [];
  for (let number = dayNumber(from); number <= dayNumber(to); number += 1) {
    const made = make(isoDay(number));
    if (made) list.push({ ...emptyDay(isoDay(number)), ...made });
  }
  return list;
}
const snowOn = (amounts: Record<string, number>) => (day: string) => ({ snowfallMillimetres: amounts[day] ?? 0 });
const seasonsOf = (list: StationDay[], rule: EventRule = firstSnowRule(25)) => findSeasons(stationRecord(list), rule);

describe('the first snow of a winter', () => {
  it('reads one inch as 25 mm, since stations store whole millimetres', () => {
    // Trap 1 of the reference data: a stored 25 is an inch, and 25.4 would look past it.
    const list = days('2020-07-01', '2021-06-30', snowOn({ '2020-11-20': 25, '2020-12-01': 30 }));
    expect(seasonsOf(list)[0]).toMatchObject({
      label: '2020-21',
      status: 'event',
      eventDate: '2020-11-20',
      dayOfSeason: 142,
      amount: 25,
    });
    expect(seasonsOf(list, firstSnowRule(25.4))[0]!.eventDate).toBe('2020-12-01');
  });

  it('never takes a trace, as hail in July leaves one, for snow', () => {
    // Trap 2.
    const list = days('2020-07-01', '2021-06-30', (day) => ({
      snowfallMillimetres: day === '2020-12-05' ? 3 : 0,
      snowTrace: day === '2020-07-10',
    }));
    expect(seasonsOf(list, firstSnowRule(2.54))[0]!.eventDate).toBe('2020-12-05');
    expect(() => firstSnowRule(0) && seasonsOf(list, firstSnowRule(0))).toThrow(
      expect.objectContaining({ code: 'bad-rule', message: expect.stringContaining('trace') }),
    );
  });

  it('does not take a missing day for one without snow', () => {
    // Trap 2: the value that failed its check on 1 November is missing, the winter still counts.
    const list = days('2020-07-01', '2021-06-30', (day) => ({
      snowfallMillimetres: day === '2020-11-01' ? null : day === '2020-12-05' ? 30 : 0,
    }));
    expect(seasonsOf(list)[0]).toMatchObject({
      status: 'event',
      eventDate: '2020-12-05',
      missingDays: 1,
      watchedDays: 153,
    });
  });

  it('leaves out a winter with too many days missing, and says why', () => {
    // Trap 3: 16 of 153 days are more than a tenth, 15 are not.
    const gap = (to: string) =>
      seasonsOf(
        days('2020-07-01', '2021-06-30', (day) =>
          day >= '2020-09-10' && day <= to ? null : { snowfallMillimetres: day === '2020-11-20' ? 40 : 0 },
        ),
      )[0]!;
    expect(gap('2020-09-25')).toMatchObject({
      status: 'excluded',
      missingDays: 16,
      reason: '16 of the 153 days from 2020-09-01 to 2021-01-31 are missing, more than 10 %',
      eventDate: '2020-11-20',
    });
    expect(gap('2020-09-24')).toMatchObject({ status: 'event', missingDays: 15, reason: null });
  });

  it('tells a winter without snow from one that is not over', () => {
    // Trap 3: "after the end" is not "missing".
    const list = days('2019-07-01', '2020-12-10', snowOn({}));
    expect(seasonsOf(list)).toMatchObject([
      { label: '2019-20', status: 'none', eventDate: null, knownToDayOfSeason: null },
      {
        label: '2020-21',
        status: 'running',
        eventDate: null,
        knownToDayOfSeason: 162,
        watchedDays: 101,
        missingDays: 0,
      },
    ]);
  });

  it('needs no more of a winter that has had its snow', () => {
    expect(seasonsOf(days('2020-07-01', '2020-12-10', snowOn({ '2020-11-20': 25 })))[0]).toMatchObject({
      status: 'event',
      eventDate: '2020-11-20',
    });
    expect(seasonsOf([])).toEqual([]);
  });
});

describe('the last frost of a spring', () => {
  it('is the last day, and only of a spring that is over', () => {
    const frost = (day: string) => ({
      lowCelsius: ['2020-04-20', '2020-05-12', '2021-04-02'].includes(day) ? -0.5 : 4,
    });
    expect(seasonsOf(days('2020-01-01', '2021-05-01', frost), lastFrostRule())).toMatchObject([
      { label: '2020', status: 'event', eventDate: '2020-05-12' },
      { label: '2021', status: 'running', eventDate: null },
    ]);
  });
});

describe('south of the equator', () => {
  it('winter and spring lie half a year apart', () => {
    const list = days('2020-01-01', '2021-01-31', (day) => ({
      snowfallMillimetres: day === '2020-06-20' ? 30 : 0,
      lowCelsius: ['2020-06-20', '2020-10-03'].includes(day) ? -1 : 5,
    }));
    expect(seasonsOf(list, firstSnowRule(25, -45))).toMatchObject([
      { label: '2020', status: 'event', eventDate: '2020-06-20' },
      { label: '2021', status: 'running' },
    ]);
    expect(seasonsOf(list, lastFrostRule(0, -45))).toMatchObject([
      { label: '2019-20', status: 'excluded' },
      { label: '2020-21', status: 'event', eventDate: '2020-10-03' },
    ]);
  });
});

describe('a season', () => {
  it('may reach over New Year, with or without a 29 February', () => {
    const rule = firstSnowRule(25);
    expect(seasonSpan(rule, 2019)).toEqual({ start: dayNumber('2019-07-01'), end: dayNumber('2020-06-30') });
    expect(seasonLabel(rule, 1999)).toBe('1999-00');
    expect(seasonLabel(lastFrostRule(), 2020)).toBe('2020');
    expect(seasonStartYear(rule, dayNumber('2020-06-30'))).toBe(2019);
    expect(seasonStartYear(rule, dayNumber('2020-07-01'))).toBe(2020);
    // In autumn the next last frost is the coming year's.
    expect(seasonStartYear(lastFrostRule(), dayNumber('2020-10-01'))).toBe(2021);
  });

  it('refuses a watch outside it, or days that do not exist', () => {
    expect(() => seasonsOf([], { ...firstSnowRule(25), watchFrom: '06-01', watchTo: '08-01' })).toThrow(
      expect.objectContaining({ code: 'bad-rule' }),
    );
    expect(() => seasonsOf([], { ...firstSnowRule(25), seasonStart: '02-30' })).toThrow(
      expect.objectContaining({ code: 'bad-month-day' }),
    );
    expect(() => seasonsOf([], { ...firstSnowRule(25), maxMissingShare: 2 })).toThrow(
      expect.objectContaining({ path: 'maxMissingShare' }),
    );
  });
});

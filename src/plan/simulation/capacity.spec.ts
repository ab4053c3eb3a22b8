import { describe, expect, it } from '@jest/globals';
import { planRecords, planTask } from '../model/plan-fixtures.js';
import { scheduleRecords } from '../model/scheduled-records.js';
import { loads, moreThatFit, type RouteStep } from './capacity.js';
import { capacityOf } from './scenarios.js';

const step = (code: string, handsOnMinutes: number, after: string[] = [], cureMinutes = 0): RouteStep => ({
  code,
  name: code,
  kind: 'other',
  handsOnMinutes,
  minMinutes: handsOnMinutes,
  maxMinutes: handsOnMinutes,
  people: 1,
  placeKind: null,
  pausable: true,
  needsPaintWeather: false,
  cureMinutes,
  cautions: [],
  after: after.map((one) => ({ code: one, minWaitMinutes: 0, forbiddenIntervals: [], reason: null })),
});

describe('how many more fit', () => {
  // Eight hours each: one a day, Tuesday 15 to Friday 18 September.
  it("is a day each when each is a day's work", () => {
    expect(moreThatFit({ records: planRecords(), route: [step('all', 480)], by: '2026-09-18' })).toEqual({
      count: 4,
      lastDate: '2026-09-18',
      nextDay: '2026-09-21',
    });
    expect(
      moreThatFit({
        records: planRecords({ daysOff: [{ personId: null, startDate: '2026-09-16', endDate: '2026-09-16' }] }),
        route: [step('all', 480)],
        by: '2026-09-18',
      }).count,
    ).toBe(3);
  });

  it('comes behind what is open', () => {
    const busy = planRecords({ tasks: [planTask({ id: 'open', handsOnMinutes: 960 })] });
    expect(moreThatFit({ records: busy, route: [step('all', 480)], by: '2026-09-18' }).count).toBe(2);
  });

  it('is bound by the rack where the cure takes it', () => {
    const rack = planRecords({ places: [{ kind: 'cureRack', capacity: 1, room: null }] });
    // An hour's work, then 36 hours on the only place: done Wed 22:00, Fri 10:00, then on Saturday.
    expect(moreThatFit({ records: rack, route: [step('coat', 60, [], 36 * 60)], by: '2026-09-18' })).toMatchObject({
      count: 2,
      lastDate: '2026-09-18',
    });
  });

  it('is none when the day has passed', () => {
    expect(moreThatFit({ records: planRecords(), route: [step('all', 480)], by: '2026-09-14' }).count).toBe(0);
  });
});

describe('what would let more in', () => {
  it('names with each change what it would loosen', () => {
    const { fits, scenarios } = capacityOf({
      records: planRecords({ places: [{ kind: 'cureRack', capacity: 1, room: null }] }),
      routes: [[step('coat', 60, [], 36 * 60)]],
      by: '2026-09-18',
    });
    expect(fits[0]!.count).toBe(2);
    const [most] = [...scenarios].sort((a, b) => b.additionalMachines - a.additionalMachines);
    expect(most).toMatchObject({ bottleneck: 'the cure rack', change: 'two more places on the cure rack' });
    expect(new Set(scenarios.map((one) => one.bottleneck)).size).toBe(scenarios.length);
  });
});

describe('loads', () => {
  it('count what is used and open until a day, absences left out', () => {
    const made = scheduleRecords(
      planRecords({
        people: [
          { id: 'a', name: 'A', weeklyHours: [] },
          { id: 'b', name: 'B', weeklyHours: [{ weekday: 2, opens: '09:00', closes: '13:00' }] },
        ],
        tasks: [
          planTask({ id: 'one', handsOnMinutes: 480, placeKind: 'bench' }),
          planTask({ id: 'two', handsOnMinutes: 120, placeKind: 'bench' }),
        ],
      }),
    );
    const people = loads(made, '2026-09-16').find((load) => load.resource === 'people')!;
    // A 8 h on both days, B 4 h on Tuesday: 20 h open; 10 h used.
    expect(people).toMatchObject({ openMinutes: 1200, usedMinutes: 600 });
    expect(people.usedShare).toBeCloseTo(0.5, 12);
    const bench = loads(made, '2026-09-16').find((load) => load.resource === 'bench')!;
    // The second task could have begun at nine and waits for the bench until the first is done at five or, the other way, eleven.
    expect(bench.waitedMinutes).toBeGreaterThanOrEqual(120);
  });
});

import { describe, expect, it } from '@jest/globals';
import type { PlanRecords } from '../inputs/records.js';
import { planJob, planRecords, planTask } from '../model/plan-fixtures.js';
import { scheduleRecords } from '../model/scheduled-records.js';
import { countAt, lastIntakeDates, loads, machinesThatFit, type RouteStep } from './capacity.js';
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

const exact = { schedules: 40, scenarios: 0, seed: 1 };
const fit = (records: PlanRecords, route: RouteStep[], by: string) => {
  const answer = machinesThatFit({ records, order: null, routes: [route], by, effort: exact });
  const count = countAt(answer, 1);
  return { count, lastDate: answer.finishDates[count - 1] ?? null };
};

describe('how many more fit', () => {
  // Eight hours each: one a day, Tuesday 15 to Friday 18 September.
  it("is a day each when each is a day's work", () => {
    expect(fit(planRecords(), [step('all', 480)], '2026-09-18')).toMatchObject({ count: 4 });
    const off = planRecords({ daysOff: [{ personId: null, startDate: '2026-09-16', endDate: '2026-09-16' }] });
    expect(fit(off, [step('all', 480)], '2026-09-18').count).toBe(3);
  });

  it('leaves the open ones in time, and puts off what is due on no day', () => {
    const busy = (dueDate: string | null) =>
      planRecords({ jobs: [planJob({ dueDate })], tasks: [planTask({ id: 'open', handsOnMinutes: 960 })] });
    expect(fit(busy('2026-09-18'), [step('all', 480)], '2026-09-18').count).toBe(2);
    expect(fit(busy(null), [step('all', 480)], '2026-09-18').count).toBe(4);
  });

  it('is bound by the rack where the cure takes it', () => {
    const rack = planRecords({ places: [{ kind: 'cureRack', capacity: 1, room: null }] });
    // An hour's work, then 36 hours on the only place: done Wed 22:00, Fri 10:00, then on Saturday.
    expect(fit(rack, [step('coat', 60, [], 36 * 60)], '2026-09-18').count).toBe(2);
  });

  it('is none when the day has passed', () => {
    expect(fit(planRecords(), [step('all', 480)], '2026-09-14').count).toBe(0);
  });

  it('falls as more is asked for, is the same for the same records, and says until when to take each in', () => {
    const question = {
      records: planRecords(),
      order: null,
      routes: [[{ ...step('all', 480), minMinutes: 240, maxMinutes: 900 }]],
      by: '2026-10-09',
      effort: { schedules: 20, scenarios: 100, seed: 1 },
    };
    const answer = machinesThatFit(question);
    expect(answer).toEqual(machinesThatFit(question));
    answer.probabilities.slice(1).forEach((one, k) => expect(one).toBeLessThanOrEqual(answer.probabilities[k]!));
    const counts = [0.5, 0.8, 0.95].map((level) => countAt(answer, level));
    expect(counts).toEqual([...counts].sort((a, b) => b - a));
    expect(counts[0]).toBeGreaterThan(counts[2]!);
    const [even, sure] = lastIntakeDates(question, [0.5, 0.95]) as [string[], string[]];
    // Later machines can wait no longer than earlier ones, nor surer ones longer than less sure ones.
    for (const dates of [even, sure]) expect(dates).toEqual([...dates].sort().reverse());
    sure.forEach((date, k) => expect(date <= even[k]!).toBe(true));
    expect(even[0]! > '2026-09-22').toBe(true);
  });

  it('takes kinds by turns', () => {
    const answer = machinesThatFit({
      records: planRecords(),
      order: null,
      routes: [[step('long', 960)], [step('short', 480)]],
      byTurns: true,
      by: '2026-09-18',
      effort: exact,
    });
    // Of two long and two short ones, six days in all, the four days hold one long and both short.
    expect(countAt(answer, 1)).toBe(3);
  });
});

describe('what would let more in', () => {
  it('names with each change what it would loosen', () => {
    const { fits, scenarios } = capacityOf({
      records: planRecords({ places: [{ kind: 'cureRack', capacity: 1, room: null }] }),
      order: null,
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

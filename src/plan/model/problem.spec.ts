import { describe, expect, it } from '@jest/globals';
import { jobSchedules } from '../answers/job-forecast.js';
import { type PlanRecords } from '../inputs/records.js';
import { after, awaited, planJob, planRecords, planTask, weekdayHours } from './plan-fixtures.js';
import { buildProblem } from './problem.js';
import { completionsOf, scheduleRecords } from './scheduled-records.js';

const DAY = 1440;
const ten = 10 * 60;
const noon = 12 * 60;

/** Strip in three hours, cure for fourteen days, a day's work, then two hours. */
const chain = [
  planTask({ id: 'coat', handsOnMinutes: 180, cureMinutes: 14 * DAY }),
  planTask({ id: 'build', handsOnMinutes: 480, links: [after('coat')] }),
  planTask({ id: 'test', handsOnMinutes: 120, links: [after('build')] }),
];
const expected = (records: PlanRecords) => completionsOf(scheduleRecords(records)).get('job')!;

describe('a chain with a cure of fourteen days', () => {
  // Coat Tue 15 Sep 9:00-12:00, on the rack until Tue 29 Sep 12:00; build 12:00-17:00 and Wed 30 Sep 9:00-12:00; test 12:00-14:00.
  it('is done on the day computed by hand', () => {
    const made = scheduleRecords(planRecords({ tasks: chain }));
    const at = (id: string) => made.schedule.tasks.find((task) => task.id === id)!;
    expect(at('coat')).toMatchObject({ startMinutes: 540, finishMinutes: noon });
    expect(at('coat/cure')).toMatchObject({ startMinutes: noon, finishMinutes: 14 * DAY + noon });
    expect(at('build').worked).toEqual([
      { startMinutes: 14 * DAY + noon, endMinutes: 14 * DAY + 1020 },
      { startMinutes: 15 * DAY + 540, endMinutes: 15 * DAY + noon },
    ]);
    expect(at('test')).toMatchObject({ startMinutes: 15 * DAY + noon, finishMinutes: 15 * DAY + 14 * 60 });
    expect(completionsOf(made).get('job')).toMatchObject({
      day: '2026-09-30',
      reasons: ['only the work itself takes time'],
    });
    expect(jobSchedules(made)[0]!.chain).toHaveLength(4);
  });

  it('is a day later when Wednesday is off, and unmoved by a day off during the cure', () => {
    expect(
      expected(
        planRecords({ tasks: chain, daysOff: [{ personId: null, startDate: '2026-09-30', endDate: '2026-09-30' }] }),
      ).day,
    ).toBe('2026-10-01');
    expect(
      expected(
        planRecords({ tasks: chain, daysOff: [{ personId: 'mira', startDate: '2026-09-30', endDate: '2026-09-30' }] }),
      ).day,
    ).toBe('2026-10-01');
    expect(
      expected(
        planRecords({ tasks: chain, daysOff: [{ personId: null, startDate: '2026-09-21', endDate: '2026-09-25' }] }),
      ).day,
    ).toBe('2026-09-30');
  });

  it('waits for a late part only with the task that needs it, and says so', () => {
    const late = awaited({ supplierName: 'Tarn', expectedDate: '2026-10-05', backOrdered: true });
    const made = scheduleRecords(
      planRecords({ tasks: chain.map((task) => (task.id === 'test' ? { ...task, awaited: [late] } : task)) }),
    );
    expect(made.schedule.tasks.find((task) => task.id === 'build')!.finishMinutes).toBe(15 * DAY + noon);
    expect(made.schedule.tasks.find((task) => task.id === 'test')).toMatchObject({ startMinutes: 20 * DAY + 540 });
    expect(completionsOf(made).get('job')).toMatchObject({
      day: '2026-10-05',
      reasons: ['Task test waits for 1 × Belt from Tarn, back-ordered, expected 2026-10-05'],
    });
  });
});

describe('people', () => {
  const two = (more: Partial<PlanRecords> = {}) =>
    planRecords({
      people: [
        { id: 'mira', name: 'Mira', weeklyHours: weekdayHours },
        { id: 'odran', name: 'Odran', weeklyHours: [{ weekday: 2, opens: '12:00', closes: '20:00' }] },
      ],
      ...more,
    });

  it('with different hours are both in only while both are', () => {
    const { problem } = buildProblem(two());
    const people = problem.resources.find((resource) => resource.id === 'people')!;
    expect(people.capacity).toBe(2);
    // Tuesday from nine, when Mira comes, to eight, when Odran goes.
    expect(people.calendar![0]).toEqual({ startMinutes: 540, endMinutes: 1200 });
    expect(people.reductions!.slice(0, 3).map((one) => [one.startMinutes, one.endMinutes, one.amount])).toEqual([
      [540, 720, 1],
      [1020, 1200, 1],
      [DAY + 540, DAY + 1020, 1],
    ]);
  });

  it('do work that needs two only together, and single work when one is in', () => {
    const made = scheduleRecords(
      two({
        tasks: [
          planTask({ id: 'lift', people: 2 }),
          planTask({ id: 'strip', handsOnMinutes: 120 }),
          planTask({ id: 'tidy', handsOnMinutes: 120 }),
        ],
      }),
    );
    const start = (id: string) => made.schedule.tasks.find((task) => task.id === id)!.startMinutes;
    // Mira strips and tidies from nine to one, Odran being in from twelve; then both lift.
    expect([start('strip'), start('tidy')].sort((a, b) => a - b)).toEqual([540, 660]);
    expect(start('lift')).toBe(13 * 60);
    const urgent = two({ jobs: [planJob(), planJob({ id: 'first', number: 2, priority: 5 })] });
    urgent.tasks = [
      planTask({ id: 'lift', people: 2, jobId: 'first' }),
      planTask({ id: 'strip', handsOnMinutes: 180 }),
      planTask({ id: 'tidy', handsOnMinutes: 120 }),
    ];
    const lift = scheduleRecords(urgent).schedule.tasks.find((task) => task.id === 'lift')!;
    expect([lift.startMinutes, lift.finishMinutes]).toEqual([noon, 13 * 60]);
  });

  it('who is off are missing for that day alone', () => {
    const off = buildProblem(
      two({ daysOff: [{ personId: 'mira', startDate: '2026-09-15', endDate: '2026-09-15' }] }),
    ).problem;
    expect(off.resources.find((resource) => resource.id === 'people')!.calendar![0]).toEqual({
      startMinutes: noon,
      endMinutes: 1200,
    });
    expect(off.resources.find((resource) => resource.id === 'people')!.reductions![0]).toEqual({
      startMinutes: noon,
      endMinutes: 1200,
      amount: 1,
    });
  });

  it("in a shop that has entered nobody are one person with the shop's hours", () => {
    expect(buildProblem(planRecords({ people: [] })).problem.resources[0]).toMatchObject({ id: 'people', capacity: 1 });
  });
});

describe('what has happened', () => {
  it('stands: a finished coat cures on, begun work needs the rest of its hours', () => {
    const made = scheduleRecords(
      planRecords({
        tasks: [
          planTask({
            id: 'coat',
            cureMinutes: 2 * DAY,
            startedAt: new Date('2026-09-14T13:00:00Z'),
            finishedAt: new Date('2026-09-14T14:00:00Z'),
          }),
          planTask({
            id: 'strip',
            handsOnMinutes: 240,
            startedAt: new Date('2026-09-14T15:00:00Z'),
            workedMinutes: 180,
          }),
          planTask({ id: 'next', links: [after('coat')] }),
        ],
      }),
    );
    const at = (id: string) => made.schedule.tasks.find((task) => task.id === id)!;
    expect(at('coat')).toMatchObject({ fixed: true, finishMinutes: -DAY + ten });
    expect(at('coat/cure').finishMinutes).toBe(DAY + ten);
    expect(at('strip')).toMatchObject({ startMinutes: 540, finishMinutes: ten });
    expect(at('next')).toMatchObject({ startMinutes: DAY + ten });
  });

  it('paint that may not be touched yet holds the assembly alone', () => {
    const made = scheduleRecords(
      planRecords({
        tasks: [
          planTask({ id: 'assemble', paintReadyAt: new Date('2026-09-17T15:00:00Z') }),
          planTask({ id: 'engine' }),
        ],
      }),
    );
    expect(made.schedule.tasks.find((task) => task.id === 'assemble')!.startMinutes).toBe(2 * DAY + 11 * 60);
    expect(made.schedule.tasks.find((task) => task.id === 'engine')!.startMinutes).toBe(540);
  });
});

describe('coats', () => {
  const windows = ['2026-09-16', '2026-09-18'].flatMap((day) =>
    [`${day}T14:00:00Z`, `${day}T20:00:00Z`].map((moment) => Date.parse(moment) / 60_000),
  );

  it('go on only in paint weather, in one piece', () => {
    const made = scheduleRecords(
      planRecords({
        paintWindows: windows,
        tasks: [planTask({ id: 'coat', needsPaintWeather: true, pausable: false })],
      }),
    );
    const coat = made.schedule.tasks.find((task) => task.id === 'coat')!;
    expect(coat.startMinutes).toBe(DAY + ten);
    expect(jobSchedules(made)[0]!.waits).toEqual([
      {
        taskId: 'coat',
        taskName: 'Task coat',
        until: '2026-09-16',
        what: 'waits for weather fit for paint, likely 2026-09-16',
        kind: 'weather',
      },
    ]);
  });

  it('are never recoated within the forbidden time', () => {
    const second = planTask({
      id: 'second',
      needsPaintWeather: true,
      pausable: false,
      handsOnMinutes: 300,
      links: [
        {
          predecessorId: 'first',
          minWaitMinutes: 15,
          forbidden: [{ fromMinutes: 60, toMinutes: 2880 }],
          reason: null,
        },
      ],
    });
    const made = scheduleRecords(
      planRecords({
        paintWindows: windows,
        tasks: [planTask({ id: 'first', needsPaintWeather: true, pausable: false }), second],
      }),
    );
    // First Wed 10:00-11:00. Five hours from 11:15 would end at 16:15, beyond the window's 16:00; so not before two
    // days have passed: Fri 11:00-16:00.
    expect(made.schedule.tasks.find((task) => task.id === 'second')!.startMinutes).toBe(3 * DAY + 11 * 60);
  });

  it('need no place that the shop does not have', () => {
    const { problem } = buildProblem(
      planRecords({ places: [], tasks: [planTask({ id: 'coat', placeKind: 'sprayArea', cureMinutes: 60 })] }),
    );
    expect(problem.resources.map((resource) => resource.id)).toEqual(['people']);
    expect(problem.tasks.find((task) => task.id === 'coat/cure')!.demands).toEqual([]);
  });
});

describe('a promised day', () => {
  it('is what the job is late by', () => {
    const made = scheduleRecords(planRecords({ jobs: [planJob({ dueDate: '2026-09-25' })], tasks: chain }));
    expect(jobSchedules(made)[0]).toMatchObject({
      expectedDate: '2026-09-30',
      dueDate: '2026-09-25',
      daysLate: 5,
      nextTask: 'Task coat',
      remainingHandsOnMinutes: 780,
    });
  });
});

import { describe, expect, it } from '@jest/globals';
import type { PlanRecords } from '../inputs/records.js';
import { after, awaited, planJob, planRecords, planTask } from '../model/plan-fixtures.js';
import { scheduleRecords } from '../model/scheduled-records.js';
import { simulatePlan } from './simulate-plan.js';
import { compareWhatIf } from './what-if.js';

/** Open day and night, so that a day of arrival is a day of finish. */
const always = [1, 2, 3, 4, 5, 6, 7].map((weekday) => ({ weekday, opens: '00:00', closes: '24:00' }));
const round = (records: Partial<PlanRecords>): PlanRecords => planRecords({ openingHours: always, ...records });
const drawing = { scenarios: 4000, seed: 7 };
const simulation = (records: PlanRecords) => simulatePlan(records, scheduleRecords(records).schedule.order, drawing);
const dayAfter = (offset: number): string => new Date(Date.UTC(2026, 8, 15 + offset)).toISOString().slice(0, 10);
const epochMinute = (offset: number, hour: number): number => Date.UTC(2026, 8, 15 + offset, hour + 4) / 60_000;

/** Standard error of a share near a half in 4000 draws is 0.008; four of them. */
const CLOSE = 0.032;

describe('a part that comes on any of forty days, each as likely', () => {
  const offsets = Array.from({ length: 40 }, (_, k) => k + 1);
  const records = round({
    jobs: [planJob({ dueDate: dayAfter(30) })],
    tasks: [planTask({ id: 'fit', awaited: [awaited({ expectedDate: dayAfter(20), arrivalOffsets: offsets })] })],
  });

  it('gives the job its quantiles and its chance by the due day', () => {
    const [job] = simulation(records).jobs;
    const within = (day: string | null, offset: number) =>
      Math.abs((Date.parse(day!) - Date.parse(dayAfter(offset))) / 86_400_000) <= 1;
    expect([
      within(job!.p10Date, 4),
      within(job!.p50Date, 20),
      within(job!.p80Date, 32),
      within(job!.p95Date, 38),
    ]).toEqual([true, true, true, true]);
    expect(Math.abs(job!.probabilityByDue! - 0.75)).toBeLessThan(CLOSE);
    expect(job).toMatchObject({
      probabilityReady: null,
      readinessGainPerWeek: null,
      chain: [{ taskId: 'fit', share: 1 }],
    });
  });

  it('may come sooner than its median: the simulation does not wait for that', () => {
    expect(simulation(records).jobs[0]!.p10Date! < dayAfter(20)).toBe(true);
  });

  it('comes together with what is in the same parcel', () => {
    const part = (parcel: string) => awaited({ expectedDate: dayAfter(20), arrivalOffsets: offsets, parcel });
    const both = (second: string) =>
      simulation(
        round({
          jobs: [planJob({ dueDate: dayAfter(20) })],
          tasks: [planTask({ id: 'fit', awaited: [part('one'), part(second)] })],
        }),
      ).jobs[0]!.probabilityByDue!;
    expect(Math.abs(both('one') - 0.5)).toBeLessThan(CLOSE);
    expect(Math.abs(both('two') - 0.25)).toBeLessThan(CLOSE);
  });
});

describe('hours', () => {
  const day = { handsOnMinutes: 1440, minMinutes: 720, maxMinutes: 2880 };
  const probabilityBy = (due: number, records: Partial<PlanRecords>) =>
    simulation(
      round({ now: new Date('2026-09-15T04:00:00Z'), jobs: [planJob({ dueDate: dayAfter(due) })], ...records }),
    ).jobs[0]!.probabilityByDue!;

  it('before anything is known are log-normal around exp(0.1) times the route, with the spreads stated', () => {
    // A day's task is done within its day with Φ(−0.1 / √(0.2² + 0.07² + 0.13² + 0.08² + 0.35²)) = Φ(−0.229) = 0.41.
    const within = (days: number) => probabilityBy(days - 1, { tasks: [planTask({ id: 'one', ...day })] });
    expect(Math.abs(within(1) - 0.41)).toBeLessThan(CLOSE);
    // And within two with Φ((ln 2 − 0.1) / 0.437) = Φ(1.358) = 0.913.
    expect(Math.abs(within(2) - 0.913)).toBeLessThan(CLOSE);
  });

  it('of work under way are what is left, given how long it has taken already', () => {
    // Two days are in it already. That it is done today needs X ≤ 3 days given X > 2: (Φ(2.285) − Φ(1.358)) / (1 − Φ(1.358)) = 0.87.
    const begun = planTask({
      id: 'one',
      ...day,
      startedAt: new Date('2026-09-13T04:00:00Z'),
      workedMinutes: 2880,
    });
    expect(Math.abs(probabilityBy(0, { tasks: [begun] }) - 0.87)).toBeLessThan(0.05);
  });

  it('of one machine share its luck: eight tasks spread wider than eight machines with one each', () => {
    const tasks = (jobOf: (k: number) => string) =>
      Array.from({ length: 8 }, (_, k) =>
        planTask({
          id: `t${k}`,
          kind: `kind ${k}`,
          jobId: jobOf(k),
          handsOnMinutes: 4800,
          minMinutes: 2400,
          maxMinutes: 9600,
          links: k === 0 ? [] : [after(`t${k - 1}`)],
        }),
      );
    const jobs = Array.from({ length: 8 }, (_, k) => planJob({ id: `job ${k}`, number: k + 1 }));
    const spread = (list: ReturnType<typeof tasks>, id: string) => {
      const job = simulation(round({ jobs, tasks: list })).jobs.find((one) => one.jobId === id)!;
      return Date.parse(job.p95Date!) - Date.parse(job.p10Date!);
    };
    const one = spread(
      tasks(() => 'job 7'),
      'job 7',
    );
    expect(one).toBeGreaterThan(
      spread(
        tasks((k) => `job ${k}`),
        'job 7',
      ),
    );
  });
});

describe('sickness', () => {
  it('lengthens what would be done for sure, in some of the cases', () => {
    const records = (absence: PlanRecords['learning']['absence']) =>
      planRecords({
        jobs: [planJob({ dueDate: '2026-09-25' })],
        tasks: [planTask({ id: 'one', handsOnMinutes: 9 * 480, minMinutes: 9 * 480, maxMinutes: 9 * 480 })],
        learning: { ...planRecords().learning, absence },
      });
    // Nine working days until Friday of next week's end: one day missed of eight to come is one too many.
    expect(simulation(records(null)).jobs[0]!.probabilityByDue).toBe(1);
    const { probabilityByDue } = simulation(
      records({ personDays: 2000, spellDays: Array.from({ length: 40 }, () => 1) }),
    ).jobs[0]!;
    // About one spell in fifty days: (1 − 0.02)^8 = 0.85, from 48 courses.
    expect(probabilityByDue!).toBeGreaterThan(0.7);
    expect(probabilityByDue!).toBeLessThan(0.97);
  });
});

describe('found work', () => {
  const steps = [
    planTask({ id: 'strip', kind: 'strip' }),
    planTask({ id: 'assemble', kind: 'assemble', links: [after('strip')] }),
  ];
  const records = (tasks: PlanRecords['tasks'], partDays: number[] = []) =>
    planRecords({
      tasks,
      learning: {
        ...planRecords().learning,
        foundWork: Array.from({ length: 200 }, (_, k) => ({ minutes: k % 2 === 0 ? 600 : 0, neededPart: true })),
        partDays,
      },
    });

  it('holds the assembly up in as many cases as it was found, and its part longer', () => {
    // An hour of stripping, perhaps ten of mending, an hour of assembly, from nine to five: the same day or a later one.
    const [job] = simulation(records(steps)).jobs;
    expect(job!.p10Date).toBe('2026-09-15');
    expect(job!.p80Date! > '2026-09-15').toBe(true);
    const [withPart] = simulation(records(steps, [20])).jobs;
    expect(withPart!.p10Date).toBe('2026-09-15');
    expect(withPart!.p80Date! >= '2026-10-05').toBe(true);
  });

  it('is expected no longer once the step is done: what it showed is among the tasks', () => {
    const done = { startedAt: new Date('2026-09-15T11:00:00Z'), finishedAt: new Date('2026-09-15T12:00:00Z') };
    const [job] = simulation(records([{ ...steps[0]!, ...done }, steps[1]!])).jobs;
    expect(job!.p95Date).toBe('2026-09-15');
  });
});

describe('the snow', () => {
  /** Two winters: the mild one paints on the fifth day and snows on the sixtieth, the hard one paints late and snows early. */
  const winters = (hardPaints: number, hardSnows: number) => [
    { sourceYear: 2001, firstSnowDate: dayAfter(60), windows: [epochMinute(5, 9), epochMinute(5, 17)] },
    {
      sourceYear: 2002,
      firstSnowDate: dayAfter(hardSnows),
      windows: [epochMinute(hardPaints, 9), epochMinute(hardPaints, 17)],
    },
  ];
  const records = (hardPaints: number, hardSnows: number, marginDays = 0) =>
    round({
      jobs: [planJob({ forSnow: true })],
      tasks: [planTask({ id: 'coat', needsPaintWeather: true, pausable: false })],
      paintWindows: [Date.UTC(2026, 8, 20, 13) / 60_000, Date.UTC(2026, 8, 20, 21) / 60_000],
      season: { marginDays, firstSnowDates: [dayAfter(60), dayAfter(hardSnows)], endDate: null },
      weatherYears: winters(hardPaints, hardSnows),
    });

  it('and the paint weather are of the same winter', () => {
    // Drawn apart, three of the four pairs would be ready (5 or 40 before 60, 5 before 30): 0.75.
    expect(Math.abs(simulation(records(40, 30)).jobs[0]!.probabilityReady! - 0.5)).toBeLessThan(CLOSE);
  });

  it('leaves the margin, and tells what a week would bring', () => {
    const [job] = simulation(records(33, 30)).jobs;
    expect(Math.abs(job!.probabilityReady! - 0.5)).toBeLessThan(CLOSE);
    // Finished on the 26th instead of the 33rd it would be ready in the hard winter too.
    expect(job!.probabilityReady! + job!.readinessGainPerWeek!).toBe(1);
    // Finished on the very last day that leaves the margin: 20 + 10 = 30.
    expect(simulation(records(20, 30, 10)).jobs[0]!.probabilityReady).toBe(1);
    expect(simulation(records(21, 30, 10)).jobs[0]!.probabilityReady).toBeLessThan(1);
  });

  it('counts how many are likely finished by each week', () => {
    const { finishedBy } = simulation(records(40, 30));
    expect(finishedBy.slice(0, 2).map((one) => one.day)).toEqual([dayAfter(0), dayAfter(7)]);
    expect(finishedBy[0]!.expected).toBe(0);
    expect(Math.abs(finishedBy[1]!.expected - 0.5)).toBeLessThan(CLOSE);
    expect(finishedBy[6]!.expected).toBe(1);
  });
});

describe('what if', () => {
  const part = awaited({
    expectedDate: dayAfter(20),
    orderLineId: 'line',
    arrivalOffsets: Array.from({ length: 40 }, (_, k) => k + 1),
  });
  const records = round({
    people: [
      { id: 'a', name: 'A', weeklyHours: [] },
      { id: 'b', name: 'B', weeklyHours: [] },
    ],
    jobs: [planJob(), planJob({ id: 'other', number: 2 })],
    tasks: [
      planTask({ id: 'fit', awaited: [part] }),
      planTask({ id: 'strip', jobId: 'other', handsOnMinutes: 600, minMinutes: 300, maxMinutes: 1200 }),
    ],
  });
  const ask = (change: Parameters<typeof compareWhatIf>[0]['change'], of = records) =>
    compareWhatIf({ records: of, order: scheduleRecords(of).schedule.order, change, scenarios: 500, seed: 7 });

  it('a part ten days late moves its own job by ten days in every scenario, and the other not at all', () => {
    const { jobs } = ask({ late: { orderLineId: 'line', days: 10 } });
    expect(jobs.find((job) => job.jobId === 'job')).toMatchObject({
      meanDays: 10,
      probabilityLater: 1,
      probabilitySooner: 0,
      expectedBefore: dayAfter(20),
      expectedAfter: dayAfter(30),
    });
    expect(jobs.find((job) => job.jobId === 'other')).toMatchObject({
      meanDays: 0,
      probabilityLater: 0,
      probabilitySooner: 0,
    });
  });

  it('a day off moves by a day what would have been done then', () => {
    const only = planRecords({ tasks: [planTask({ id: 'one', handsOnMinutes: 960 })] });
    // Two days' work on Tuesday and Wednesday; without Wednesday on Tuesday and Thursday.
    expect(
      ask({ dayOff: { personId: null, startDate: '2026-09-16', endDate: '2026-09-16' } }, only).jobs[0],
    ).toMatchObject({ expectedBefore: '2026-09-16', expectedAfter: '2026-09-17', meanDays: 1, probabilityLater: 1 });
    // Eight hours a day become ten: 10 + 6 hours still end on Wednesday, two hours sooner.
    expect(ask({ extraMinutesADay: 120 }, only).jobs[0]).toMatchObject({
      expectedAfter: '2026-09-16',
      probabilitySooner: 1,
      meanDays: -0.1,
    });
  });

  it('a second bench or one job less lets the next begin', () => {
    const shared = planRecords({
      people: [
        { id: 'a', name: 'A', weeklyHours: [] },
        { id: 'b', name: 'B', weeklyHours: [] },
      ],
      jobs: [planJob(), planJob({ id: 'second', number: 2, priority: -1 })],
      tasks: [
        planTask({ id: 'one', handsOnMinutes: 480, placeKind: 'bench' }),
        planTask({ id: 'two', jobId: 'second', handsOnMinutes: 480, placeKind: 'bench' }),
      ],
    });
    expect(ask({ extraPlace: 'bench' }, shared).jobs.find((job) => job.jobId === 'second')).toMatchObject({
      expectedBefore: '2026-09-16',
      expectedAfter: '2026-09-15',
      probabilitySooner: 1,
      meanDays: -1,
    });
    const without = ask({ withoutJobId: 'job' }, shared).jobs;
    expect(without).toHaveLength(1);
    expect(without[0]).toMatchObject({ jobId: 'second', expectedAfter: '2026-09-15', meanDays: -1 });
  });

  it('is answered in the same luck: nothing changed changes nothing', () => {
    expect(
      ask({ extraPlace: 'cureRack' }).jobs.every(
        (job) => job.meanDays === 0 && job.probabilitySooner === 0 && job.probabilityLater === 0,
      ),
    ).toBe(true);
  });
});

describe('the load of a shop whose second person is in for half a day', () => {
  it('is what is worked, of the hours in which somebody is there', () => {
    const people = [
      { id: 'a', name: 'A', weeklyHours: [] },
      { id: 'b', name: 'B', weeklyHours: [{ weekday: 2, opens: '09:00', closes: '13:00' }] },
    ];
    // On Tuesday from nine to five A is in for eight hours and B for four; eight of the twelve are worked.
    const { resources } = simulation(planRecords({ people, tasks: [planTask({ id: 'one', handsOnMinutes: 480 })] }));
    expect(resources.find((one) => one.resource === 'people')).toEqual({
      resource: 'people',
      load: 0.6667,
      bindingShare: 0,
    });
  });
});

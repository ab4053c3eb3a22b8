/** Rules of the trade in the engine: ages of coats instead of fixed waits, sparks beside vapour, bare steel that waits. */
import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { overlapsOf } from '../../../test/rules/shop-rules.js';
import { ageTable } from '../cure/age-table.js';
import { minuteOfAge } from '../cure/clock.js';
import { primer } from '../cure/sheet.fixture.js';
import { makeSchedule, type Problem, searchSchedule, simulate, type Task } from './index.js';

const HOUR = 60;
const DAY = 1440;
const HOURS = 24 * 400;
/** Days between 2 and 18 °C for a month, then 5 colder: hours of no drying at night. */
const celsius = Float64Array.from(
  { length: HOURS },
  (_, hour) => 10 + 8 * Math.sin((hour * Math.PI) / 12) - (hour > 720 ? 5 : 0),
);
const course = [...celsius].map((at, hour) => ({
  fromMinute: hour * HOUR,
  toMinute: (hour + 1) * HOUR,
  celsius: Math.round(at * 100) / 100,
}));
const clocks = [{ id: 'shed', table: ageTable(primer, 0, celsius) }];
const ages = (windows: { fromMinutes: number; toMinutes?: number | null }[]) => ({ clockId: 'shed', windows });

const task = (id: string, rest: Partial<Task> = {}): Task => ({
  id,
  durationMinutes: 30,
  demands: [{ resourceId: 'person', amount: 1 }],
  pausable: false,
  predecessors: [],
  ...rest,
});
const shop = (tasks: Task[], people = 1): Problem => ({
  horizonMinutes: HOURS * HOUR,
  resources: [{ id: 'person', capacity: people }],
  clocks,
  tasks,
});
const at = (problem: Problem, id: string, options = {}) =>
  makeSchedule(problem, options).tasks.find((one) => one.id === id)!;

describe('a coat that ages with the weather', () => {
  const coats = (windows: Parameters<typeof ages>[0], minWaitMinutes = 0) => [
    task('first', { releaseMinutes: 600 }),
    task('second', { predecessors: [{ taskId: 'first', minWaitMinutes, ages: ages(windows) }] }),
  ];

  it('lets the next on at the minute its clock gives', () => {
    const opens = minuteOfAge(primer, course, 630, 2880)!;
    expect(at(shop(coats([{ fromMinutes: 2880 }])), 'second').startMinutes).toBe(Math.ceil(opens));
    // Two days at 20 °C take more than two in a shed that is colder.
    expect(opens).toBeGreaterThan(630 + 2 * DAY);
  });

  it('keeps stated minutes beside it: both must hold', () => {
    expect(at(shop(coats([{ fromMinutes: 15 }], 10 * DAY)), 'second').startMinutes).toBe(630 + 10 * DAY);
  });

  it('misses the first window where somebody is busy, and waits for the next', () => {
    const busy = task('busy', { durationMinutes: 300, priority: 9, releaseMinutes: 630 });
    const problem = shop([...coats([{ fromMinutes: 15, toMinutes: 60 }, { fromMinutes: 2880 }]), busy]);
    const schedule = makeSchedule(problem, { order: { taskIds: ['first', 'busy', 'second'] } });
    const second = schedule.tasks.find((one) => one.id === 'second')!;
    expect(second.startMinutes).toBe(Math.ceil(minuteOfAge(primer, course, 630, 2880)!));
    expect(second.reasons.at(-1)).toMatchObject({ kind: 'forbidden', taskId: 'first' });
  });

  it('leaves the rack when it is hard, however long that takes', () => {
    const cure = task('cure', {
      demands: [],
      durationMinutes: DAY,
      predecessors: [{ taskId: 'first', minWaitMinutes: 0 }],
      cure: { clockId: 'shed', ageMinutes: 5 * DAY, sinceTaskId: 'first' },
    });
    const { startMinutes, finishMinutes } = at(shop([task('first', { releaseMinutes: 600 }), cure]), 'cure');
    expect(startMinutes).toBe(630);
    expect(finishMinutes).toBe(Math.ceil(minuteOfAge(primer, course, 630, 5 * DAY)!));
  });

  it('goes on from the age that is known of it', () => {
    const known = { atMinutes: 0, dryingMinutes: 2800, closingMinutes: 3000 };
    const problem = shop([
      task('first', { fixed: { startMinutes: -4000, finishMinutes: -3970 } }),
      task('second', {
        predecessors: [{ taskId: 'first', minWaitMinutes: 0, ages: { ...ages([{ fromMinutes: 2880 }]), known } }],
      }),
    ]);
    expect(at(problem, 'second').startMinutes).toBe(Math.ceil(minuteOfAge(primer, course, 0, 80)!));
  });

  it('takes the tables of the sampled year in a simulation', () => {
    const warm = ageTable(primer, 0, new Float64Array(HOURS).fill(20));
    const job = { jobId: 'job' };
    const problem = {
      ...shop(coats([{ fromMinutes: 2880 }]).map((one) => ({ ...one, ...job }))),
      jobs: [{ id: 'job' }],
    };
    const { jobs } = simulate({
      problem,
      scenarios: 60,
      seed: 3,
      weatherYears: [[], []],
      clockYears: [[warm], [clocks[0]!.table]],
    });
    const cold = Math.ceil(minuteOfAge(primer, course, 630, 2880)!) + 30;
    expect([...new Set(jobs[0]!.finishMinutes)].sort((a, b) => a - b)).toEqual([630 + 2880 + 30, cold]);
  });

  it('is never painted over at an age outside its windows, in any order, and no pair is worse for it', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 5 }), fc.integer({ min: 1, max: 10_000 }), (jobs, seed) => {
        const windows = [
          { fromMinutes: 15, toMinutes: 60 },
          { fromMinutes: 2880, toMinutes: null },
        ];
        const tasks = Array.from({ length: jobs }, (_, j) =>
          Array.from({ length: 3 }, (_, k) =>
            task(`${j}/${k}`, {
              durationMinutes: 20 + ((seed * (j + 3) * (k + 7)) % 50),
              predecessors: k === 0 ? [] : [{ taskId: `${j}/${k - 1}`, minWaitMinutes: 15, ages: ages(windows) }],
            }),
          ),
        ).flat();
        const { schedule } = searchSchedule(shop(tasks), { seed, schedules: 60, partial: true });
        const placed = new Map(schedule.tasks.map((one) => [one.id, one]));
        for (const { id, predecessors } of tasks) {
          const before = predecessors[0] && placed.get(predecessors[0].taskId)!;
          if (!before) continue;
          const start = placed.get(id)!.startMinutes;
          const opens = (age: number) => minuteOfAge(primer, course, before.finishMinutes, age)!;
          const shuts = minuteOfAge(primer, course, before.finishMinutes, 60, 'closing')!;
          const firstWindow = start >= opens(15) - 1e-3 && start <= shuts + 1e-3;
          expect(firstWindow || start >= opens(2880) - 1e-3).toBe(true);
        }
      }),
      { numRuns: 40 },
    );
  });
});

describe('sparks and vapour in one room', () => {
  const room = (side: 'first' | 'second', tailMinutes?: number) => ({
    exclusions: [{ groupId: 'room', side, ...(tailMinutes === undefined ? {} : { tailMinutes }) }],
  });

  it('wait for each other, vapour an hour longer; what is of one side does not', () => {
    const problem = shop(
      [
        task('spray', room('second', 60)),
        task('spray too', room('second', 60)),
        task('grind', room('first')),
        task('fit', {}),
      ],
      4,
    );
    const schedule = makeSchedule(problem, { order: { taskIds: ['spray', 'spray too', 'grind', 'fit'] } });
    const start = (id: string) => schedule.tasks.find((one) => one.id === id)!.startMinutes;
    expect([start('spray'), start('spray too'), start('grind'), start('fit')]).toEqual([0, 0, 90, 0]);
    expect(schedule.tasks.find((one) => one.id === 'grind')!.reasons.at(-1)).toEqual({
      kind: 'excluded',
      taskIds: ['spray', 'spray too'],
      untilMinutes: 90,
    });
  });

  it('never overlap, in the plan and in every future: none found by a checker of its own', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 9999 }), (seed) => {
        const tasks = Array.from({ length: 14 }, (_, k) =>
          task(`t${String(k).padStart(2, '0')}`, {
            jobId: `job ${k % 4}`,
            durationMinutes: 20 + ((seed * (k + 3)) % 170),
            ...(k % 3 === 0 ? room('first') : k % 3 === 1 ? room('second', 45) : {}),
            predecessors: k < 4 ? [] : [{ taskId: `t${String(k - 4).padStart(2, '0')}`, minWaitMinutes: 0 }],
          }),
        );
        const { schedule } = searchSchedule(shop(tasks, 3), { seed, schedules: 60, partial: true });
        const done = schedule.tasks.map((one) => {
          const k = Number(one.id.slice(1));
          return {
            id: one.id,
            room: 'room',
            startMinutes: one.startMinutes,
            finishMinutes: one.finishMinutes,
            gives: k % 3 === 0 ? ('ignition' as const) : k % 3 === 1 ? ('vapour' as const) : null,
            vapourMinutes: 45,
          };
        });
        expect(overlapsOf(done)).toEqual([]);
      }),
      { numRuns: 40 },
    );
  });
});

describe('bare steel', () => {
  const steel = (rest: Partial<Problem> = {}): Problem => ({
    ...shop([
      task('derust'),
      task('prime', {
        predecessors: [{ taskId: 'derust', minWaitMinutes: 0, maxWaitMinutes: 480 }],
        weatherId: 'paint',
      }),
    ]),
    weather: [{ id: 'paint', windows: [{ startMinutes: 5000, endMinutes: 5400 }] }],
    ...rest,
  });

  it('is laid bare no sooner than primer can follow in time', () => {
    const schedule = makeSchedule(steel());
    const [derust, prime] = ['derust', 'prime'].map((id) => schedule.tasks.find((one) => one.id === id)!);
    expect(prime!.startMinutes).toBe(5000);
    expect(prime!.startMinutes - derust!.finishMinutes).toBeLessThanOrEqual(480);
    expect(derust!.reasons.at(-1)).toMatchObject({ kind: 'delayed' });
  });

  it('waits longer where it is bare already: nothing else can be done', () => {
    const problem = steel();
    problem.tasks[0]!.fixed = { startMinutes: -60, finishMinutes: -30 };
    expect(at(problem, 'prime').startMinutes).toBe(5000);
  });
});

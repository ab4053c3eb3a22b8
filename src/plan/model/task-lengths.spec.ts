import { describe, expect, it } from '@jest/globals';
import { type PlanRecords } from '../inputs/records.js';
import { simulatePlan } from '../simulation/simulate-plan.js';
import { after, planRecords, planTask } from './plan-fixtures.js';
import { buildProblem } from './problem.js';
import { completionsOf, scheduleRecords } from './scheduled-records.js';
import { lengthsOf } from './task-lengths.js';

const minutesOf = (records: PlanRecords) => buildProblem(records).problem.tasks[0]!.durationMinutes;

const learningOf = (count: number, ratio: number): PlanRecords['learning'] => ({
  ...planRecords().learning,
  hours: Array.from({ length: count }, (_, k) => ({
    taskKind: 'strip',
    machineId: `machine ${k % 12}`,
    season: '2025',
    minutes: 100 * ratio,
    routeMinutes: 100,
  })),
});

describe('the hours that the plan computes with', () => {
  it('are as stated where they are stated without a spread', () => {
    expect(minutesOf(planRecords({ tasks: [planTask({ id: 'strip', handsOnMinutes: 90 })] }))).toBe(90);
  });

  it('before anything is finished are the mean of what is believed then: a median of exp(0.1) with all its spreads', () => {
    const task = planTask({ id: 'strip', minMinutes: 60, handsOnMinutes: 1000, maxMinutes: 2400 });
    // exp(0.1 + (0.2² + 0.07² + 0.13² + 0.08² + 0.35²) / 2) = 1.215; learnt spreads have tails, so a little more.
    const minutes = minutesOf(planRecords({ tasks: [task] }));
    expect(minutes).toBeGreaterThan(1180);
    expect(minutes).toBeLessThan(1300);
  });

  it('follow what finished tasks took, the more the more there are', () => {
    const task = planTask({ id: 'strip', kind: 'strip', minMinutes: 50, handsOnMinutes: 100, maxMinutes: 200 });
    const took = (count: number) => minutesOf(planRecords({ tasks: [task], learning: learningOf(count, 2) }));
    expect(took(5)).toBeGreaterThan(took(0));
    expect(took(100)).toBeGreaterThan(took(5));
    // Always twice the route's, so hardly any noise is left; what may be luck of one season is not all expected again.
    expect(took(300)).toBeGreaterThan(175);
    expect(took(300)).toBeLessThan(215);
  });

  it('of begun work are what is left of them', () => {
    const begun = planTask({
      id: 'strip',
      kind: 'strip',
      handsOnMinutes: 100,
      startedAt: new Date('2026-09-14T15:00:00Z'),
      workedMinutes: 50,
    });
    expect(minutesOf(planRecords({ tasks: [begun] }))).toBe(50);
  });

  it('of begun work that has used them up are still a quarter of an hour, in the plan and for the simulation', () => {
    // A quarter of an hour: a judgement, no source.
    const overrun = (fields: object) =>
      planRecords({
        tasks: [
          planTask({
            id: 'strip',
            handsOnMinutes: 100,
            startedAt: new Date('2026-09-14T15:00:00Z'),
            workedMinutes: 500,
            ...fields,
          }),
        ],
      });
    expect(minutesOf(overrun({}))).toBe(15);
    expect(lengthsOf(overrun({ minMinutes: 60, maxMinutes: 240 })).strip).toMatchObject({
      workedMinutes: 500,
      minRemainingMinutes: 15,
    });
  });

  it('end a long job neither before one chance in ten nor after four in five', () => {
    // Forty hours by likely hours, which are exceeded by a quarter on average: that day would hardly ever be met.
    const tasks = Array.from({ length: 20 }, (_, k) =>
      planTask({
        id: `t${k}`,
        kind: 'strip',
        minMinutes: 80,
        handsOnMinutes: 120,
        maxMinutes: 240,
        links: k === 0 ? [] : [after(`t${k - 1}`)],
      }),
    );
    const records = planRecords({ tasks });
    const made = scheduleRecords(records);
    const { day } = completionsOf(made).get('job')!;
    const [simulation] = simulatePlan(records, made.schedule.order, { scenarios: 500, seed: 1 }).jobs;
    expect(day! >= simulation!.p10Date! && day! <= simulation!.p80Date!).toBe(true);
  });
});

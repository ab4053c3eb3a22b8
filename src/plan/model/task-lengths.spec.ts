import { describe, expect, it } from '@jest/globals';
import { type PlanRecords } from '../inputs/records.js';
import { simulatePlan } from '../simulation/simulate-plan.js';
import { after, planRecords, planTask } from './plan-fixtures.js';
import { buildProblem } from './problem.js';
import { completionsOf, scheduleRecords } from './scheduled-records.js';

const minutesOf = (records: PlanRecords) => buildProblem(records).problem.tasks[0]!.durationMinutes;

describe('the hours that the plan computes with', () => {
  it('are the mean of the three points: (60 + 4 × 90 + 240) / 6 (Malcolm et al. 1959, Operations Research 7:646–669)', () => {
    expect(
      minutesOf(
        planRecords({ tasks: [planTask({ id: 'strip', minMinutes: 60, handsOnMinutes: 90, maxMinutes: 240 })] }),
      ),
    ).toBe(110);
  });

  it('are those that a dozen finished tasks of its kind took, once there are so many', () => {
    const task = planTask({ id: 'strip', kind: 'strip', handsOnMinutes: 100 });
    const took = (count: number) =>
      minutesOf(
        planRecords({
          tasks: [task],
          paces: [{ kind: 'strip', ratios: Array.from({ length: count }, (_, k) => (k % 2 === 0 ? 1.1 : 1.5)) }],
        }),
      );
    expect(took(11)).toBe(100);
    expect(took(12)).toBe(130);
  });

  it('of begun work are what is left of them', () => {
    const begun = planTask({
      id: 'strip',
      kind: 'strip',
      handsOnMinutes: 100,
      startedAt: new Date('2026-09-14T15:00:00Z'),
      workedMinutes: 50,
    });
    expect(
      minutesOf(
        planRecords({ tasks: [begun], paces: [{ kind: 'strip', ratios: Array.from({ length: 12 }, () => 1.3) }] }),
      ),
    ).toBe(80);
  });

  it('end a long job neither before one chance in ten nor after four in five', () => {
    // Forty hours by likely hours, which are exceeded by a quarter on average: that day would hardly ever be met.
    const tasks = Array.from({ length: 20 }, (_, k) =>
      planTask({ id: `t${k}`, kind: 'strip', handsOnMinutes: 120, links: k === 0 ? [] : [after(`t${k - 1}`)] }),
    );
    const records = planRecords({
      tasks,
      paces: [{ kind: 'strip', ratios: [0.9, 1, 1, 1.1, 1.1, 1.2, 1.2, 1.3, 1.4, 1.5, 1.6, 1.7] }],
    });
    const made = scheduleRecords(records);
    const { day } = completionsOf(made).get('job')!;
    const [simulation] = simulatePlan(records, made.schedule.order, { scenarios: 500, seed: 1 }).jobs;
    expect(day! >= simulation!.p10Date! && day! <= simulation!.p80Date!).toBe(true);
  });
});

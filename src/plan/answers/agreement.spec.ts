/** Days and chances of a job agree in every answer, over made-up shops at all times of the year. */
import { describe, expect, it } from '@jest/globals';
import { madeUpShop } from '../../../test/plan-shop.js';
import type { PlanRecords } from '../inputs/records.js';
import { withSchedule } from '../model/scheduled-records.js';
import { computePlan } from '../simulation/compute-plan.js';
import { withSimulation } from './plan.queries.js';
import { scheduledDate } from './scheduled-date.js';
import { timelineOf } from './timeline.queries.js';

/** The same shop with paint weather that most years lack in spring: one pass waits longer than single years do. */
const rare = (records: PlanRecords): PlanRecords => ({
  ...records,
  paintWindows: records.paintWindows.filter((_, k) => Math.floor(k / 2) % 9 === 8),
});
const shops = [1, 2, 3, 4].flatMap((seed) => {
  const records = madeUpShop(6, seed);
  return [records, rare(records)];
});

describe('the days of a job', () => {
  it('stand in order, in each answer alike, and the scheduled one within what is likely', () => {
    for (const records of shops) {
      const { schedule, ...answer } = computePlan({ records, last: null, seed: 1, schedules: 20, scenarios: 100 });
      const forecast = withSchedule(records, schedule);
      const jobs = withSimulation(forecast, answer.simulation);
      const plan = {
        forecast,
        answer,
        simulation: answer.simulation,
        computedAt: records.now,
        fingerprint: '',
        ageSeconds: 0,
        stale: false,
      };
      const bars = new Map(timelineOf(plan, records.today, records.today).jobs.map((job) => [job.jobId, job]));
      for (const job of jobs) {
        const days = [job.p10Date, job.p50Date, job.p80Date, job.p95Date].filter((day) => day !== null);
        expect([...days].sort()).toEqual(days);
        if (job.p95Date) expect(job.expectedDate! <= job.p95Date).toBe(true);
        if (job.p10Date) expect(job.expectedDate === null || job.expectedDate >= job.p10Date).toBe(true);
        expect(bars.get(job.jobId)).toMatchObject({ expectedDate: job.expectedDate, p80Date: job.p80Date });
        const parts = records.tasks.flatMap((task) =>
          task.jobId === job.jobId && !task.startedAt ? task.awaited : [],
        );
        // Nothing is finished before the parts that it waits for have come.
        for (const part of parts) if (job.expectedDate) expect(job.expectedDate >= part.expectedDate).toBe(true);
      }
    }
  });

  it('take the day that nearly all futures need where one pass ends beyond it', () => {
    const chances = { p10Date: '2026-09-01', p95Date: '2026-10-01' };
    expect(scheduledDate('2026-10-05', chances)).toBe('2026-10-01');
    expect(scheduledDate(null, chances)).toBe('2026-10-01');
    expect(scheduledDate('2026-09-15', chances)).toBe('2026-09-15');
    expect(scheduledDate('2026-08-15', chances)).toBe('2026-09-01');
    expect(scheduledDate('2026-10-05', undefined)).toBe('2026-10-05');
  });
});

import { describe, expect, it } from '@jest/globals';
import { after, planJob, planRecords, planTask } from '../model/plan-fixtures.js';
import { computePlan } from './compute-plan.js';
import { qualityWords } from './quality.js';

/** Two jobs of two whole days each for one pair of hands, from Tuesday 15 September on. */
function shop(dueDate: string) {
  const jobs = ['one', 'two'].map((id, k) => planJob({ id, number: k + 1, dueDate }));
  const tasks = jobs.flatMap(({ id: jobId }) => [
    planTask({ id: `${jobId} strip`, jobId, handsOnMinutes: 480 }),
    planTask({ id: `${jobId} build`, jobId, handsOnMinutes: 480, links: [after(`${jobId} strip`)] }),
  ]);
  return planRecords({ jobs, tasks });
}
const plan = (dueDate: string) =>
  computePlan({ records: shop(dueDate), last: null, seed: 1, schedules: 200, scenarios: 10 });

describe('the quality of a plan', () => {
  it('stands beside what each job could do alone, and what no order could better', () => {
    const { quality, search } = plan('2026-09-16');
    // Each alone would end on Wednesday at closing, so in time; together one of them ends on Friday at five, 41 hours
    // after midnight on Wednesday.
    expect(quality.earliestDates).toEqual({ one: '2026-09-16', two: '2026-09-16' });
    expect(quality).toMatchObject({ daysLate: 1.7, daysLateAtLeast: 0 });
    expect(search.provenOptimal).toBe(false);
    expect(qualityWords(quality, false)).toBe('the jobs end 1.7 days after their due days in all');
  });

  it('says so where lateness cannot be helped', () => {
    const { quality } = plan('2026-09-14');
    // Two days of work end on Wednesday at five at the earliest, 41 hours after the due Monday has ended; both: 82 hours, 3.4 days.
    expect(quality.daysLateAtLeast).toBe(3.4);
    expect(qualityWords(quality, false)).toContain('no order of work could bring that below 3.4');
    expect(qualityWords({ ...quality, daysLate: 3.4 }, false)).toBe(
      'the jobs end 3.4 days after their due days in all, and no order of work could bring that down',
    );
  });

  it('is settled where every job is in time', () => {
    const { quality } = plan('2026-10-30');
    expect(qualityWords(quality, false)).toBe('no job ends after its due day');
    expect(qualityWords(quality, true)).toBe('no order of work could do better');
  });
});

import { describe, expect, it } from '@jest/globals';
import type { PlanRecords } from '../inputs/records.js';
import { after, planJob, planRecords, planTask } from '../model/plan-fixtures.js';
import { completionsOf, scheduleRecords } from '../model/scheduled-records.js';
import { startReason } from '../model/words.js';
import { benchList } from './bench-list.js';
import { jobSchedules } from './job-forecast.js';

const reasonsOf = (records: PlanRecords, taskId: string): string => {
  const made = scheduleRecords(records);
  return startReason(
    made.schedule.tasks.find((task) => task.id === taskId)!,
    made.naming,
  );
};
const benchWhys = (records: PlanRecords, day: string) =>
  Object.fromEntries(
    benchList(scheduleRecords(records), day).tasks.map((task) => [task.taskId, task.reasons.join('; ')]),
  );
// 15 September 2026 is a Tuesday.
const tuesdays = [{ weekday: 2, opens: '09:00', closes: '17:00' }];

describe('why a task starts when it does', () => {
  it('names of those who were in the way the one whose end let it in', () => {
    // One person, nine to five: both long tasks come first by their jobs' priority, Tuesday and Wednesday; the third is on Thursday.
    const records = planRecords({
      jobs: [
        planJob({ id: 'a', number: 1, priority: 2 }),
        planJob({ id: 'b', number: 2, priority: 1 }),
        planJob({ id: 'c', number: 3 }),
      ],
      tasks: [
        planTask({ id: 'first', jobId: 'a', handsOnMinutes: 480 }),
        planTask({ id: 'second', jobId: 'b', handsOnMinutes: 480 }),
        planTask({ id: 'third', jobId: 'c' }),
      ],
    });
    expect(reasonsOf(records, 'third')).toBe('waits for somebody to do it, held by task second on job 2');
  });

  it('tells of a short wait only where it is what the task starts late for', () => {
    const coats = (minutes: number) => [
      planTask({ id: 'first', handsOnMinutes: minutes }),
      planTask({ id: 'next', handsOnMinutes: 60, links: [after('first', 15)] }),
    ];
    expect(reasonsOf(planRecords({ tasks: coats(60) }), 'next')).toBe('waits 15 minutes after task first');
    // Ends at five on Tuesday: the fifteen minutes are over long before nine on Wednesday.
    expect(reasonsOf(planRecords({ tasks: coats(480) }), 'next')).toBe('follows task first');
    expect(reasonsOf(planRecords({ openingHours: tuesdays, tasks: coats(480) }), 'next')).toBe(
      'follows task first, and nobody is in until 2026-09-22',
    );
  });

  it('says when nobody is in yet', () => {
    const friday = planRecords({
      openingHours: [{ weekday: 5, opens: '09:00', closes: '17:00' }],
      tasks: [planTask({ id: 'only' })],
    });
    expect(reasonsOf(friday, 'only')).toBe('waits until somebody is in, 2026-09-18');
    expect(benchList(scheduleRecords(friday), '2026-09-15').note).toBe(
      'Nothing can be worked on. Next: task only on job 1 on 2026-09-18; it waits until somebody is in, 2026-09-18.',
    );
  });
});

describe('why now, on the bench list', () => {
  it('is that it can be done now only where all before it is done', () => {
    const finished = { startedAt: new Date('2026-09-14T13:00:00Z'), finishedAt: new Date('2026-09-14T14:00:00Z') };
    const tasks = [
      planTask({ id: 'done', ...finished }),
      planTask({ id: 'free', links: [after('done')] }),
      planTask({ id: 'next', links: [after('free')] }),
    ];
    expect(benchWhys(planRecords({ tasks }), '2026-09-15')).toEqual({
      free: 'it can be done now',
      next: 'it follows task free',
    });
  });

  it('names the day from which work goes on', () => {
    const long = planRecords({ openingHours: tuesdays, tasks: [planTask({ id: 'long', handsOnMinutes: 600 })] });
    expect(benchWhys(long, '2026-09-22')).toEqual({ long: 'it goes on from 2026-09-15' });
    expect(benchList(scheduleRecords(long), '2026-09-16').note).toBe(
      'Nobody is in. Next: task long on job 1 goes on on 2026-09-22.',
    );
  });

  it('counts the days to spare from the day by which the job is likely finished', () => {
    const made = scheduleRecords(
      planRecords({ jobs: [planJob({ dueDate: '2026-09-20' })], tasks: [planTask({ id: 'only' })] }),
    );
    const reasons = (likely?: Map<string, string>) =>
      benchList(made, '2026-09-15', likely).tasks[0]!.reasons.join('; ');
    expect(reasons()).toBe('it can be done now; its job has 5 days to spare');
    expect(reasons(new Map([['job', '2026-09-21']]))).toBe(
      'it can be done now; its job is 1 day behind what it is due for',
    );
  });
});

describe('where there is nothing to plan with', () => {
  it('says that nobody is ever in, and not that no work is left', () => {
    const made = scheduleRecords(planRecords({ openingHours: [], tasks: [planTask({ id: 'only' })] }));
    expect(benchList(made, '2026-09-15').note).toBe(
      "Nothing can be planned: nobody is ever in. Enter the shop's opening hours, or a person's weekly hours.",
    );
    expect(completionsOf(made).get('job')).toMatchObject({
      day: null,
      reasons: ['Task only has no place in the next 500 days: nobody is ever in'],
    });
  });

  it('tells a job without tasks from one whose tasks are done', () => {
    expect(completionsOf(scheduleRecords(planRecords())).get('job')).toMatchObject({
      day: null,
      reasons: ['it has no tasks yet, so nothing is known of when it will be done'],
    });
    const done = planTask({
      id: 'done',
      startedAt: new Date('2026-09-14T13:00:00Z'),
      finishedAt: new Date('2026-09-14T14:00:00Z'),
    });
    expect(completionsOf(scheduleRecords(planRecords({ tasks: [done] }))).get('job')).toMatchObject({
      day: '2026-09-14',
      reasons: ['all its tasks are done'],
    });
  });
});

describe('the hours that are left on a job', () => {
  it('are those of hands, not of the rack', () => {
    const tasks = [
      planTask({ id: 'coat' }),
      planTask({ id: 'cure', handsOnMinutes: 0, people: 0, cureMinutes: 14 * 1440, links: [after('coat')] }),
      planTask({ id: 'build', handsOnMinutes: 90, links: [after('cure')] }),
    ];
    expect(jobSchedules(scheduleRecords(planRecords({ tasks })))[0]!.remainingHandsOnMinutes).toBe(150);
  });
});

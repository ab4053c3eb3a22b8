import { describe, expect, it } from '@jest/globals';
import { after, planRecords, planTask } from '../model/plan-fixtures.js';
import { scheduleRecords } from '../model/scheduled-records.js';
import { longWaitWords, luckWords } from './luck-words.js';

describe('what the plan has learnt', () => {
  it('is told with what it rests on', () => {
    const learning = {
      ...planRecords().learning,
      hours: Array.from({ length: 14 }, (_, k) => ({
        taskKind: 'strip',
        machineId: `m${k % 3}`,
        season: '2025',
        minutes: 120,
        routeMinutes: 100,
      })),
      absence: { personDays: 200, spellDays: [2] },
      foundWork: [
        { minutes: 60, neededPart: false },
        { minutes: 0, neededPart: false },
      ],
    };
    const words = luckWords(planRecords({ learning }));
    expect(words).toHaveLength(3);
    expect(words[0]).toMatch(/^hours as learnt: 1\.[12]\d times the route's as it was then, from 14 finished tasks$/);
    expect(words[1]).toMatch(/^sickness is expected on \d+(\.\d)? % of days: 1 spell on record in 200 days of work$/);
    expect(words[2]).toMatch(/it did in 1 of 2$/);
    expect(luckWords(planRecords())).toEqual([
      expect.stringMatching(/until tasks with labour are finished: a judgement$/),
    ]);
  });
});

describe('a wait that should be short', () => {
  const maxWaits = [{ fromKind: 'derust', toKind: 'prime', maxMinutes: 600 }];
  const paintWindows = [Date.UTC(2026, 8, 25, 13) / 60_000, Date.UTC(2026, 8, 25, 21) / 60_000];
  const prime = planTask({ id: 'p', kind: 'prime', needsPaintWeather: true, pausable: false, links: [after('d')] });

  it('is told of where steel is bare already', () => {
    const bare = planTask({
      id: 'd',
      kind: 'derust',
      startedAt: new Date('2026-09-14T13:00:00Z'),
      finishedAt: new Date('2026-09-14T14:00:00Z'),
    });
    expect(longWaitWords(scheduleRecords(planRecords({ maxWaits, paintWindows, tasks: [bare, prime] })))).toEqual([
      'job 1: "Task p" follows "Task d" after 11 days, where 10 hours is the longest it should wait',
    ]);
  });

  it('is kept where it can be, so that nothing is to be told', () => {
    const made = scheduleRecords(
      planRecords({ maxWaits, paintWindows, tasks: [planTask({ id: 'd', kind: 'derust' }), prime] }),
    );
    expect(longWaitWords(made)).toEqual([]);
    expect(made.built.local.dayOf(made.schedule.tasks.find((task) => task.id === 'd')!.finishMinutes)).toBe(
      '2026-09-25',
    );
  });
});

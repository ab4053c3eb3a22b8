/** Work that findings suggest and nobody has decided on, in the plan: by hand-worked figures. */
import { describe, expect, it } from '@jest/globals';
import { at } from '../../engine/look-up.js';
import { quantilesOf } from '../inputs/likely-work.js';
import { isLikely, likelyArrivals, likelyLengths } from './likely-work.js';
import { after, planRecords, planTask } from './plan-fixtures.js';
import { buildProblem } from './problem.js';
import { completionsOf, scheduleRecords } from './scheduled-records.js';

const work = { jobId: 'job', count: 2, meanMinutes: 600, minutes: [0, 600, 1200], partDays: [0, 12, 20] };
const tasks = [
  planTask({ id: 'strip', kind: 'strip' }),
  planTask({ id: 'assemble', kind: 'assemble', links: [after('strip')] }),
];

describe('likely work', () => {
  it('adds up exactly: 60 or nothing and 30 or nothing are 0, 30, 60 and 90 equally often', () => {
    const minutes = quantilesOf([
      { probability: 0.5, minutes: 60 },
      { probability: 0.5, minutes: 30 },
    ]);
    expect(minutes).toHaveLength(40);
    for (const value of [0, 30, 60, 90]) expect(minutes.filter((one) => one === value)).toHaveLength(10);
    expect(quantilesOf([{ probability: 0.85, minutes: 100 }]).filter((one) => one === 100)).toHaveLength(34);
    expect(quantilesOf([]).every((one) => one === 0)).toBe(true);
  });

  it('stands between what shows it and what waits for it, with its mean, and moves the day', () => {
    const without = planRecords({ tasks });
    const records = planRecords({ tasks, likelyWork: [work] });
    const { problem, local } = buildProblem(records);
    const likely = at(
      problem.tasks.filter((task) => isLikely(task.id)),
      0,
    );
    expect(likely).toMatchObject({ durationMinutes: 600, predecessors: [{ taskId: 'strip' }] });
    // The middle of its equally likely days is the twelfth.
    expect(likely.releaseMinutes).toBe(local.midnight(12));
    expect(problem.tasks.find((task) => task.id === 'assemble')?.predecessors.map((link) => link.taskId)).toEqual([
      'strip',
      likely.id,
    ]);
    const day = (of: typeof records) => completionsOf(scheduleRecords(of)).get('job')?.day ?? '';
    expect(day(records) > day(without)).toBe(true);
  });

  it('is drawn from its outcomes, parts too, and is nothing once the work is over', () => {
    const records = planRecords({ tasks, likelyWork: [work] });
    const { local } = buildProblem(records);
    expect(likelyLengths(records)).toEqual({ 'job/likely': { kind: 'entries', minutes: work.minutes } });
    expect(likelyArrivals(records, local)).toEqual([
      { id: 'job/likely', taskIds: ['job/likely'], minutes: [0, local.midnight(12), local.midnight(20)] },
    ]);
    const over = planRecords({
      tasks: tasks.map((task) => ({ ...task, startedAt: records.now, finishedAt: records.now })),
      likelyWork: [work],
    });
    expect(buildProblem(over).problem.tasks.some((task) => isLikely(task.id))).toBe(false);
  });
});

import { describe, expect, it } from '@jest/globals';
import { after, planJob, planRecords, planTask } from '../model/plan-fixtures.js';
import { scheduleRecords } from '../model/scheduled-records.js';
import { withSimulation } from './plan.queries.js';

describe("the tasks that decide a job's end", () => {
  // Six of its own, twelve of another job in the way of them.
  const own = Array.from({ length: 6 }, (_, k) =>
    planTask({ id: `own${k}`, jobId: 'mine', links: k === 0 ? [] : [after(`own${k - 1}`)] }),
  );
  const others = Array.from({ length: 12 }, (_, k) => planTask({ id: `other${k}`, jobId: 'theirs' }));
  const made = scheduleRecords(
    planRecords({
      jobs: [planJob({ id: 'mine', number: 1 }), planJob({ id: 'theirs', number: 2 })],
      tasks: [...own, ...others],
    }),
  );
  const simulation = (chain: { taskId: string; share: number }[]) =>
    withSimulation(made, {
      scenarios: 1,
      seed: 1,
      resources: [],
      finishedBy: [],
      jobs: [
        {
          jobId: 'mine',
          p10Date: null,
          p50Date: null,
          p80Date: null,
          p95Date: null,
          probabilityByDue: null,
          probabilityReady: null,
          readinessGainPerWeek: null,
          chain,
        },
      ],
    })[0]!.deciding;
  const theirs = others.map(({ id }, k) => ({ taskId: id, share: (k + 1) / 20 }));

  it('are eight at most: its own first, then those of others that most often decide', () => {
    const told = simulation([...theirs, ...own.map(({ id }) => ({ taskId: id, share: 0.3 }))]);
    expect(told.map((one) => one.name)).toEqual([
      ...own.map((task) => task.name),
      'Task other10 on job 2',
      'Task other11 on job 2',
    ]);
  });

  it('are the most frequent of its own where there are more than eight', () => {
    const told = simulation([
      ...theirs,
      ...own.map(({ id }) => ({ taskId: id, share: 0.3 })),
      ...own.slice(0, 4).map(({ id }) => ({ taskId: `${id}/cure`, share: 0.1 })),
    ]);
    expect(told).toHaveLength(8);
    expect(told.every((one) => !one.name.includes('on job'))).toBe(true);
  });
});

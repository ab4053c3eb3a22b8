import { describe, expect, it } from '@jest/globals';
import { forecastFrom } from '../background/schedule-now.js';
import { withOdds } from './plan.queries.js';
import { after, planJob, planRecords, planTask } from '../model/plan-fixtures.js';

describe("the tasks that decide a job's end", () => {
  // Six of its own, twelve of another job in the way of them.
  const own = Array.from({ length: 6 }, (_, k) =>
    planTask({ id: `own${k}`, jobId: 'mine', links: k === 0 ? [] : [after(`own${k - 1}`)] }),
  );
  const others = Array.from({ length: 12 }, (_, k) => planTask({ id: `other${k}`, jobId: 'theirs' }));
  const made = forecastFrom(
    planRecords({
      jobs: [planJob({ id: 'mine', number: 1 }), planJob({ id: 'theirs', number: 2 })],
      tasks: [...own, ...others],
    }),
  );
  const odds = (chain: { taskId: string; share: number }[]) =>
    withOdds(made, {
      scenarios: 1,
      seed: 1,
      resources: [],
      finishedBy: [],
      jobs: [
        {
          jobId: 'mine',
          p10Day: null,
          p50Day: null,
          p80Day: null,
          p95Day: null,
          chanceByDue: null,
          chanceReady: null,
          gainOfAWeek: null,
          chain,
        },
      ],
    })[0]!.deciding;
  const theirs = others.map(({ id }, k) => ({ taskId: id, share: (k + 1) / 20 }));

  it('are eight at most: its own first, then those of others that most often decide', () => {
    const told = odds([...theirs, ...own.map(({ id }) => ({ taskId: id, share: 0.3 }))]);
    expect(told.map((one) => one.name)).toEqual([
      ...own.map((task) => task.name),
      'Task other10 on job 2',
      'Task other11 on job 2',
    ]);
  });

  it('are the most frequent of its own where there are more than eight', () => {
    const told = odds([
      ...theirs,
      ...own.map(({ id }) => ({ taskId: id, share: 0.3 })),
      ...own.slice(0, 4).map(({ id }) => ({ taskId: `${id}/cure`, share: 0.1 })),
    ]);
    expect(told).toHaveLength(8);
    expect(told.every((one) => !one.name.includes('on job'))).toBe(true);
  });
});

import { describe, expect, it } from '@jest/globals';
import { simulate } from './index.js';

describe('a deadline', () => {
  // 60 minutes of one person from the start of the calendar: the job ends at minute 60 in every scenario.
  const readyBy = (minutes: number) =>
    simulate({
      problem: {
        horizonMinutes: 1000,
        resources: [{ id: 'person', capacity: 1 }],
        tasks: [
          {
            id: 'fit',
            jobId: 'job',
            durationMinutes: 60,
            demands: [{ resourceId: 'person', amount: 1 }],
            pausable: false,
            predecessors: [],
          },
        ],
      },
      scenarios: 4,
      seed: 1,
      deadlines: [{ id: 'snow', minutes: [minutes] }],
    }).jobs[0]!.readiness[0]!.probability;

  it('is met by what ends at that very minute, and missed by what ends a minute later', () => {
    expect(readyBy(60)).toBe(1);
    expect(readyBy(59)).toBe(0);
  });
});

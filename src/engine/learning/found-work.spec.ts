import { describe, expect, it } from '@jest/globals';
import { expectedFoundMinutes, type FoundWorkEntry, learnFoundWork } from './found-work.js';

const mean = (list: number[]): number => list.reduce((sum, one) => sum + one, 0) / list.length;

describe('found work', () => {
  it('before anything is known comes with one strip in eight, a third of it with a part, two hours', () => {
    const { draws } = learnFoundWork([], 1, 5000);
    // Beta(0.35, 2.5) has the mean 0.35 / 2.85, Beta(1, 2) a third.
    expect(mean(draws.map((one) => one.probability))).toBeCloseTo(0.35 / 2.85, 1);
    expect(mean(draws.map((one) => one.partProbability))).toBeCloseTo(1 / 3, 1);
    const medians = draws.map((one) => one.medianMinutes).sort((a, b) => a - b);
    expect(Math.abs(medians[2500]! - 120)).toBeLessThan(8);
  });

  it('follows what was recorded', () => {
    const entries = Array.from({ length: 48 }, (_, k): FoundWorkEntry => ({
      minutes: k % 4 === 0 ? 200 : 0,
      neededPart: k % 8 === 0,
    }));
    const posterior = learnFoundWork(entries, 1, 5000);
    expect(posterior).toMatchObject({ entries: 48, found: 12 });
    // (0.35 + 12) / (2.85 + 48), (1 + 6) / (3 + 12).
    expect(mean(posterior.draws.map((one) => one.probability))).toBeCloseTo(12.35 / 50.85, 2);
    expect(mean(posterior.draws.map((one) => one.partProbability))).toBeCloseTo(7 / 15, 1);
    // exp of (3 ln 120 + 12 ln 200) / 15 = 180.6.
    expect(Math.abs(mean(posterior.draws.map((one) => one.medianMinutes)) - 181)).toBeLessThan(6);
    expect(expectedFoundMinutes(posterior)).toBeGreaterThan(40);
    expect(learnFoundWork(entries, 1, 5000)).toEqual(posterior);
  });
});

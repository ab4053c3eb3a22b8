import { describe, expect, it } from '@jest/globals';
import { expectedAbsentShare, sampleAbsences, STATED_ABSENCE_PRIORS } from './absence.js';

const shareOf = (samples: Uint8Array[][]): number => {
  let missed = 0;
  let days = 0;
  for (const person of samples.flat()) {
    missed += person.reduce((sum, one) => sum + one, 0);
    days += person.length;
  }
  return missed / days;
};

describe('absence', () => {
  it('before anything is known is a spell in 143 days of one to five days: 2.1 % of days', () => {
    const record = { personDays: 0, spellDays: [] };
    const expected = expectedAbsentShare(record);
    // 0.007 × 3 / (1 + 0.021).
    expect(expected).toBeCloseTo(0.021 / 1.021, 6);
    expect(shareOf(sampleAbsences({ record, workingDays: [200, 200], seed: 1, samples: 800 }))).toBeCloseTo(
      expected,
      2,
    );
  });

  it('follows what was recorded: 60 spells of two days in 2,000', () => {
    const record = { personDays: 2000, spellDays: Array.from({ length: 60 }, () => 2) };
    const rate = (0.007 * STATED_ABSENCE_PRIORS.weightDays + 60) / (STATED_ABSENCE_PRIORS.weightDays + 2000);
    const mean = (60 * 2 + 10 * 3) / 70;
    expect(expectedAbsentShare(record)).toBeCloseTo((rate * mean) / (1 + rate * mean), 6);
    expect(shareOf(sampleAbsences({ record, workingDays: [200], seed: 1, samples: 500 }))).toBeCloseTo(
      expectedAbsentShare(record),
      2,
    );
  });

  it('comes in spells, the same for the same seed', () => {
    const question = { record: { personDays: 0, spellDays: [] }, workingDays: [100], seed: 3, samples: 20 };
    const samples = sampleAbsences(question);
    expect(samples).toEqual(sampleAbsences(question));
    const longest = Math.max(
      ...samples.map(([days]) =>
        Math.max(
          ...[...days!]
            .join('')
            .split('0')
            .map((run) => run.length),
        ),
      ),
    );
    expect(longest).toBeGreaterThan(1);
  });
});

import { describe, expect, it } from '@jest/globals';
import { ageAt, ageTable, meanAgeTable, minuteOfAddedAge } from './age-table.js';
import { coatAge, minuteOfAge } from './clock.js';
import { primer } from './sheet.fixture.js';

/** A month of days between −2 and 24 °C, by hour. */
const celsius = Float64Array.from(
  { length: 24 * 30 },
  (_, hour) => 11 + 13 * Math.sin((hour * Math.PI) / 12 + hour / 90),
);
const course = [...celsius].map((at, hour) => ({
  fromMinute: 60 * hour - 300,
  toMinute: 60 * hour - 240,
  celsius: Math.round(at * 100) / 100,
}));
const table = ageTable(primer, -300, celsius);

describe('a table of equivalent ages', () => {
  it('gives the same ages and moments as the clock that adds up hour by hour', () => {
    for (const applied of [-300, -7, 0, 61, 4000, 20_000]) {
      for (const later of [0, 30, 60, 500, 9000]) {
        const age = coatAge(primer, course, applied, applied + later);
        const added = (sums: Float64Array) =>
          ageAt(sums, table.fromMinute, applied + later) - ageAt(sums, table.fromMinute, applied);
        expect(added(table.drying)).toBeCloseTo(age.equivalentMinutes, 6);
        expect(added(table.closing)).toBeCloseTo(age.closingMinutes, 6);
      }
      for (const target of [15, 60, 480, 2880]) {
        for (const by of ['clock', 'closing'] as const) {
          const sums = by === 'clock' ? table.drying : table.closing;
          const slow = minuteOfAge(primer, course, applied, target, by);
          const quick = minuteOfAddedAge(sums, table.fromMinute, applied, target);
          if (slow === undefined) expect(quick).toBe(Infinity);
          else expect(Math.abs(quick - slow)).toBeLessThan(1e-3);
        }
      }
    }
  });

  it('takes unknown hours as cold for drying and as warm for closing', () => {
    const unknown = ageTable(primer, 0, new Float64Array(10).fill(NaN));
    expect(minuteOfAddedAge(unknown.drying, 0, 0, 1)).toBe(Infinity);
    // 35 °C with 20 as reference and doubling every 10: 2^1.5 times as fast.
    expect(minuteOfAddedAge(unknown.closing, 0, 0, 60)).toBeCloseTo(60 / 2 ** 1.5, 3);
  });

  it('has a mean that lies between', () => {
    const cold = ageTable(primer, 0, new Float64Array(48).fill(10));
    const warm = ageTable(primer, 0, new Float64Array(48).fill(20));
    const mean = meanAgeTable([cold, warm]);
    expect(mean.drying[48]).toBeCloseTo((cold.drying[48]! + warm.drying[48]!) / 2, 6);
    expect(warm.drying[48]).toBeCloseTo(2880, 6);
    expect(cold.drying[48]).toBeCloseTo(1440, 6);
  });
});

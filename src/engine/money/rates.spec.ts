import { describe, expect, it } from '@jest/globals';
import { RateHistory } from './rates.js';

const rates = new RateHistory([
  { from: '2026-06-01', hourlyValue: '22', spaceCostPerDay: '0.35' },
  { from: '2026-01-01', hourlyValue: '20', spaceCostPerDay: '0.30' },
]);
const plain = (list: { minutes: number; hourlyValue: { toString(): string } }[]) =>
  list.map((one) => [one.minutes, one.hourlyValue.toString()]);

describe("a shop's rates over time", () => {
  it('values hours at the rate of their day, and those before the first at the first', () => {
    expect(
      plain(
        rates.labour([
          { date: '2025-12-31', minutes: 30 },
          { date: '2026-05-31', minutes: 60 },
          { date: '2026-06-01', minutes: 90 },
        ]),
      ),
    ).toEqual([
      [90, '20'],
      [90, '22'],
    ]);
    expect(rates.isAssumedOn('2025-12-31')).toBe(true);
    expect(rates.isAssumedOn('2026-01-01')).toBe(false);
  });

  it('counts every day of space once, at its own cost', () => {
    const space = (from: string, to: string) =>
      rates.space(from, to).map(({ days, costPerDay }) => [days, costPerDay.toString()]);
    expect(space('2026-05-30', '2026-06-03')).toEqual([
      [2, '0.3'],
      [2, '0.35'],
    ]);
    expect(space('2025-12-30', '2026-01-02')).toEqual([[3, '0.3']]);
    expect(space('2026-07-01', '2026-07-01')).toEqual([]);
  });

  it('refuses a shop without a rate', () => {
    expect(() => new RateHistory([])).toThrow(expect.objectContaining({ code: 'no-rates' }));
  });
});

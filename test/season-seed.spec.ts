import { describe, expect, it } from '@jest/globals';
import { makeStationDays } from '../seed/weather.js';

const thirty = (seed: number, endDate = '2026-04-30') => makeStationDays({ seed, endDate, years: 30 });

describe('the demo weather', () => {
  it('covers whole years without a gap, leap days too', () => {
    const rows = thirty(1);
    expect(rows[0]!.day).toBe('1996-05-01');
    expect(rows.at(-1)!.day).toBe('2026-04-30');
    // 30 years with the leap days of 2000, 2004, … 2024 (1996's fell before May).
    expect(rows).toHaveLength(30 * 365 + 7);
    expect(
      rows.slice(1).filter((row, index) => Date.parse(row.day) - Date.parse(rows[index]!.day) !== 86_400_000),
    ).toEqual([]);
    expect(rows.filter((row) => row.lowCelsius > row.highCelsius)).toEqual([]);
    expect(makeStationDays({ seed: 1, endDate: '2024-02-29', years: 1 })[0]!.day).toBe('2023-03-02');
  });

  it('gives a day the same weather whichever day the demo is loaded, and another seed other weather', () => {
    const earlier = thirty(5, '2026-04-30').filter((row) => row.day >= '2010-01-01');
    const later = thirty(5, '2026-09-12').filter((row) => row.day >= '2010-01-01' && row.day <= '2026-04-30');
    expect(later).toEqual(earlier);
    expect(thirty(6).filter((row) => row.day >= '2010-01-01')).not.toEqual(earlier);
  });

  it('is the climate its comment claims', () => {
    for (const seed of [1, 7, 20, 41]) {
      const rows = thirty(seed);
      const perYear = (of: (row: (typeof rows)[number]) => number) => rows.reduce((sum, row) => sum + of(row), 0) / 30;
      expect(perYear((row) => row.precipitationMillimetres)).toBeGreaterThan(720);
      expect(perYear((row) => row.precipitationMillimetres)).toBeLessThan(880);
      expect(perYear((row) => row.snowfallMillimetres ?? 0)).toBeGreaterThan(1300);
      expect(perYear((row) => row.snowfallMillimetres ?? 0)).toBeLessThan(2300);
      const firsts = firstInches(rows);
      expect(firsts.length).toBeGreaterThanOrEqual(29);
      expect(
        firsts[Math.floor(firsts.length / 2)]! >= '11-14' && firsts[Math.floor(firsts.length / 2)]! <= '11-28',
      ).toBe(true);
      expect(rows.some((row) => row.snowTrace)).toBe(true);
      expect(rows.every((row) => !(row.snowTrace && (row.snowfallMillimetres ?? 0) > 0))).toBe(true);
    }
  });
});

/** The first day with 25 mm in each season that starts in July, as month and day, in order. */
function firstInches(rows: ReturnType<typeof thirty>): string[] {
  const first = new Map<number, string>();
  for (const row of rows) {
    const season = Number(row.day.slice(0, 4)) - (row.day.slice(5) < '07-01' ? 1 : 0);
    if ((row.snowfallMillimetres ?? 0) >= 25 && !first.has(season)) first.set(season, row.day.slice(5));
  }
  return [...first.values()].filter((day) => day >= '07-01').sort();
}

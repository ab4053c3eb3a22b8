import { describe, expect, it } from '@jest/globals';
import { dayNumber } from '../days.js';
import { seasonDemand, seasonNearness } from './seasonality.js';

describe('the season of a kind', () => {
  const plain = { usualPeak: '12-05' };
  const near = (day: string, season = plain): number => seasonNearness(season, dayNumber(day));

  it('is a bell around the usual peak of every year', () => {
    expect(near('2026-12-05')).toBe(1);
    expect(near('2024-12-05')).toBe(1);
    // A standard deviation of 45 days away: exp(−½).
    expect(near('2027-01-19')).toBeCloseTo(Math.exp(-0.5), 12);
    expect(near('2026-10-21')).toBeCloseTo(Math.exp(-0.5), 12);
    expect(near('2026-06-05')).toBeLessThan(1e-3);
    expect(seasonNearness(null, 0)).toBe(0);
    expect(seasonDemand(null, 0)).toBe(1);
    expect(seasonDemand(plain, dayNumber('2026-06-05'))).toBeCloseTo(0.15, 2);
    expect(near('2026-02-28', { usualPeak: '02-29' })).toBe(1);
  });

  it("gives each season its own peak where it is known, and leaves the others' alone", () => {
    const season = { usualPeak: '12-05', peaks: ['2024-11-12', '2027-01-20'] };
    expect(near('2024-11-12', season)).toBe(1);
    expect(near('2027-01-20', season)).toBe(1); // the season of the winter that began in 2026
    expect(near('2025-12-05', season)).toBe(1);
    expect(near('2024-12-05', season)).toBeCloseTo(Math.exp(-0.5 * (23 / 45) ** 2), 12);
  });

  it('refuses a width or share that is none', () => {
    expect(() => seasonNearness({ ...plain, halfWidthDays: 0 }, 0)).toThrow(
      expect.objectContaining({ code: 'bad-number', path: 'seasonality/halfWidthDays' }),
    );
    expect(() => seasonDemand({ ...plain, offSeasonShare: 2 }, 0)).toThrow(
      expect.objectContaining({ code: 'bad-number', path: 'seasonality/offSeasonShare' }),
    );
  });
});

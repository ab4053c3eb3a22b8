import { describe, expect, it } from '@jest/globals';
import { compareShop } from './bench/shop.js';

describe('a shop planned with few schedules against many', () => {
  it('the long run is no worse and no better than its proven bound, and the same each time', () => {
    const row = compareShop(4, 3, 60, 600);
    expect(row.gapPercent).toBeGreaterThanOrEqual(0);
    expect(row.abovePercentOfBound).toBeGreaterThanOrEqual(0);
    expect(row.msPerSchedule).toBeGreaterThan(0);
    expect(compareShop(4, 3, 60, 600).gapPercent).toBe(row.gapPercent);
  });
});

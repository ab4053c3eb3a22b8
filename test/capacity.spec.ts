/** How many more fit, against small shops whose every order of work is tried by code that shares nothing with the service. */
import { describe, expect, it } from '@jest/globals';
import { besideMower, compareSmallShops, saidOf, twoTasks } from './bench/capacity.js';
import { countedOut, generatedShop } from './bench/capacity-shops.js';

describe('how many more fit', () => {
  it('is never more than can be, and seldom less', () => {
    const { cases, above, below } = compareSmallShops(60);
    expect({ cases, above }).toEqual({ cases: 62, above: 0 });
    expect(below).toBeLessThanOrEqual(1);
    // The shops are no trivial ones.
    const counts = Array.from({ length: 30 }, (_, k) => countedOut(generatedShop(k + 1)));
    expect(new Set(counts).size).toBeGreaterThan(5);
  }, 30_000);

  it('is ten in both of the shops worked by hand', () => {
    expect([saidOf(twoTasks()), countedOut(twoTasks())]).toEqual([10, 10]);
    expect([saidOf(besideMower()), countedOut(besideMower())]).toEqual([10, 10]);
  });
});

import { describe, expect, it } from '@jest/globals';
import { coverOf } from './reservations.js';

const need = (id: string, quantity: number, at: number, orderLineId: string | null = null) => ({
  id,
  stockId: 'bin',
  quantity,
  orderLineId,
  position: 1,
  createdAt: new Date(at),
});
const held = (quantity: number, ...needs: ReturnType<typeof need>[]) =>
  Object.fromEntries([...coverOf([{ id: 'bin', quantity }], needs)].map(([id, of]) => [id, of.toNumber()]));

describe('what a bin holds for whom', () => {
  it('is for those reserved from the bin first, though one that waits for the rest of an order is older', () => {
    expect(held(3, need('ordered', 2, 1, 'line'), need('reserved', 2, 2))).toEqual({ reserved: 2, ordered: 1 });
  });

  it('goes to the older need first among its like, and by id where they came at once', () => {
    expect(held(3, need('late', 2, 2), need('early', 2, 1))).toEqual({ early: 2, late: 1 });
    expect(held(1, need('b', 1, 1), need('a', 1, 1))).toEqual({ a: 1, b: 0 });
    expect(held(1, need('b', 1, 1, 'line'), need('a', 1, 2, 'line'))).toEqual({ b: 1, a: 0 });
  });

  it('is no more than there is, in any bin', () => {
    expect(held(0, need('a', 1, 1))).toEqual({ a: 0 });
    expect([...coverOf([{ id: 'other', quantity: 5 }], [need('a', 1, 1)])]).toEqual([]);
  });
});

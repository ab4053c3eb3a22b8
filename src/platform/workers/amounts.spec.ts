import { expect, it } from '@jest/globals';
import { Decimal } from 'decimal.js';
import { amountsPacked, amountsUnpacked } from './amounts.js';

const whole = {
  price: new Decimal('0.10'),
  jobs: [
    {
      cost: new Decimal('-12345678901234567890.123456789'),
      on: '2026-09-15',
      at: new Date('2026-09-15T13:00:00Z'),
      hours: 1.5,
      none: null,
    },
  ],
  byKind: new Map([['mower', { ask: new Decimal('1e3') }]]),
};

it('amounts arrive as they were sent, to the last digit, wherever they stand', () => {
  const arrived = amountsUnpacked(structuredClone(amountsPacked(whole))) as typeof whole;
  expect(arrived).toEqual(whole);
  expect(arrived.price.plus('0.20').equals('0.30')).toBe(true);
  expect(arrived.jobs[0]!.cost.toFixed()).toBe('-12345678901234567890.123456789');
});

it('without it they do not', () => {
  expect(() => structuredClone(whole)).toThrow(expect.objectContaining({ name: 'DataCloneError' }));
});

import { expect, test } from '@jest/globals';
import { Form, WrongFields } from './form.js';
import { Formatter } from './format.js';

const say = new Formatter(
  { currency: 'USD', timeZone: 'America/Toronto', unitSystem: 'imperial' },
  new Date('2026-11-25T15:00:00Z'),
);
const form = (fields: Record<string, string>) =>
  new Form(new Map(Object.entries(fields).map(([name, value]) => [name, [value]])), say);

test.each([
  ['60', '60'],
  ['$1,240.50', '1240.50'],
  ['59,70', '59.70'],
  ['1,240', '1240'],
  ['60 USD', '60'],
])('reads the amount %s', (typed, amount) => {
  expect(form({ price: typed }).money('price')).toBe(amount);
});

test('an amount that is none is told beside its field', () => {
  const wrong = form({ price: 'sixty', air: 'warm' });
  wrong.money('price');
  wrong.quantity('air', 'temperature');
  expect(() => wrong.check()).toThrow(WrongFields);
  try {
    wrong.check();
  } catch (error) {
    expect((error as WrongFields).wrong).toEqual({
      price: 'Write an amount, such as 59.70.',
      air: 'Write a number in °F.',
    });
  }
});

test('what is typed in Fahrenheit is recorded in Celsius', () => {
  expect(form({ air: '68' }).quantity('air', 'temperature')).toBe(20);
});

test('times are now unless said, and a tap that waited keeps its own time', () => {
  expect(form({}).moment()).toBe('2026-11-25T15:00:00Z');
  expect(form({ tappedAt: '2026-11-25T13:20:00Z' }).moment()).toBe('2026-11-25T13:20:00Z');
  expect(form({ tappedAt: '2026-11-25T13:20:00Z', when: '-10' }).moment()).toBe('2026-11-25T13:10:00Z');
  // A clock that runs ahead does not write into the future.
  expect(form({ tappedAt: '2027-01-01T00:00:00Z' }).moment()).toBe('2026-11-25T15:00:00Z');
  expect(form({ when: 'morning' }).moment()).toBe('2026-11-25T14:00:00Z');
  expect(form({ when: 'yesterday' }).moment()).toBe('2026-11-24T21:00:00Z');
  expect(form({ when: 'at', whenAt: '2026-11-20T19:40' }).moment()).toBe('2026-11-21T00:40:00Z');
});

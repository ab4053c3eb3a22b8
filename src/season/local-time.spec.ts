import { expect, it } from '@jest/globals';
import { LocalTime } from './local-time.js';

// Toronto is five hours behind UTC, four in summer; the clock went forward on 8 March 2026 and back on 1 November.
it('finds the moment that a wall clock shows, also on the days it changes', () => {
  const local = new LocalTime('America/Toronto');
  const at = (day: string, minute: number) => local.moment(day, minute).toISOString();
  expect(at('2026-01-15', 540)).toBe('2026-01-15T14:00:00.000Z');
  expect(at('2026-07-15', 540)).toBe('2026-07-15T13:00:00.000Z');
  expect(at('2026-03-08', 60)).toBe('2026-03-08T06:00:00.000Z');
  expect(at('2026-03-08', 540)).toBe('2026-03-08T13:00:00.000Z');
  expect(at('2026-03-08', 1440)).toBe('2026-03-09T04:00:00.000Z');
  expect(at('2026-11-01', 540)).toBe('2026-11-01T14:00:00.000Z');
  expect(at('2026-11-01', 1440)).toBe('2026-11-02T05:00:00.000Z');
});

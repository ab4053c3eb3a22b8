/** Readings of a component on one machine, put before the wear model: which limit, which readings, what is missing. */
import { describe, expect, it } from '@jest/globals';
import { treeOf } from './components/index.js';
import { lifeWords, outlookOf, type WearFinding } from './wear.js';

const paddles = treeOf('singleStageThrower').get('paddles');
const reading = (foundDate: string, measuredValue: number | null, more: Partial<WearFinding> = {}): WearFinding => ({
  foundDate,
  unit: 'mm',
  measuredValue,
  newSize: null,
  limitLow: null,
  limitHigh: null,
  ...more,
});

describe('the outlook of a component', () => {
  it('takes the limit of the latest reading, else the usual one', () => {
    expect(outlookOf(paddles, [reading('2026-01-01', 8)])).toMatchObject({ limit: 6, grows: false });
    expect(outlookOf(paddles, [reading('2026-01-01', 8, { limitLow: 5 })])).toMatchObject({ limit: 5, grows: false });
    expect(
      outlookOf(null, [reading('2025-01-01', 0.2, { limitHigh: 0.5 }), reading('2026-01-01', 0.3, { limitHigh: 0.5 })]),
    ).toMatchObject({
      limit: 0.5,
      grows: true,
    });
    // Of two limits the one farther from new: a bore of 10.0 new wears towards 10.5, not towards 9.9.
    expect(
      outlookOf(null, [
        reading('2025-01-01', 10.1),
        reading('2026-01-01', 10.2, { newSize: 10, limitLow: 9.9, limitHigh: 10.5 }),
      ]),
    ).toMatchObject({
      limit: 10.5,
      grows: true,
    });
  });

  it('leaves readings in another unit out, whatever their order', () => {
    const told = outlookOf(paddles, [
      reading('2026-01-01', 7),
      reading('2025-01-01', 0.3, { unit: 'in' }),
      reading('2024-01-01', 9),
    ]);
    expect(told).toMatchObject({
      readings: [
        { date: '2024-01-01', value: 9 },
        { date: '2026-01-01', value: 7 },
      ],
    });
  });

  it('says in words what is missing, and how long it lasts', () => {
    expect(outlookOf(paddles, [reading('2026-01-01', null)])).toBe('It was not measured.');
    expect(outlookOf(null, [reading('2026-01-01', 4)])).toMatch(/No limit is known/);
    expect(outlookOf(null, [reading('2026-01-01', 4, { limitLow: 3 })])).toMatch(/measure it again later/);
    expect(lifeWords({ seasonsLeft: { low: 0, likely: 0, high: 0.2 } })).toBe('past its limit');
    expect(lifeWords({ seasonsLeft: { low: 0.94, likely: 1.84, high: null } })).toBe(
      'about 1.8 seasons left (0.9 to no end in sight)',
    );
  });
});

import { describe, expect, it } from '@jest/globals';
import { listingHistory } from './listing-record.js';

const season = { seasonality: null, effect: 0, on: '2026-10-01' };
const record = {
  asks: [
    { from: '2026-10-01', ask: 500 },
    { from: '2026-10-11', ask: 450 },
  ],
  to: '2026-10-20',
  offers: [{ on: '2026-10-12', amount: 400 }],
  offersRecorded: true,
  sale: { on: '2026-10-19', price: 430 },
};

describe('a recorded time on offer', () => {
  it('has each ask for the days it stood, in stretches of a week at most', () => {
    const { stretches } = listingHistory(record, season, 0);
    expect(stretches.map((one) => [Math.round(one.demandWeeks * 7), Math.round(Math.exp(one.ask))])).toEqual([
      [7, 500],
      [3, 500],
      [7, 450],
      [2, 450],
    ]);
  });

  it('counts a sale under the ask as an accepted offer, once, whether it was recorded or not', () => {
    const history = listingHistory(record, season, 0);
    expect(history.sale!.byOffer).toBe(true);
    expect(history.offers.map((offer) => Math.round(Math.exp(offer.amount)))).toEqual([400, 430]);
    const recorded = listingHistory(
      { ...record, offers: [...record.offers, { on: '2026-10-19', amount: 430 }] },
      season,
      0,
    );
    expect(recorded.offers).toHaveLength(2);
    expect(listingHistory({ ...record, sale: { on: '2026-10-19', price: 450 } }, season, 0).sale!.byOffer).toBe(false);
  });

  it('counts in season and with tax on top', () => {
    const history = listingHistory(
      record,
      { seasonality: { usualPeak: '10-04' }, effect: 0.2, on: '2026-10-01' },
      Math.log(1.13),
    );
    expect(Math.exp(history.stretches[0]!.ask)).toBeCloseTo(565, 6);
    expect(history.stretches[0]!.shift).toBeGreaterThan(history.stretches.at(-1)!.shift);
    expect(history.stretches[0]!.demandWeeks).toBeCloseTo(1, 1);
  });

  it('refuses an end before the beginning', () => {
    expect(() => listingHistory({ ...record, to: '2026-09-01' }, season, 0)).toThrow(
      expect.objectContaining({ code: 'bad-number', path: 'to' }),
    );
  });
});

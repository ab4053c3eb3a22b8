import { describe, expect, it } from '@jest/globals';
import { estimateAtCompletion } from '../money/index.js';
import { type BidInput, type Comparable, estimatePrice, highestBid, planAsk } from './index.js';

const machine = { kind: 'twoStageThrower', maker: 'Norvane', model: 'N8', condition: 4, clearingWidthMillimetres: 610 };
const comparables: Comparable[] = ['480', '520', '560', '600', '640', '660'].map((price, i) => ({
  ...machine,
  priceKind: i % 2 ? 'asking' : 'sold',
  price,
  seenDate: `2026-0${i + 1}-15`,
}));
const season = { peakOn: '12-05' };
const input: BidInput = {
  sale: {
    estimate: estimatePrice({
      machine,
      comparables,
      on: '2026-12-05',
      today: '2026-07-01',
      season,
      currency: 'USD',
    }),
    season,
    listFrom: '2026-10-15',
    deadline: '2027-02-15',
    // A rate that moves the best ask: what was paid for the machine is not taxed.
    terms: { tax: { kind: 'marginScheme', ratePercent: 30 }, fixedCost: '0' },
    holdingCostPerWeek: '1.50',
    valueIfUnsold: '150',
  },
  refurbishment: estimateAtCompletion('40', [], 'USD'),
  haul: '0',
  ownMinutes: 60,
  hourlyValue: '15',
  spaceDays: 30,
  spaceCostPerDay: '0.25',
};

describe('a bid under the margin scheme', () => {
  const { bid, ask } = highestBid(input);
  const planAt = (purchasePrice: typeof bid | string) =>
    planAsk({ ...input.sale, terms: { ...input.sale.terms, purchasePrice } });

  it('goes with the asks that are best at that bid, not with those of a machine that was a gift', () => {
    expect(bid.greaterThan(100)).toBe(true);
    const asks = (plan: typeof ask) => [plan.ask.toFixed(), ...plan.outcomes.map((end) => end.probability.toFixed(4))];
    expect(asks(ask)).toEqual(asks(planAt(bid)));
    // Else the line above would hold whatever was done.
    expect(asks(planAt('0'))).not.toEqual(asks(planAt(bid)));
  });
});

import { describe, expect, it } from '@jest/globals';
import { learnDemand, type PastListing } from './demand.js';

const level = { levels: [{ probability: 1, log: 0 }], scatter: 1e-6 };
/** With all buyers alike and the ask just below the going price each enquiry buys: sales are a Poisson process. */
const listing = (weeks: number, sold: boolean): PastListing => ({
  values: level,
  history: {
    stretches: [{ demandWeeks: weeks, shift: 1e-4, ask: 0, leastAccepted: 0 }],
    offersRecorded: false,
    offers: [],
    sale: sold ? { stretch: 0, price: 0, byOffer: false } : null,
  },
});

describe('enquiries a week', () => {
  it('start from the belief, and say so', () => {
    const demand = learnDemand([]);
    // Median 1.5, log deviation 0.8: the mean is 1.5·exp(0.32), four in five lie within exp(±1.2816·0.8) of the median.
    expect(demand.perWeek).toBeCloseTo(1.5 * Math.exp(0.32), 1);
    expect(demand.low / (1.5 * Math.exp(-1.0253))).toBeCloseTo(1, 1);
    expect(demand.high / (1.5 * Math.exp(1.0253))).toBeCloseTo(1, 1);
    expect(demand.elasticity).toBe(4);
    expect(demand.reasons.join(' ')).toMatch(/are assumed/);
  });

  // With many sales the belief about the rate no longer matters: sales over weeks, as a Poisson process has it.
  it('come to sales over weeks where there are many', () => {
    const demand = learnDemand(Array.from({ length: 200 }, (_, k) => listing(k % 2 ? 0.2 : 0.6, true)));
    expect(Math.abs(demand.perWeek / (200 / 80) - 1)).toBeLessThan(0.03);
  });

  it('fall with weeks unsold, and ten listings are said to tell almost nothing where they do', () => {
    expect(learnDemand([listing(6, false)]).perWeek).toBeLessThan(learnDemand([]).perWeek);
    // Asks so high that hardly anybody would have taken them say nothing of how many came.
    const overpriced = { ...listing(4, false), values: { levels: [{ probability: 1, log: -0.9 }], scatter: 0.2 } };
    expect(learnDemand([overpriced]).reasons.join(' ')).toMatch(/tell almost nothing/);
  });
});

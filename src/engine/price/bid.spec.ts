import { describe, expect, it } from '@jest/globals';
import { estimateAtCompletion } from '../money/index.js';
import { Random } from '../statistics/random.js';
import { type BidInput, type Comparable, estimatePrice, highestBid } from './index.js';

const machine = {
  kind: 'twoStageThrower',
  maker: 'Norvane',
  model: 'N8',
  condition: 4,
  yearEstimate: 2010,
  clearingWidthMillimetres: 610,
};
const comparables: Comparable[] = ['480', '520', '560', '600', '640', '660'].map((price, i) => ({
  ...machine,
  priceKind: i % 2 ? 'asking' : 'sold',
  price,
  seenDate: `2026-0${i + 1}-15`,
}));
const season = { peakOn: '12-05' };
const estimate = estimatePrice({
  machine,
  comparables,
  on: '2026-12-05',
  today: '2026-07-01',
  season,
  currency: 'USD',
});
const base: BidInput = {
  sale: {
    estimate,
    season,
    listFrom: '2026-10-15',
    deadline: '2027-02-15',
    terms: { tax: { kind: 'none' }, fixedCost: '10' },
    holdingCostPerWeek: '1.50',
    valueIfUnsold: '220',
  },
  refurbishment: estimateAtCompletion(
    '0',
    [
      { what: 'parts', low: '30', likely: '60', high: '180' },
      { what: 'paint', low: '20', likely: '25', high: '45' },
    ],
    'USD',
  ),
  haul: '18',
  ownMinutes: 600,
  hourlyValue: '15',
  spaceDays: 90,
  spaceCostPerDay: '0.25',
};

describe('the highest sensible bid', () => {
  const answer = highestBid(base);

  it('is the least of what the three rules allow, and names the one that binds', () => {
    const limits = Object.values(answer.limits).map(Number);
    expect(answer.bid.toNumber()).toBe(Math.min(...limits));
    expect(answer.limits[answer.bindingLimit].equals(answer.bid)).toBe(true);
    expect(answer.bid.greaterThan(0)).toBe(true);
    expect(answer.bid.lessThan(estimate.p50)).toBe(true);
  });

  it('meets every rule at the bid, and breaks one a cent above', () => {
    const meets = (bid: number): boolean => {
      const net = answer.expectedNetProceeds.toNumber();
      const cash = net - base.refurbishment.expected.toNumber() - 18 - bid;
      return cash / 10 >= 15 - 0.002 && cash - 150 - 22.5 >= -0.02;
    };
    expect(answer.probabilityOfLoss).toBeLessThanOrEqual(0.2001);
    expect(meets(answer.bid.toNumber())).toBe(true);
    if (answer.bindingLimit !== 'probabilityOfLoss') expect(meets(answer.bid.toNumber() + 0.05)).toBe(false);
    expect(answer.earningsPerHour!.toNumber()).toBeGreaterThanOrEqual(15);
  });

  it("leaves room for a buyer's premium", () => {
    // Without tax what may be paid in all is the same, so each limit is the one without fees over 1.18.
    const withFees = highestBid({ ...base, feesPercent: 18 });
    for (const [name, limit] of Object.entries(answer.limits))
      expect(
        Math.abs(withFees.limits[name as keyof typeof withFees.limits].toNumber() - limit.toNumber() / 1.18),
      ).toBeLessThanOrEqual(0.02);
    expect(() => highestBid({ ...base, feesPercent: -1 })).toThrow(
      expect.objectContaining({ code: 'bad-number', path: 'feesPercent' }),
    );
  });

  it('leaves the chance of a loss that a simulation of sale and cost leaves', () => {
    const draw = new Random(11);
    const bid = answer.bid.toNumber();
    const { least, most, shape } = base.refurbishment;
    // Inverse of the beta by table, so that the check does not lean on the engine's chance.
    const table = Array.from({ length: 2001 }, (_, i) => i / 2000).map(
      (x) => x ** (shape!.a - 1) * (1 - x) ** (shape!.b - 1),
    );
    const sum = table.reduce((a, b) => a + b, 0);
    const drawCost = (): number => {
      let u = draw.next() * sum;
      let i = 0;
      while (i < 2000 && (u -= table[i]!) > 0) i++;
      return least.toNumber() + (i / 2000) * (most.toNumber() - least.toNumber());
    };
    let losses = 0;
    const runs = 8000;
    for (let run = 0; run < runs; run++) {
      let u = draw.next();
      const end = answer.ask.outcomes.find((each) => (u -= each.probability) <= 0) ?? answer.ask.outcomes.at(-1)!;
      const net = (end.price === null ? 220 : end.price.toNumber() - 10) - 1.5 * end.weeks;
      if (net - 18 - bid - drawCost() < 0) losses++;
    }
    expect(Math.abs(losses / runs - answer.probabilityOfLoss)).toBeLessThan(0.02);
  });

  it('moves the way it must', () => {
    const bid = (change: Partial<BidInput>): number => highestBid({ ...base, ...change }).bid.toNumber();
    const here = answer.bid.toNumber();
    expect(bid({ haul: '60' })).toBeLessThan(here);
    expect(bid({ ownMinutes: 1500 })).toBeLessThan(here);
    expect(bid({ targetMarginPercent: 40 })).toBeLessThan(here);
    expect(bid({ probabilityOfLoss: 0.01 })).toBeLessThan(here);
    expect(bid({ minimumEarningsPerHour: '25' })).toBeLessThan(here);
    const taxed = {
      ...base.sale,
      terms: { ...base.sale.terms, tax: { kind: 'marginScheme', ratePercent: 20 } as const },
    };
    expect(bid({ sale: taxed })).toBeLessThan(here);
  });

  // Under the margin scheme a unit less paid is r/(100 + r) more taxed. With a single certain price the bid has a closed
  // form: P − (P − b)·r/(100 + r) − cost − wages = b, so b = P − (cost + wages)(100 + r)/100.
  it('solves the margin scheme exactly when nothing is uncertain', () => {
    const certain = {
      ...estimate,
      logScale: 1e-9,
      logLocation: Math.log(600),
      effects: { ...estimate.effects, season: { mean: 0, deviation: 0 }, askingPremium: { mean: 0, deviation: 0 } },
    };
    const answerThen = highestBid({
      ...base,
      sale: {
        ...base.sale,
        estimate: certain,
        terms: { tax: { kind: 'marginScheme', ratePercent: 20 } },
        holdingCostPerWeek: '0',
        valueIfUnsold: '0',
        buyersPerWeek: 500,
        buyerSpread: 0.001,
      },
      refurbishment: estimateAtCompletion('80', [], 'USD'),
      haul: '0',
      spaceDays: 0,
      probabilityOfLoss: 0.5,
    });
    const price = answerThen.ask.ask.toNumber();
    expect(answerThen.ask.probabilitySold).toBeGreaterThan(0.999);
    expect(Math.abs(answerThen.bid.toNumber() - (price - (80 + 150) * 1.2))).toBeLessThan(0.6);
  });

  it('says when not even a gift would pay', () => {
    const hopeless = highestBid({ ...base, ownMinutes: 6000, hourlyValue: '30' });
    expect(hopeless.worthwhile).toBe(false);
    expect(hopeless.bid.isZero()).toBe(true);
    expect(hopeless.limits[hopeless.bindingLimit].isNegative()).toBe(true);
    expect(hopeless.reasons[0]).toMatch(/not even as a gift/);
    expect(() => highestBid({ ...base, probabilityOfLoss: 1.5 })).toThrow(
      expect.objectContaining({ code: 'bad-number', path: 'probabilityOfLoss' }),
    );
  });
});

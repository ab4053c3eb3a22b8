import { describe, expect, it } from '@jest/globals';
import { Decimal } from 'decimal.js';
import { type CompletionEstimate, estimateAtCompletion, probabilityCostAtMost } from '../money/index.js';
import {
  agreedPrice,
  type AskInput,
  type AskPlan,
  type Comparable,
  estimatePrice,
  marginRange,
  planAsk,
  probabilitySoldBy,
} from './index.js';

const season = { peakOn: '12-05' };
const comparables: Comparable[] = ['430', '470', '520', '560', '610'].map((price, i) => ({
  kind: 'twoStageThrower',
  maker: 'Norvane',
  model: 'N8',
  condition: 4,
  yearEstimate: 2010,
  clearingWidthMillimetres: 610,
  priceKind: i % 2 ? 'asking' : 'sold',
  price,
  seenDate: `2026-0${i + 1}-15`,
}));
const estimate = estimatePrice({
  machine: {
    kind: 'twoStageThrower',
    maker: 'Norvane',
    model: 'N8',
    condition: 4,
    yearEstimate: 2010,
    clearingWidthMillimetres: 610,
  },
  comparables,
  on: '2026-12-05',
  today: '2026-09-01',
  season,
  currency: 'USD',
});
const base: AskInput = {
  estimate,
  season,
  listFrom: '2026-10-01',
  deadline: '2027-02-15',
  terms: { tax: { kind: 'none' }, purchasePrice: '100' },
  holdingCostPerWeek: '2',
  valueIfUnsold: '250',
};

/** The cost not exceeded with a chance, by bisection on `probabilityCostAtMost`. */
function quantileOf(cost: CompletionEstimate, p: number): number {
  let [low, high] = [cost.least.toNumber(), cost.most.toNumber()];
  for (let k = 0; k < 40; k++) {
    const middle = (low + high) / 2;
    if (probabilityCostAtMost(cost, middle) < p) low = middle;
    else high = middle;
  }
  return high;
}

describe('ask and markdown', () => {
  const plan = planAsk(base);

  it('asks round figures, comes down and never up, and covers the time without a gap', () => {
    expect(plan.steps[0]!.from).toBe('2026-10-01');
    expect(plan.steps.at(-1)!.to).toBe('2027-02-15');
    plan.steps.forEach((step, i) => {
      expect(step.ask.mod(5).isZero()).toBe(true);
      expect(step.expectedPrice.lessThan(step.ask)).toBe(true);
      expect(step.acceptAtLeast.lessThanOrEqualTo(step.expectedPrice)).toBe(true);
      if (i > 0) {
        expect(step.ask.lessThan(plan.steps[i - 1]!.ask)).toBe(true);
        expect(step.from).toBe(plan.steps[i - 1]!.to);
        expect(step.probabilitySold).toBeGreaterThanOrEqual(plan.steps[i - 1]!.probabilitySold);
      }
    });
    expect(plan.steps.length).toBeGreaterThan(1);
    expect(plan.ask.greaterThan(estimate.p50)).toBe(true);
    expect(plan.reasons).toHaveLength(4);
  });

  it('adds up: outcomes are all there is, and their mean is the expected net', () => {
    const probability = plan.outcomes.reduce((sum, each) => sum + each.probability, 0);
    expect(probability).toBeCloseTo(1, 9);
    const mean = plan.outcomes.reduce(
      (sum, each) => sum + each.probability * ((each.price?.toNumber() ?? 250) - 2 * each.weeks),
      0,
    );
    expect(plan.expectedNet.toNumber()).toBeCloseTo(mean, 1);
    expect(plan.expectedNet.greaterThan(250)).toBe(true);
  });

  it('says what the ask is made of, and for which day the likely price holds', () => {
    const { likely, season: seasonAdds, bargaining, hope } = plan.makeUp;
    expect(likely.equals(estimate.p50)).toBe(true);
    expect([likely, seasonAdds, bargaining, hope].reduce((sum, each) => sum.plus(each)).equals(plan.ask)).toBe(true);
    // The estimate is for the height of the season, 5 December; the first ask ends before it, so demand is not as strong then.
    expect(plan.steps[0]!.to < '2026-12-05').toBe(true);
    expect(seasonAdds.isNegative()).toBe(true);
    // Of a price p what is bargained off is p × (e^premium − 1).
    const inSeason = likely.plus(seasonAdds);
    expect(bargaining.toNumber()).toBeCloseTo(inSeason.toNumber() * Math.expm1(estimate.effects.askingPremium.mean), 1);
    expect(plan.reasons.join('; ')).toContain(
      `the ask of ${plan.ask.toFixed()} is the likely ${likely.toFixed()} of 2026-12-05`,
    );
    const early = planAsk({
      ...base,
      estimate: { ...estimate, on: '2026-10-01' },
      deadline: '2027-01-15',
      mostAsks: 1,
    });
    expect(early.makeUp.season.greaterThan(0)).toBe(true); // one ask that stands until after the height
  });

  it('leaves room for sales tax, which buyers pay out of the same purse', () => {
    const terms = { ...base.terms, tax: { kind: 'salesTax', ratePercent: 13 } } as const;
    const taxed = planAsk({ ...base, terms });
    expect(agreedPrice('113.00', terms.tax, 'USD').toFixed(2)).toBe('100.00');
    expect(agreedPrice('113.00', { kind: 'marginScheme', ratePercent: 13 }, 'USD').toFixed(2)).toBe('113.00');
    expect(taxed.makeUp.likely.equals(agreedPrice(estimate.p50, terms.tax, 'USD'))).toBe(true);
    // Asks are multiples of 5, hence within a step or two of the ask without tax over 1.13.
    expect(Math.abs(taxed.ask.toNumber() - plan.ask.toNumber() / 1.13)).toBeLessThanOrEqual(15);
    expect(taxed.reasons[0]).toContain('before sales tax');
  });

  it('tells the chance of selling by a day', () => {
    expect(probabilitySoldBy(plan, '2026-10-01')).toBe(0);
    expect(probabilitySoldBy(plan, '2027-02-15')).toBe(plan.probabilitySold);
    expect(probabilitySoldBy(plan, '2028-01-01')).toBe(plan.probabilitySold);
    const days = ['2026-10-05', '2026-10-20', '2026-11-11', '2026-12-24', '2027-01-31'].map((day) =>
      probabilitySoldBy(plan, day),
    );
    expect([...days].sort((a, b) => a - b)).toEqual(days);
  });

  it('moves the way it must', () => {
    const ask = (change: Partial<AskInput>): number => planAsk({ ...base, ...change }).ask.toNumber();
    const net = (change: Partial<AskInput>): number => planAsk({ ...base, ...change }).expectedNet.toNumber();
    expect(ask({ deadline: '2026-10-22' })).toBeLessThan(plan.ask.toNumber()); // little time, lower ask
    expect(net({ buyersPerWeek: 3 })).toBeGreaterThan(plan.expectedNet.toNumber());
    expect(net({ valueIfUnsold: '400' })).toBeGreaterThan(plan.expectedNet.toNumber());
    expect(ask({ valueIfUnsold: '400' })).toBeGreaterThanOrEqual(plan.ask.toNumber());
    expect(net({ holdingCostPerWeek: '10' })).toBeLessThan(plan.expectedNet.toNumber());
    expect(net({ mayRaise: true })).toBeGreaterThanOrEqual(plan.expectedNet.toNumber());
    expect(net({ terms: { ...base.terms, tax: { kind: 'marginScheme', ratePercent: 20 } } })).toBeLessThan(
      plan.expectedNet.toNumber(),
    );
    expect(net({ terms: { ...base.terms, percentCost: 10 } })).toBeLessThan(plan.expectedNet.toNumber());
  });

  it('sets price and cost against each other one time in ten, not two lows at once', () => {
    const sale = { terms: base.terms, holdingCostPerWeek: '1', valueIfUnsold: '40' };
    const ending = (price: string | null, weeks: number, probability: number) => ({
      price: price === null ? null : new Decimal(price),
      weeks,
      probability,
    });
    const half: AskPlan = { ...plan, outcomes: [ending('100', 1, 0.5), ending(null, 2, 0.5)] };
    // A certain 30: 99 − 30 or 38 − 30, each half the time.
    expect(
      Object.values(marginRange(half, sale, estimateAtCompletion('30', [], 'USD'))).map((one) => one.toFixed(2)),
    ).toEqual(['8.00', '8.00', '69.00']);
    const cost = estimateAtCompletion('20', [{ what: 'parts', low: '0', likely: '10', high: '40' }], 'USD');
    const certain = marginRange({ ...plan, outcomes: [ending('100', 1, 1)] }, sale, cost);
    // A certain price: the cost's own range, turned about.
    for (const [margin, spent] of [
      [certain.p10, cost.p90],
      [certain.p50, cost.p50],
      [certain.p90, cost.p10],
    ] as const)
      expect(margin.minus(new Decimal(99).minus(spent)).abs().toNumber()).toBeLessThanOrEqual(0.01);
    // Ten even prices 51 … 141 and the cost of above: every pair of 1000 even levels of each, counted.
    const prices = Array.from({ length: 10 }, (_, k) => 52 + 10 * k);
    const wide = marginRange({ ...plan, outcomes: prices.map((price) => ending(String(price), 1, 0.1)) }, sale, cost);
    const costAt = Array.from({ length: 1000 }, (_, k) => quantileOf(cost, (k + 0.5) / 1000));
    const margins = prices.flatMap((price) => costAt.map((each) => price - 1 - each)).sort((a, b) => a - b);
    expect(wide.p10.toNumber()).toBeCloseTo(margins[1000]!, 0);
    expect(wide.p90.toNumber()).toBeCloseTo(margins[9000]!, 0);
    // Not the lowest price in ten less the highest cost in ten.
    expect(wide.p10.toNumber()).toBeGreaterThan(51 - cost.p90.toNumber() + 1);
  });

  it('is the same every time, and works in yen', () => {
    expect(planAsk(base)).toEqual(plan);
    const yen = planAsk({
      ...base,
      estimate: { ...estimate, currency: 'JPY', logLocation: Math.log(50_000) },
      holdingCostPerWeek: '200',
      valueIfUnsold: '20000',
    });
    expect(
      yen.steps.every(
        (step) => step.ask.mod(500).isZero() && step.expectedPrice.isInteger() && step.acceptAtLeast.isInteger(),
      ),
    ).toBe(true);
    expect(yen.ask.greaterThan(new Decimal(40_000))).toBe(true);
  });

  it('refuses a deadline that has passed, and figures that are none', () => {
    expect(() => planAsk({ ...base, deadline: '2026-10-01' })).toThrow(expect.objectContaining({ code: 'no-time' }));
    expect(() => planAsk({ ...base, deadline: '2036-10-01' })).toThrow(expect.objectContaining({ code: 'no-time' }));
    expect(() => planAsk({ ...base, buyersPerWeek: 0 })).toThrow(
      expect.objectContaining({ code: 'bad-number', path: 'buyersPerWeek' }),
    );
    expect(planAsk({ ...base, deadline: '2026-10-02' }).steps).toHaveLength(1);
  });
});

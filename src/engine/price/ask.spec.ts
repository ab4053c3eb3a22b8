import { describe, expect, it } from '@jest/globals';
import { Decimal } from 'decimal.js';
import { type AskInput, chanceSoldBy, type Comparable, estimatePrice, planAsk } from './index.js';

const season = { peakOn: '12-05' };
const comparables: Comparable[] = ['430', '470', '520', '560', '610'].map((price, i) => ({
  kind: 'twoStageThrower', maker: 'Norvane', model: 'N8', condition: 4, yearEstimate: 2010, clearingWidthMillimetres: 610,
  priceKind: i % 2 ? 'asking' : 'sold', price, seenOn: `2026-0${i + 1}-15`,
}));
const estimate = estimatePrice({
  machine: { kind: 'twoStageThrower', maker: 'Norvane', model: 'N8', condition: 4, yearEstimate: 2010, clearingWidthMillimetres: 610 },
  comparables, on: '2026-12-05', today: '2026-09-01', season, currency: 'USD',
});
const base: AskInput = {
  estimate, season, listFrom: '2026-10-01', deadline: '2027-02-15', terms: { tax: { kind: 'none' }, purchasePrice: '100' },
  holdingCostPerWeek: '2', valueIfUnsold: '250',
};

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
        expect(step.chanceSold).toBeGreaterThanOrEqual(plan.steps[i - 1]!.chanceSold);
      }
    });
    expect(plan.steps.length).toBeGreaterThan(1);
    expect(plan.ask.greaterThan(estimate.p50)).toBe(true);
    expect(plan.why).toHaveLength(3);
  });

  it('adds up: outcomes are all there is, and their mean is the expected net', () => {
    const chance = plan.outcomes.reduce((sum, each) => sum + each.chance, 0);
    expect(chance).toBeCloseTo(1, 9);
    const mean = plan.outcomes.reduce((sum, each) => sum + each.chance * ((each.price?.toNumber() ?? 250) - 2 * each.weeks), 0);
    expect(plan.expectedNet.toNumber()).toBeCloseTo(mean, 1);
    expect(plan.expectedNet.greaterThan(250)).toBe(true);
  });

  it('tells the chance of selling by a day', () => {
    expect(chanceSoldBy(plan, '2026-10-01')).toBe(0);
    expect(chanceSoldBy(plan, '2027-02-15')).toBe(plan.chanceSold);
    expect(chanceSoldBy(plan, '2028-01-01')).toBe(plan.chanceSold);
    const days = ['2026-10-05', '2026-10-20', '2026-11-11', '2026-12-24', '2027-01-31'].map((day) => chanceSoldBy(plan, day));
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
    expect(net({ terms: { ...base.terms, tax: { kind: 'marginScheme', ratePercent: 20 } } })).toBeLessThan(plan.expectedNet.toNumber());
    expect(net({ terms: { ...base.terms, percentCost: 10 } })).toBeLessThan(plan.expectedNet.toNumber());
  });

  it('is the same every time, and works in yen', () => {
    expect(planAsk(base)).toEqual(plan);
    const yen = planAsk({ ...base, estimate: { ...estimate, currency: 'JPY', logLocation: Math.log(50_000) }, holdingCostPerWeek: '200', valueIfUnsold: '20000' });
    expect(yen.steps.every((step) => step.ask.mod(500).isZero() && step.expectedPrice.isInteger() && step.acceptAtLeast.isInteger())).toBe(true);
    expect(yen.ask.greaterThan(new Decimal(40_000))).toBe(true);
  });

  it('refuses a deadline that has passed, and figures that are none', () => {
    expect(() => planAsk({ ...base, deadline: '2026-10-01' })).toThrow(expect.objectContaining({ code: 'no-time' }));
    expect(() => planAsk({ ...base, deadline: '2036-10-01' })).toThrow(expect.objectContaining({ code: 'no-time' }));
    expect(() => planAsk({ ...base, buyersPerWeek: 0 })).toThrow(expect.objectContaining({ code: 'bad-number', path: 'buyersPerWeek' }));
    expect(planAsk({ ...base, deadline: '2026-10-02' }).steps).toHaveLength(1);
  });
});

import { createRequire } from 'node:module';
import { describe, expect, it } from '@jest/globals';
import { leastSquares } from '../../../test/oracles/least-squares.js';
import { Random } from '../statistics/random.js';
import { costPlusPrice, estimateFromCost, estimateFromMarket } from './expected-price.js';
import { learnMarket, type MachineTraits, type SeenPrice } from './market-model.js';
import { effectNames, type PriceBeliefs, usualBeliefs } from './price-beliefs.js';

const jStat = createRequire(import.meta.url)('jstat') as { studentt: { inv(p: number, freedom: number): number } };

const machine: MachineTraits = {
  kind: 'twoStageThrower',
  maker: 'Norvane',
  model: 'N8',
  condition: 4,
  yearEstimate: 2010,
  clearingWidthMillimetres: 610,
};
const seen = (price: string, more: Partial<SeenPrice> = {}): SeenPrice => ({
  ...machine,
  priceKind: 'sold',
  price,
  seenDate: '2026-08-20',
  ...more,
});
const estimate = (
  comparables: readonly SeenPrice[],
  {
    beliefs = usualBeliefs,
    of = machine,
    on = '2026-11-20',
    today = '2026-09-01',
  }: Partial<{ beliefs: PriceBeliefs; of: MachineTraits; on: string; today: string }> = {},
) =>
  estimateFromMarket(
    learnMarket({
      kind: machine.kind,
      seen: comparables,
      today,
      seasonality: { usualPeak: '12-05' },
      currency: 'USD',
      beliefs,
    }),
    of,
    on,
    'USD',
  );

describe('the price to expect from comparables', () => {
  it('centres on prices of machines alike, and narrows as they grow in number', () => {
    const same = (count: number) =>
      estimate(
        Array.from({ length: count }, (_, i) => seen((480 + (40 * i) / Math.max(1, count - 1)).toFixed(2))),
        { on: '2026-08-20', today: '2026-08-20' },
      );
    const [one, few, many] = [same(1), same(3), same(40)];
    expect(few.p50.toNumber()).toBeCloseTo(500, -1);
    expect(many.p90.div(many.p10).toNumber()).toBeLessThan(few.p90.div(few.p10).toNumber());
    expect(one.p90.div(one.p10).toNumber()).toBeGreaterThan(few.p90.div(few.p10).toNumber());
    expect(one.reasons.join(' ')).toMatch(/fewer than 8 comparables/);
  });

  // A flat belief on the noise, no effects and no groups leave the textbook normal sample. The belief on σ is flat in its log
  // over the grid, so the prediction is Student t with n − 1 degrees about the mean, scale s·√(1 + 1/n) (Gelman et al.,
  // Bayesian Data Analysis, chapter 3; from memory). Data: Hoff 2009 §5.3, midge wing lengths (mean 1.8044, s² 0.016878),
  // taken as log prices. The t quantile by jstat. The grid is as wide as σ can be told by nine values.
  it('is the textbook prediction for a plain sample', () => {
    const logs = [1.64, 1.7, 1.72, 1.74, 1.82, 1.82, 1.82, 1.9, 2.08].map((y) => y + 4);
    const beliefs: PriceBeliefs = {
      effects: Object.fromEntries(
        effectNames.map((name) => [name, { mean: 0, deviation: 1e-6 }]),
      ) as PriceBeliefs['effects'],
      makerDeviation: 1e-6,
      modelDeviation: 1e-6,
      noise: { median: 0.13, logDeviation: 0.6 },
    };
    const result = estimate(
      logs.map((y) => seen(Math.exp(y).toFixed(2))),
      { beliefs, on: '2026-08-20', today: '2026-08-20' },
    );
    const mean = logs.reduce((sum, y) => sum + y, 0) / 9;
    expect(mean).toBeCloseTo(5.8044, 4);
    const s2 = logs.reduce((sum, y) => sum + (y - mean) ** 2, 0) / 8;
    expect(s2).toBeCloseTo(0.016878, 6);
    // The belief on σ is not quite flat and the largest value is just cut: within four percent of the width.
    const half = Math.sqrt(s2 * (1 + 1 / 9)) * jStat.studentt.inv(0.9, 8);
    expect(Math.abs(Math.log(result.p50.toNumber()) - mean)).toBeLessThan(0.02);
    const width = Math.log(result.p90.toNumber() / result.p10.toNumber());
    expect(Math.abs(width / (2 * half) - 1)).toBeLessThan(0.1);
  });

  // With flat beliefs and little noise the effects are those of ordinary least squares (checked against NIST's sets elsewhere).
  it('finds the effects of least squares where beliefs say nothing', () => {
    const random = new Random(7);
    const comparables = Array.from({ length: 60 }, () => {
      const condition = 2 + random.below(4);
      const asking = random.next() < 0.5;
      const log = 6 + 0.3 * (condition - 4) + (asking ? 0.15 : 0) + 0.02 * (random.next() - 0.5);
      return seen(Math.exp(log).toFixed(2), { condition, priceKind: asking ? 'asking' : 'sold' });
    });
    const beliefs: PriceBeliefs = {
      ...usualBeliefs,
      effects: {
        ...(Object.fromEntries(
          effectNames.map((name) => [name, { mean: 0, deviation: 1e-6 }]),
        ) as PriceBeliefs['effects']),
        conditionStep: { mean: 0, deviation: 10 },
        askingPremium: { mean: 0, deviation: 10 },
      },
    };
    const { effects } = estimate(comparables, { beliefs });
    const ordinary = leastSquares(
      comparables.map((one) => [1, one.condition, one.priceKind === 'asking' ? 1 : 0]),
      comparables.map((one) => Math.log(Number(one.price))),
    );
    expect(effects.conditionStep.mean).toBeCloseTo(ordinary.coefficients[1]!, 2);
    expect(effects.askingPremium.mean).toBeCloseTo(ordinary.coefficients[2]!, 2);
  });

  it('reads asking prices down, better condition and equipment up, other kinds not at all', () => {
    const prices = ['490', '500', '510'];
    const sold = estimate(prices.map((price) => seen(price)));
    expect(estimate(prices.map((price) => seen(price, { priceKind: 'asking' }))).p50.lessThan(sold.p50)).toBe(true);
    expect(estimate(prices.map((price) => seen(price, { condition: 2 }))).p50.greaterThan(sold.p50)).toBe(true);
    expect(
      estimate(
        prices.map((price) => seen(price)),
        { of: { ...machine, equipmentBalance: 1 } },
      ).p50.greaterThan(sold.p50),
    ).toBe(true);
    expect(
      estimate([...prices.map((price) => seen(price)), seen('9000', { kind: 'mower' })]).p50.equals(sold.p50),
    ).toBe(true);
    expect(
      estimate(
        prices.map((price) => seen(price)),
        { of: { ...machine, maker: 'Pikestone' } },
      ).p90.greaterThan(sold.p90),
    ).toBe(true);
  });

  it('does not follow one mistyped price, and says that it is far off', () => {
    const prices = ['470', '480', '490', '500', '510', '520', '530'].map((price) => seen(price));
    const clean = estimate(prices);
    const soiled = estimate([...prices, seen('5000')]);
    expect(Math.abs(soiled.p50.div(clean.p50).toNumber() - 1)).toBeLessThan(0.1);
    expect(soiled.reasons.join(' ')).toMatch(/far from the others/);
    expect(soiled.used.at(-1)!.weight).toBeLessThan(0.2);
  });

  it('falls back on cost plus markup, and says so; refuses with nothing to go by', () => {
    // OpenStax, Principles of Accounting vol. 2 §9.4: cost 10 or 12 at a markup of 30 % is 13.00 or 15.60.
    expect(costPlusPrice('10', 30, 'USD').toFixed(2)).toBe('13.00');
    expect(costPlusPrice('12', 30, 'USD').toFixed(2)).toBe('15.60');
    const guess = estimateFromCost({
      fullCost: '300',
      markupPercent: 25,
      on: '2026-11-20',
      seasonality: null,
      beliefs: usualBeliefs,
      currency: 'USD',
    });
    expect(guess.p50.toFixed(2)).toBe('375.00');
    expect(guess.reasons[0]).toMatch(/No comparable/);
    expect(() => estimate([seen('9', { kind: 'other' })])).toThrow(expect.objectContaining({ code: 'no-basis' }));
    expect(() => estimate([seen('0')])).toThrow(
      expect.objectContaining({ code: 'bad-amount', path: 'comparables/0/price' }),
    );
    expect(() => estimate([seen('10', { condition: 7 })])).toThrow(expect.objectContaining({ code: 'bad-condition' }));
  });
});

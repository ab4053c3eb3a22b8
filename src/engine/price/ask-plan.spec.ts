import { describe, expect, it } from '@jest/globals';
import { Decimal } from 'decimal.js';
import { normalQuantile } from '../statistics/index.js';
import { Random } from '../statistics/random.js';
import { type AskInput, planAsk, probabilitySoldBy } from './ask-plan.js';
import { enquiryFactor } from './buyers-model.js';
import { jointAfter, learnDemand } from './demand.js';
import { estimateFromCost, estimateFromMarket } from './expected-price.js';
import { learnMarket, type SeenPrice } from './market-model.js';
import { adviseOnOffer } from './offer-advice.js';
import { usualBeliefs } from './price-beliefs.js';
import { agreedPrice } from './terms.js';

const seasonality = { usualPeak: '12-05' };
const machine = {
  kind: 'twoStageThrower',
  maker: 'Norvane',
  model: 'N8',
  condition: 4,
  yearEstimate: 2010,
  clearingWidthMillimetres: 610,
};
const seen: SeenPrice[] = ['430', '470', '520', '560', '610', '500', '545', '480', '590'].map((price, i) => ({
  ...machine,
  priceKind: i % 2 ? 'asking' : 'sold',
  price,
  seenDate: `2026-0${(i % 8) + 1}-15`,
}));
const market = (prices: readonly SeenPrice[], currency = 'USD') =>
  learnMarket({ kind: machine.kind, seen: prices, today: '2026-09-01', seasonality, currency, beliefs: usualBeliefs });
const estimate = estimateFromMarket(market(seen), machine, '2026-10-01', 'USD');
const base: AskInput = {
  estimate,
  listFrom: '2026-10-01',
  deadline: '2027-02-15',
  terms: { tax: { kind: 'none' }, purchasePrice: '100' },
  holdingCostPerWeek: '2',
  unsold: { kind: 'fixed', amount: '250' },
  demand: learnDemand([]),
};
const plan = planAsk(base);

describe('ask and markdown', () => {
  it('asks round figures, comes down and never up, and covers the time without a gap', () => {
    expect(plan.steps[0]!.from).toBe('2026-10-01');
    expect(plan.steps.at(-1)!.to).toBe('2027-02-15');
    plan.steps.forEach((step, i) => {
      expect(step.ask.mod(5).isZero()).toBe(true);
      expect(step.acceptAtLeast.lessThanOrEqualTo(step.ask)).toBe(true);
      if (i === 0) return;
      expect(step.ask.lessThan(plan.steps[i - 1]!.ask)).toBe(true);
      expect(step.from).toBe(plan.steps[i - 1]!.to);
      expect(step.probabilitySold).toBeGreaterThanOrEqual(plan.steps[i - 1]!.probabilitySold);
    });
    expect(plan.steps.length).toBeGreaterThan(1);
  });

  it('stays believable: between 1.05 and 1.25 of what is likely at the height from eight comparables on, wider below', () => {
    const ratio = (prices: readonly SeenPrice[]): number => {
      const input = {
        ...base,
        estimate: estimateFromMarket(market(prices), machine, '2026-11-20', 'USD'),
        listFrom: '2026-11-20',
      };
      return planAsk(input).ask.toNumber() / input.estimate.p50.toNumber();
    };
    expect(ratio(seen)).toBeGreaterThan(1.05);
    expect(ratio(seen)).toBeLessThan(1.25);
    expect(ratio(seen.slice(0, 2))).toBeLessThan(1.43); // 1.4 of the height, which is a little higher than that day
    const guess = estimateFromCost({
      fullCost: '300',
      markupPercent: 25,
      on: '2026-11-20',
      seasonality,
      beliefs: usualBeliefs,
      currency: 'USD',
    });
    const without = planAsk({ ...base, estimate: guess, listFrom: '2026-11-20' });
    expect(without.ask.toNumber() / 375).toBeLessThan(1.6);
    expect(without.reasons.join(' ')).toMatch(/From cost, not from the market/);
  });

  it('adds up: endings are all there is, and their mean is the expected net', () => {
    expect(plan.endings.reduce((sum, each) => sum + each.probability, 0)).toBeCloseTo(1, 9);
    const mean = plan.endings.reduce((sum, each) => sum + each.probability * (each.net - 2 * each.weeks), 0);
    expect(plan.expectedNet.toNumber()).toBeCloseTo(mean, 1);
    const { market: paid, season, negotiationAllowance, premium } = plan.breakdown;
    expect(paid.equals(estimate.p50)).toBe(true);
    expect([paid, season, negotiationAllowance, premium].reduce((sum, each) => sum.plus(each)).equals(plan.ask)).toBe(
      true,
    );
  });

  // Single buyers, one after another, at the planned asks and least acceptable offers; nothing shared with the planner but the
  // words of the model.
  it('expects what a simulation of single buyers brings, and sells as often', () => {
    const random = new Random(12);
    const normal = (): number => normalQuantile(random.next() * 0.999999 + 5e-7);
    const { situation, policy } = plan;
    const { behaviour, weeks, values, rates } = situation;
    const runs = 30_000;
    let [sum, sold] = [0, 0];
    for (let run = 0; run < runs; run++) {
      const level = values.levels[random.below(values.levels.length)]!.log;
      const { perWeek } = rates[random.below(rates.length)]!;
      sum += sell();
      function sell(): number {
        for (let week = 0; week < weeks.length; week++) {
          const going = level + weeks[week]!.shift;
          const ask = situation.asks[policy.choice[situation.blocks.findLastIndex((start) => start <= week)]!]!;
          const rate = perWeek * weeks[week]!.demand * enquiryFactor(behaviour, ask - going);
          for (let time = -Math.log(1 - random.next()) / rate; time < 1; time -= Math.log(1 - random.next()) / rate) {
            const worth = going + values.scatter * normal();
            const [low, high] = behaviour.offersUnder;
            const offer = worth + Math.log(1 - low - (high - low) * random.next());
            const price =
              worth >= ask
                ? ask
                : random.next() < behaviour.offerShare && offer >= policy.leastAccepted[week]!
                  ? offer
                  : null;
            if (price === null) continue;
            sold++;
            return Math.exp(price) - 2 * (week + 1);
          }
        }
        return 250 - 2 * weeks.length;
      }
    }
    expect(Math.abs(sum / runs / plan.expectedNet.toNumber() - 1)).toBeLessThan(0.005);
    expect(Math.abs(sold / runs - plan.probabilitySold)).toBeLessThan(0.01);
  });

  it('leaves room for sales tax, which buyers pay out of the same purse', () => {
    const terms = { ...base.terms, tax: { kind: 'salesTax', ratePercent: 13 } } as const;
    const taxed = planAsk({ ...base, terms });
    expect(taxed.breakdown.market.equals(agreedPrice(estimate.p50, terms.tax, 'USD'))).toBe(true);
    expect(Math.abs(taxed.ask.toNumber() - plan.ask.toNumber() / 1.13)).toBeLessThanOrEqual(15);
    expect(taxed.reasons[0]).toContain('before sales tax');
  });

  it('tells the probability of selling by a day', () => {
    expect(probabilitySoldBy(plan, '2026-10-01')).toBe(0);
    expect(probabilitySoldBy(plan, '2028-01-01')).toBe(plan.probabilitySold);
    const days = ['2026-10-05', '2026-10-20', '2026-11-11', '2026-12-24'].map((day) => probabilitySoldBy(plan, day));
    expect([...days].sort((a, b) => a - b)).toEqual(days);
  });

  it('moves the way it must', () => {
    const net = (change: Partial<AskInput>): number => planAsk({ ...base, ...change }).expectedNet.toNumber();
    const here = plan.expectedNet.toNumber();
    expect(planAsk({ ...base, deadline: '2026-10-22' }).ask.lessThan(plan.ask)).toBe(true); // little time, lower ask
    expect(net({ demand: { ...base.demand, rates: [{ probability: 1, perWeek: 6 }] } })).toBeGreaterThan(here);
    expect(net({ unsold: { kind: 'fixed', amount: '450' } })).toBeGreaterThan(here);
    expect(net({ holdingCostPerWeek: '10' })).toBeLessThan(here);
    expect(net({ terms: { ...base.terms, tax: { kind: 'marginScheme', ratePercent: 20 } } })).toBeLessThan(here);
    expect(net({ terms: { ...base.terms, percentCost: 10 } })).toBeLessThan(here);
    // Next season's worth follows the level: worth more when the market turns out high, so waiting is worth more.
    const later = planAsk({ ...base, unsold: { kind: 'nextSeason', share: 0.85, cost: '90', atLeast: '0' } });
    expect(later.expectedNet.greaterThan(plan.expectedNet)).toBe(true);
  });

  it('is the same every time, and works in yen', () => {
    expect(planAsk(base).reasons).toEqual(plan.reasons);
    const prices = seen.map((one) => ({ ...one, price: `${Number(one.price) * 100}` }));
    const yen = planAsk({
      ...base,
      estimate: estimateFromMarket(market(prices, 'JPY'), machine, '2026-10-01', 'JPY'),
      holdingCostPerWeek: '200',
      unsold: { kind: 'fixed', amount: '25000' },
    });
    expect(yen.steps.every((step) => step.ask.mod(500).isZero() && step.acceptAtLeast.isInteger())).toBe(true);
    expect(yen.ask.greaterThan(new Decimal(40_000))).toBe(true);
  });

  it('refuses a deadline that has passed', () => {
    expect(() => planAsk({ ...base, deadline: '2026-10-01' })).toThrow(expect.objectContaining({ code: 'no-time' }));
    expect(() => planAsk({ ...base, deadline: '2036-10-01' })).toThrow(expect.objectContaining({ code: 'no-time' }));
    expect(planAsk({ ...base, deadline: '2026-10-02' }).steps).toHaveLength(1);
  });
});

describe('an offer', () => {
  const { situation, policy } = plan;
  const ask = situation.asks[policy.choice[0]!]!;

  it('is accepted from the threshold up and not below, and a good one raises what waiting is worth', () => {
    const at = (log: number) => adviseOnOffer(situation, policy, 0, ask, log);
    const least = policy.leastAccepted[0]!;
    expect(at(least + 0.005).accepting).toBeGreaterThanOrEqual(at(least + 0.005).waiting - 0.5);
    expect(at(least - 0.02).accepting).toBeLessThan(at(least - 0.02).waiting);
    expect(at(ask - 0.01).waiting).toBeGreaterThan(at(ask - 0.3).waiting);
    expect(at(ask - 0.35).action).not.toBe('accept');
  });

  it('is countered only with more than was offered, at most the ask, and where that promises more', () => {
    for (let under = 0.02; under < 0.5; under += 0.04) {
      const advice = adviseOnOffer(situation, policy, 2, ask, ask - under);
      if (advice.action !== 'counter') continue;
      expect(advice.counter!).toBeGreaterThan(ask - under);
      expect(advice.counter!).toBeLessThanOrEqual(ask);
      expect(advice.countering!).toBeGreaterThan(Math.max(advice.accepting, advice.waiting));
    }
  });

  it('and weeks unsold both move the belief about the market', () => {
    const { values } = situation;
    const history = {
      stretches: [{ demandWeeks: 6, shift: 0, ask, leastAccepted: ask - 0.05 }],
      offersRecorded: true,
      offers: [],
      sale: null,
    };
    const meanLevel = (joint: number[][]): number =>
      joint.reduce((sum, row, i) => sum + row.reduce((all, p) => all + p, 0) * values.levels[i]!.log, 0);
    const before = values.levels.reduce((sum, { log, probability }) => sum + log * probability, 0);
    const unsold = meanLevel(jointAfter(history, values, base.demand));
    const withOffer = meanLevel(
      jointAfter({ ...history, offers: [{ stretch: 0, amount: ask - 0.03 }] }, values, base.demand),
    );
    expect(unsold).toBeLessThan(before);
    expect(withOffer).toBeGreaterThan(unsold);
  });
});

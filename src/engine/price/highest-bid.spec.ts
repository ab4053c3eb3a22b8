import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { Random } from '../statistics/random.js';
import { learnEffort, logNormalNodes } from './effort.js';
import { type BidInput, highestBid } from './highest-bid.js';

const endings = [
  { price: 620, worth: 0, weeks: 3, probability: 0.3 },
  { price: 540, worth: 0, weeks: 7, probability: 0.4 },
  { price: 450, worth: 0, weeks: 12, probability: 0.2 },
  { price: null, worth: 220, weeks: 18, probability: 0.1 },
];
const base: BidInput = {
  currency: 'USD',
  endings,
  holdingCostPerWeek: 1.5,
  netOfSale: (price) => price - 10,
  effort: { cash: { mean: 90, deviation: 40 }, minutes: { mean: 600, deviation: 200 } },
  unknowns: [],
  haul: 18,
  feesPercent: 0,
  hourlyValue: 15,
  spaceCost: 22.5,
  minEarningsPerHour: 15,
  targetMarginPercent: 0,
  acceptedProbabilityOfLoss: 0.2,
  fallback: 0,
  askedPrice: null,
};
const unknowns = [
  {
    name: 'Engine',
    check: 'compression test',
    probability: 0.25,
    cash: { mean: 160, deviation: 50 },
    minutes: { mean: 240, deviation: 60 },
  },
  {
    name: 'Gearbox',
    check: 'turn the auger',
    probability: 0.15,
    cash: { mean: 120, deviation: 40 },
    minutes: { mean: 180, deviation: 60 },
  },
  {
    name: 'Housing',
    check: 'probe for rot',
    probability: 0.3,
    cash: { mean: 40, deviation: 20 },
    minutes: { mean: 300, deviation: 90 },
  },
];
/** What selling leaves on average: computed by hand from the ends above. */
const net = 0.3 * (610 - 4.5) + 0.4 * (530 - 10.5) + 0.2 * (440 - 18) + 0.1 * (220 - 27);

describe('the highest sensible bid', () => {
  it('meets the rule that binds to the cent', () => {
    const answer = highestBid(base);
    expect(answer.limits.targetMargin.toNumber()).toBeCloseTo(net - 90 - 18 - 150 - 22.5, 1);
    expect(answer.limits.earningsPerHour.toNumber()).toBeCloseTo(net - 90 - 18 - 150, 1);
    expect(answer.bid.equals(answer.limits[answer.bindingRule])).toBe(true);
    expect(answer.atBid.probabilityOfLoss).toBeLessThanOrEqual(0.2);
    const withFees = highestBid({ ...base, feesPercent: 18 });
    expect(withFees.limits.targetMargin.toNumber()).toBeCloseTo(answer.limits.targetMargin.toNumber() / 1.18, 1);
  });

  // Under the margin scheme a unit less paid is r/(100 + r) more taxed. With one certain price the bid has a closed form:
  // P − (P − b)·r/(100 + r) − cost = b, so b = P − cost·(100 + r)/100.
  it('solves the margin scheme exactly when nothing is uncertain', () => {
    const answer = highestBid({
      ...base,
      endings: [{ price: 600, worth: 0, weeks: 0, probability: 1 }],
      netOfSale: (price, purchase) => price - Math.max(0, price - purchase) * (20 / 120),
      effort: { cash: { mean: 80, deviation: 0 }, minutes: { mean: 600, deviation: 0 } },
      haul: 0,
      spaceCost: 0,
      acceptedProbabilityOfLoss: 0.5,
    });
    expect(answer.bid.toNumber()).toBeCloseTo(600 - (80 + 150) * 1.2, 1);
  });

  it('keeps the accepted probability of loss in a simulation of sale, repair and unknown faults', () => {
    const answer = highestBid({
      ...base,
      unknowns,
      hourlyValue: 0,
      minEarningsPerHour: 0,
      spaceCost: 0,
      acceptedProbabilityOfLoss: 0.15,
    });
    expect(answer.bindingRule).toBe('probabilityOfLoss');
    const random = new Random(3);
    const normal = (): number => Math.sqrt(-2 * Math.log(1 - random.next())) * Math.cos(2 * Math.PI * random.next());
    const runs = 40_000;
    let losses = 0;
    for (let run = 0; run < runs; run++) {
      let u = random.next();
      const end = endings.find((each) => (u -= each.probability) <= 0) ?? endings.at(-1)!;
      const left = (end.price === null ? end.worth : end.price - 10) - 1.5 * end.weeks;
      const present = unknowns.filter((fault) => random.next() < fault.probability);
      const mean = present.reduce((sum, fault) => sum + fault.cash.mean, 90);
      const deviation = Math.hypot(40, ...present.map((fault) => fault.cash.deviation));
      const s = Math.sqrt(Math.log1p((deviation / mean) ** 2));
      const cost = mean * Math.exp(s * normal() - (s * s) / 2);
      if (left - cost - 18 - answer.bid.toNumber() < 0) losses++;
    }
    expect(Math.abs(losses / runs - 0.15)).toBeLessThan(0.02);
  });

  // The expected value of perfect information by brute force: every state of every fault written out, the decision made
  // once before and once after the one fault is known (Raiffa and Schlaifer 1961; from memory).
  it('values a check as brute force does', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 400 }), fc.integer({ min: 0, max: 200 }), (askedPrice, fallback) => {
        const answer = highestBid({ ...base, unknowns, askedPrice, fallback });
        const surplus = (has: readonly boolean[]): number => {
          const cash = unknowns.reduce((sum, fault, i) => sum + (has[i] ? fault.cash.mean : 0), 90);
          const minutes = unknowns.reduce((sum, fault, i) => sum + (has[i] ? fault.minutes.mean : 0), 600);
          const finished = net - cash - (minutes / 60) * 15 - 22.5;
          return Math.max(finished, fallback) - askedPrice - 18;
        };
        const states = Array.from({ length: 8 }, (_, bits) => [0, 1, 2].map((i) => Boolean(bits & (1 << i))));
        const probability = (has: readonly boolean[]): number =>
          unknowns.reduce((all, fault, i) => all * (has[i] ? fault.probability : 1 - fault.probability), 1);
        const before = Math.max(
          0,
          states.reduce((sum, has) => sum + probability(has) * surplus(has), 0),
        );
        unknowns.forEach(({ name }, index) => {
          const after = [true, false].reduce((sum, shown) => {
            const alike = states.filter((has) => has[index] === shown);
            return (
              sum +
              Math.max(
                0,
                alike.reduce((all, has) => all + probability(has) * surplus(has), 0),
              )
            );
          }, 0);
          const told = answer.checks.find((check) => check.name === name)!;
          expect(Math.abs(told.value.toNumber() - (after - before))).toBeLessThan(0.02);
        });
        const all = states.reduce((sum, has) => sum + probability(has) * Math.max(0, surplus(has)), 0) - before;
        expect(Math.abs(answer.valueOfKnowingAll.toNumber() - all)).toBeLessThan(0.02);
        expect(answer.atAsked!.price.toNumber()).toBe(askedPrice);
      }),
      { numRuns: 40, seed: 4 },
    );
  });

  it('says when not even a gift would pay, and refuses what is no figure', () => {
    const hopeless = highestBid({ ...base, hourlyValue: 90 });
    expect(hopeless.worthwhile).toBe(false);
    expect(hopeless.bid.isZero()).toBe(true);
    expect(hopeless.limits[hopeless.bindingRule].isNegative()).toBe(true);
    expect(() => highestBid({ ...base, acceptedProbabilityOfLoss: 1.5 })).toThrow(
      expect.objectContaining({ code: 'bad-number', path: 'acceptedProbabilityOfLoss' }),
    );
    expect(() => highestBid({ ...base, feesPercent: -1 })).toThrow(
      expect.objectContaining({ code: 'bad-number', path: 'feesPercent' }),
    );
  });
});

describe('what repairing takes', () => {
  const prior = { cash: 80, minutes: 500, faults: [{ name: 'Engine', probability: 0.2, cash: 150, minutes: 200 }] };

  it('is the prior before the first job, and the own jobs after many', () => {
    const none = learnEffort([], prior, ['Engine']);
    expect(none.cash.mean).toBeCloseTo(230, 9);
    expect(none.faults.get('Engine')!.probability).toBeCloseTo(0.2, 9);
    const many = learnEffort(
      Array.from({ length: 60 }, (_, k) => ({ cash: k % 3 ? 50 : 250, minutes: 300, faults: k % 3 ? [] : ['Engine'] })),
      prior,
      [],
    );
    expect(Math.abs(many.cash.mean - 50)).toBeLessThan(5);
    expect(Math.abs(many.faults.get('Engine')!.cash.mean - 200)).toBeLessThan(12);
    expect(many.faults.get('Engine')!.probability).toBeCloseTo(20.4 / 62, 9);
    expect(many.cash.deviation).toBeLessThan(none.cash.deviation);
  });

  it('has nodes that keep the mean, and nearly the deviation', () => {
    const nodes = logNormalNodes({ mean: 100, deviation: 40 });
    const mean = nodes.reduce((sum, node) => sum + node, 0) / nodes.length;
    expect(mean).toBeCloseTo(100, 9);
    const deviation = Math.sqrt(nodes.reduce((sum, node) => sum + (node - mean) ** 2, 0) / nodes.length);
    expect(Math.abs(deviation / 40 - 1)).toBeLessThan(0.15);
  });
});

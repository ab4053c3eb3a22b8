import { describe, expect, it } from '@jest/globals';
import { normalQuantile } from '../statistics/index.js';
import { Random } from '../statistics/random.js';
import { enquiryOutcome, offerDensity, offerDiscounts, splitPrediction, usualBehaviour } from './buyers-model.js';

describe('what one enquirer does', () => {
  // Simulated from the words of the model: worth is log-normal, who finds it worth the ask pays, half of the others offer.
  it.each([
    [0.1, -0.05],
    [0, -0.2],
    [0.3, 0.02],
  ])('is what a simulation of single buyers does, ask %d, least offer %d', (ask, least) => {
    const random = new Random(5);
    const scatter = 0.2;
    const [low, high] = usualBehaviour.offersUnder;
    const runs = 80_000;
    let [pays, accepted, sum] = [0, 0, 0];
    for (let run = 0; run < runs; run++) {
      const worth = scatter * normalQuantile(random.next() * 0.999999 + 5e-7);
      if (worth >= ask) {
        pays++;
      } else if (random.next() < usualBehaviour.offerShare) {
        const offer = worth + Math.log(1 - low - (high - low) * random.next());
        if (offer >= least) {
          accepted++;
          sum += Math.exp(offer);
        }
      }
    }
    const discounts = offerDiscounts(usualBehaviour);
    const outcome = enquiryOutcome(usualBehaviour, discounts, scatter, ask, least);
    const offered = outcome.offers.reduce((all, each) => all + each.probability, 0);
    expect(Math.abs(outcome.pays - pays / runs)).toBeLessThan(0.006);
    expect(Math.abs(offered - accepted / runs)).toBeLessThan(0.008);
    const mean = outcome.offers.reduce((all, each) => all + each.probability * each.meanOverGoing, 0) / offered;
    expect(Math.abs(mean / (sum / accepted) - 1)).toBeLessThan(0.008);
  });

  it('has a density of offers that adds up to their probability', () => {
    const discounts = offerDiscounts(usualBehaviour);
    const step = 0.001;
    let sum = 0;
    for (let offer = -1.5; offer < 0.1 + discounts[0]!; offer += step)
      sum += step * offerDensity(usualBehaviour, discounts, 0.2, 0.1, offer);
    const outcome = enquiryOutcome(usualBehaviour, discounts, 0.2, 0.1, -Infinity);
    expect(sum).toBeCloseTo(
      outcome.offers.reduce((all, each) => all + each.probability, 0),
      2,
    );
  });

  it('splits a prediction so that level and scatter together have its variance', () => {
    const distribution = { components: [{ weight: 1, mean: 6, meanVariance: 0.02, noise: 0.25 }] };
    const { levels, scatter } = splitPrediction(distribution, usualBehaviour, 2001);
    const mean = levels.reduce((sum, { log, probability }) => sum + probability * log, 0);
    const variance = levels.reduce((sum, { log, probability }) => sum + probability * (log - mean) ** 2, 0);
    expect(mean).toBeCloseTo(6, 6);
    expect(variance + scatter ** 2).toBeCloseTo(0.02 + 0.25 ** 2, 3);
    expect(scatter ** 2).toBeCloseTo(0.6 * 0.0625, 12);
  });
});

import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { bestPricePath, type PathProblem } from '../src/engine/price/price-path.js';
import { Random } from '../src/engine/statistics/random.js';
import { bestPrice, bestRevenue } from './oracles/gallego-van-ryzin.js';

/** Plain buyers: who comes takes a price or does not. */
interface Simple {
  states: number[];
  arrivals: number[];
  accept(state: number, period: number, price: number): number;
  net: number[];
  holding: number;
  salvage: number;
  /** First period of each block. */
  blocks: number[];
  mayRaise: boolean;
}

function problemOf(simple: Simple): PathProblem {
  return {
    states: simple.states,
    salvage: simple.states.map(() => simple.salvage),
    mayRaise: simple.mayRaise,
    stages: simple.states.map((_, state) =>
      simple.blocks.map((from, block) => {
        const to = simple.blocks[block + 1] ?? simple.arrivals.length;
        const gain = new Float64Array(simple.net.length);
        const stay = new Float64Array(simple.net.length).fill(1);
        simple.net.forEach((net, price) => {
          for (let period = from; period < to; period++) {
            const sale = 1 - Math.exp(-simple.arrivals[period]! * simple.accept(state, period, price));
            gain[price]! += stay[price]! * (sale * net - simple.holding);
            stay[price]! *= 1 - sale;
          }
        });
        return { gain, stay };
      }),
    ),
  };
}

describe('the price path before a deadline', () => {
  // Gallego and van Ryzin 1994, closed form for one unit (check values in gallego-van-ryzin.spec.ts): in short periods
  // the dynamic program must come to the same value and the same first price.
  it.each([
    { time: 1, rate: Math.E, sensitivity: 1, salvage: 0 },
    { time: 4, rate: 1, sensitivity: 0.01, salvage: 0 },
    { time: 10, rate: 0.6, sensitivity: 0.005, salvage: 60 },
  ])('comes to the closed form in the limit, t = $time', ({ time, rate, sensitivity, salvage }) => {
    const periods = 300;
    const top = bestPrice({ units: 1, time, rate, sensitivity, salvage }) * 1.5;
    const prices = Array.from({ length: 500 }, (_, i) => (top * (i + 1)) / 500);
    const path = bestPricePath(
      problemOf({
        states: [1],
        arrivals: Array<number>(periods).fill((rate * time) / periods),
        accept: (_, __, price) => Math.exp(-sensitivity * prices[price]!),
        net: prices,
        holding: 0,
        salvage,
        blocks: Array.from({ length: periods }, (_, i) => i),
        mayRaise: true,
      }),
    );
    const exact = { units: 1, time, rate, sensitivity, salvage };
    expect(Math.abs(path.value / bestRevenue(exact) - 1)).toBeLessThan(4e-3);
    expect(Math.abs(prices[path.choice[0]!]! / bestPrice(exact) - 1)).toBeLessThan(1e-2);
  });

  it('follows demand that rises and falls with the season', () => {
    // a(s) = a₀·(1 + 0.1 s), s = time to go 10 … 0, integrates to 1.5·a₀·10 (Gallego and van Ryzin: only the integral counts).
    const periods = 300;
    const prices = Array.from({ length: 500 }, (_, i) => 150 + i * 1.5);
    const path = bestPricePath(
      problemOf({
        states: [1],
        arrivals: Array.from(
          { length: periods },
          (_, i) => (0.6 * 10 * (1 + 0.1 * 10 * (1 - (i + 0.5) / periods))) / periods,
        ),
        accept: (_, __, price) => Math.exp(-0.005 * prices[price]!),
        net: prices,
        holding: 0,
        salvage: 0,
        blocks: Array.from({ length: periods }, (_, i) => i),
        mayRaise: true,
      }),
    );
    expect(Math.abs(path.value / bestRevenue({ units: 1, time: 1, rate: 9, sensitivity: 0.005 }) - 1)).toBeLessThan(
      4e-3,
    );
  });

  it('finds the best of all paths when they can all be tried', () => {
    fc.assert(
      fc.property(fc.nat(100_000), fc.boolean(), (seed, mayRaise) => {
        const simple = random(seed, mayRaise);
        let best = -Infinity;
        for (let code = 0; code < 8 ** 4; code++) {
          const choice = [code % 8, Math.floor(code / 8) % 8, Math.floor(code / 64) % 8, Math.floor(code / 512)];
          if (mayRaise || choice.every((price, block) => block === 0 || price <= choice[block - 1]!))
            best = Math.max(best, value(simple, choice));
        }
        const found = bestPricePath(problemOf(simple));
        expect(found.value).toBeLessThanOrEqual(best + 1e-6);
        expect(found.value).toBeGreaterThan(best - 5e-3 * Math.abs(best));
        expect(value(simple, found.choice)).toBeCloseTo(found.value, 9);
      }),
      { seed: 20261125, numRuns: 40 },
    );
  });

  function random(seed: number, mayRaise: boolean): Simple {
    const draw = new Random(seed);
    const centres = [60, 90, 130].map((centre) => centre * (0.8 + 0.4 * draw.next()));
    const net = Array.from({ length: 8 }, (_, i) => 40 + 18 * i);
    const mass = centres.map(() => 0.1 + draw.next());
    const sum = mass.reduce((a, b) => a + b, 0);
    return {
      states: mass.map((each) => each / sum),
      arrivals: Array.from({ length: 8 }, () => 1.5 * draw.next()),
      accept: (state, _, price) => 1 / (1 + Math.exp((net[price]! - centres[state]!) / 8)),
      net,
      holding: 2 * draw.next(),
      salvage: 60 * draw.next(),
      blocks: [0, 2, 4, 6],
      mayRaise,
    };
  }

  /** Value of a path from the definition, period by period; nothing shared with the code under test. */
  function value(simple: Simple, choice: readonly number[]): number {
    let total = 0;
    simple.states.forEach((probability, state) => {
      let alive = probability;
      simple.arrivals.forEach((arrivals, period) => {
        const price = choice[Math.floor(period / 2)]!;
        const sale = 1 - Math.exp(-arrivals * simple.accept(state, period, price));
        total += alive * (sale * simple.net[price]! - simple.holding);
        alive *= 1 - sale;
      });
      total += alive * simple.salvage;
    });
    return total;
  }
});

import { createRequire } from 'node:module';
import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import type { Highs } from 'highs';
import { uniformFor } from '../statistics/random.js';
import { type SelectionProblem, selectSubset } from './index.js';

// A CommonJS module whose types say otherwise.
const loadHighs = createRequire(import.meta.url)('highs') as () => Promise<Highs>;
const FUTURES = 48;

/** Machines that share a shop's hours: each further one comes later, and what is late loses its worth; prices vary by future. */
function shopOf(seed: number, count: number, capacity: number) {
  const draw = (item: number, what: number, future = 0): number => uniformFor(seed, 1000 * item + what, future);
  const items = Array.from({ length: count }, (_, k) => ({
    hours: 4 + 16 * draw(k, 1),
    worth: 100 + 500 * draw(k, 2),
    price: 30 + 350 * draw(k, 3),
  }));
  const density = (k: number): number => items[k]!.worth / items[k]!.hours;
  const sequence = [...items.keys()].sort((a, b) => density(b) - density(a));
  const luck = items.map((_, k) =>
    Array.from({ length: FUTURES }, (__, future) => [0.7 + 0.6 * draw(k, 4, future), 0.8 + 0.4 * draw(k, 5, future)]),
  );
  const valueIn = (set: readonly number[], future: number): number => {
    let clock = 0;
    let value = 0;
    for (const k of sequence) {
      if (!set.includes(k)) continue;
      const [slow, price] = luck[k]![future]!;
      clock += items[k]!.hours * slow!;
      const late = Math.max(0, clock - capacity) / capacity;
      value += items[k]!.worth * price! * Math.max(0.3, 1 - late) - items[k]!.price;
    }
    return value;
  };
  return { items, valueIn };
}

function problemOf(seed: number, count: number, capacity = 40, allowed?: SelectionProblem['isAllowed']) {
  const shop = shopOf(seed, count, capacity);
  const problem: SelectionProblem = {
    count,
    // Alone, in the best of its futures with nothing before it.
    maxGain: shop.items.map((item) => 1.2 * item.worth - item.price),
    score: (set, from, to) => Float64Array.from({ length: to - from }, (_, k) => shop.valueIn(set, from + k)),
    firstFutures: 8,
    maxFutures: FUTURES,
    ...(allowed ? { isAllowed: allowed } : {}),
  };
  return { ...shop, problem };
}

/** Every subset, each in all futures: no bounds, no racing. */
function bruteForce({ problem }: ReturnType<typeof problemOf>): { items: number[]; mean: number } {
  let best = { items: [] as number[], mean: -Infinity };
  for (let mask = 0; mask < 2 ** problem.count; mask++) {
    const items = [...Array(problem.count).keys()].filter((k) => mask & (1 << k));
    if (items.length > 0 && problem.isAllowed && !problem.isAllowed(items)) continue;
    const values = problem.score(items, 0, FUTURES);
    const mean = values.reduce((sum, value) => sum + value, 0) / FUTURES;
    if (mean > best.mean + 1e-9) best = { items, mean };
  }
  return best;
}

describe('the best subset', () => {
  it('is that of brute force over all subsets on 200 generated cases of up to ten items', () => {
    let ruledOut = 0;
    let sets = 0;
    for (let seed = 1; seed <= 200; seed++) {
      const count = 1 + (seed % 10);
      const maxItems = 1 + (seed % 7);
      const made = problemOf(
        seed,
        count,
        20 + (seed % 5) * 15,
        seed % 2 ? (items) => items.length <= maxItems : undefined,
      );
      const found = selectSubset(made.problem);
      const expected = bruteForce(made);
      expect({ seed, items: found.best.items }).toEqual({ seed, items: expected.items });
      expect(found.best.mean).toBeCloseTo(expected.mean, 6);
      expect(found.exhaustive).toBe(true);
      ruledOut += found.ruledOut;
      sets += 2 ** count;
    }
    // The bounds are of use: without them every set would be scored.
    expect(ruledOut).toBeGreaterThan(0.1 * sets);
  });

  it('with one resource and no uncertainty is the knapsack that a MIP solver finds', async () => {
    const highs = await loadHighs();
    for (let seed = 1; seed <= 25; seed++) {
      const count = 4 + (seed % 7);
      const values = Array.from({ length: count }, (_, k) => 5 + Math.round(95 * uniformFor(seed, k, 1)));
      const weights = Array.from({ length: count }, (_, k) => 1 + Math.round(19 * uniformFor(seed, k, 2)));
      const room = Math.round(weights.reduce((sum, weight) => sum + weight, 0) * 0.4);
      const sum = (of: readonly number[], items: readonly number[]): number =>
        items.reduce((all, k) => all + of[k]!, 0);
      const found = selectSubset({
        count,
        maxGain: values,
        isAllowed: (items) => sum(weights, items) <= room,
        score: (items, from, to) => new Float64Array(to - from).fill(sum(values, items)),
        firstFutures: 1,
        maxFutures: 1,
      });
      const names = values.map((_, k) => `x${k}`);
      const solved = highs.solve(
        `Maximize obj: ${names.map((name, k) => `${values[k]} ${name}`).join(' + ')}\nSubject To c: ${names
          .map((name, k) => `${weights[k]} ${name}`)
          .join(' + ')} <= ${room}\nBinary ${names.join(' ')}\nEnd`,
      );
      expect({ seed, value: found.best.mean }).toEqual({ seed, value: Math.round(solved.ObjectiveValue) });
    }
  });

  it('is never worth less with more capacity or with one item more to choose from', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1e6 }), fc.integer({ min: 1, max: 6 }), (seed, count) => {
        const base = selectSubset(problemOf(seed, count).problem).best.mean;
        expect(selectSubset(problemOf(seed, count, 60).problem).best.mean).toBeGreaterThanOrEqual(base - 1e-9);
        expect(selectSubset(problemOf(seed, count + 1).problem).best.mean).toBeGreaterThanOrEqual(base - 1e-9);
      }),
      { numRuns: 60, seed: 7 },
    );
  });

  it('takes nothing where nothing pays, and nothing for nothing', () => {
    const flat = (value: number): SelectionProblem => ({
      count: 3,
      maxGain: [1, 1, 1],
      score: (items, from, to) => new Float64Array(to - from).fill(value * items.length),
      firstFutures: 4,
      maxFutures: 16,
    });
    expect(selectSubset(flat(-1)).best.items).toEqual([]);
    expect(selectSubset(flat(0)).best.items).toEqual([]);
    expect(selectSubset(flat(1)).best.items).toEqual([0, 1, 2]);
  });

  it('leaves out what the futures show to break a limit', () => {
    const found = selectSubset({
      count: 2,
      maxGain: [5, 3],
      score: (items, from, to) => new Float64Array(to - from).fill(items.reduce((sum, k) => sum + [5, 3][k]!, 0)),
      isAcceptable: (items) => !items.includes(0),
      firstFutures: 2,
      maxFutures: 4,
    });
    expect(found.best.items).toEqual([1]);
  });

  it('above ten items comes close to the knapsack optimum by exchanges', async () => {
    const highs = await loadHighs();
    const count = 24;
    const values = Array.from({ length: count }, (_, k) => 5 + Math.round(95 * uniformFor(3, k, 1)));
    const weights = Array.from({ length: count }, (_, k) => 1 + Math.round(19 * uniformFor(3, k, 2)));
    const sum = (of: readonly number[], items: readonly number[]): number => items.reduce((all, k) => all + of[k]!, 0);
    const found = selectSubset({
      count,
      maxGain: values,
      isAllowed: (items) => sum(weights, items) <= 80,
      score: (items, from, to) => new Float64Array(to - from).fill(sum(values, items)),
      firstFutures: 1,
      maxFutures: 1,
    });
    const names = values.map((_, k) => `x${k}`);
    const solved = highs.solve(
      `Maximize obj: ${names.map((name, k) => `${values[k]} ${name}`).join(' + ')}\nSubject To c: ${names
        .map((name, k) => `${weights[k]} ${name}`)
        .join(' + ')} <= 80\nBinary ${names.join(' ')}\nEnd`,
    );
    expect(found.exhaustive).toBe(false);
    expect(found.best.mean).toBeGreaterThanOrEqual(0.93 * solved.ObjectiveValue);
  });
});

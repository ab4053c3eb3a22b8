/** One thing to sell before a deadline at prices set in advance for blocks of periods. */
export interface SellingProblem {
  /** Chances of the market's levels, adding up to one: what nobody knows is which of them is true. */
  levels: readonly number[];
  /** Expected buyers of each period. */
  arrivals: readonly number[];
  /** Chance that a buyer of that period takes that price when that level is true. */
  accept(level: number, period: number, price: number): number;
  /** What a sale at each candidate price leaves, candidates in rising order. */
  net: readonly number[];
  /** Cost of each period begun unsold. */
  holding: number;
  /** Worth of the thing when the last period ends unsold. */
  salvage: number;
  /** First period of each block; the price changes only there. */
  blocks: readonly number[];
  /** Whether a later block may cost more than an earlier one. */
  mayRaise: boolean;
}

export interface SellingPath {
  /** Index of the candidate price of each block. */
  choice: number[];
  value: number;
  /** Chance of being still unsold at the start of each period, and after the last. */
  unsold: number[];
  /** Expected value at the start of each block, given it is unsold then. */
  continuation: number[];
}

/** Of one level and block at one price: what the block brings and the chance of leaving it unsold. */
interface Stage {
  gain: Float64Array;
  stay: Float64Array;
}

/**
 * The price path of greatest expected net proceeds.
 *
 * Nothing is learnt before the sale but that it has not happened, so a path fixed in advance is as good as any policy:
 * being unsold after a price shifts belief to the lower levels by itself. With one level and free prices the backward
 * recursion is exact (a dynamic program over the periods, Gallego and van Ryzin 1994 in discrete time). Otherwise every
 * run of neighbouring blocks is moved together to its best price, over and over from two starts, until nothing
 * improves; that comes within half a percent of trying all paths on the small cases of the test.
 */
export function bestPath(problem: SellingProblem): SellingPath {
  const stages = problem.levels.map((_, level) => problem.blocks.map((__, block) => stageOf(problem, level, block)));
  const free = backward(problem, stages);
  let best = free;
  if (problem.levels.length > 1 || !problem.mayRaise) {
    const falling = problem.mayRaise ? free : free.map((_, block) => Math.min(...free.slice(0, block + 1)));
    best = [falling, beam(problem, stages)]
      .map((start) => climb(problem, stages, start))
      .reduce((top, path) => (path.value > top.value ? path : top)).choice;
  }
  return describe(problem, stages, best);
}

function stageOf(problem: SellingProblem, level: number, block: number): Stage {
  const from = problem.blocks[block]!;
  const to = problem.blocks[block + 1] ?? problem.arrivals.length;
  const count = problem.net.length;
  const gain = new Float64Array(count);
  const stay = new Float64Array(count).fill(1);
  for (let price = 0; price < count; price++) {
    for (let period = from; period < to; period++) {
      const sale = -Math.expm1(-problem.arrivals[period]! * problem.accept(level, period, price));
      gain[price]! += stay[price]! * (sale * problem.net[price]! - problem.holding);
      stay[price]! *= 1 - sale;
    }
  }
  return { gain, stay };
}

function worth(problem: SellingProblem, stages: readonly Stage[][], choice: readonly number[]): number {
  return problem.levels.reduce((sum, probability, level) => {
    let value = problem.salvage;
    for (let block = choice.length - 1; block >= 0; block--) {
      const stage = stages[level]![block]!;
      value = stage.gain[choice[block]!]! + stage.stay[choice[block]!]! * value;
    }
    return sum + probability * value;
  }, 0);
}

/** The dynamic program; with several levels it forgets that time unsold is news, and only serves as a start. */
function backward(problem: SellingProblem, stages: readonly Stage[][]): number[] {
  const choice = problem.blocks.map(() => 0);
  const value = problem.levels.map(() => problem.salvage);
  for (let block = choice.length - 1; block >= 0; block--) {
    let best = -Infinity;
    for (let price = 0; price < problem.net.length; price++) {
      const here = problem.levels.reduce((sum, probability, level) => {
        const stage = stages[level]![block]!;
        return sum + probability * (stage.gain[price]! + stage.stay[price]! * value[level]!);
      }, 0);
      if (here > best) [best, choice[block]] = [here, price];
    }
    value.forEach((later, level) => {
      const stage = stages[level]![block]!;
      value[level] = stage.gain[choice[block]!]! + stage.stay[choice[block]!]! * later;
    });
  }
  return choice;
}

/** A path begun: what it has brought, and the chance of each level being true and nothing sold. */
interface Begun {
  choice: number[];
  gain: number;
  reach: Float64Array;
  score: number;
}

const KEPT_PER_PRICE = 2;
const MOST_BEAM_PRICES = 40;

/**
 * Builds paths block by block on at most forty of the prices, keeping for each last price the few that promise most: gain so far plus what could be
 * had if the level were known from here on. Keeping some of every price is what lets it find the high start that only
 * a later fall pays for, which no small change of a middling path leads to.
 */
function beam(problem: SellingProblem, stages: readonly Stage[][]): number[] {
  const blocks = problem.blocks.length;
  const stride = Math.ceil(problem.net.length / MOST_BEAM_PRICES);
  const ahead = stages.map((ofLevel) => {
    const value = new Float64Array(blocks + 1).fill(problem.salvage);
    for (let block = blocks - 1; block >= 0; block--) {
      const { gain, stay } = ofLevel[block]!;
      let best = -Infinity;
      for (let price = 0; price < gain.length; price++)
        best = Math.max(best, gain[price]! + stay[price]! * value[block + 1]!);
      value[block] = best;
    }
    return value;
  });
  let begun: Begun[] = [{ choice: [], gain: 0, reach: Float64Array.from(problem.levels), score: 0 }];
  for (let block = 0; block < blocks; block++) {
    const kept: Begun[][] = problem.net.map(() => []);
    for (const path of begun) {
      const ceiling = problem.mayRaise || block === 0 ? problem.net.length - 1 : path.choice[block - 1]!;
      for (let price = 0; price <= ceiling; price += stride) {
        let gain = path.gain;
        let promise = 0;
        for (let level = 0; level < path.reach.length; level++) {
          const stage = stages[level]![block]!;
          gain += path.reach[level]! * stage.gain[price]!;
          promise += path.reach[level]! * stage.stay[price]! * ahead[level]![block + 1]!;
        }
        const group = kept[price]!;
        const score = gain + promise;
        if (group.length === KEPT_PER_PRICE && score <= group.at(-1)!.score) continue;
        if (group.length === KEPT_PER_PRICE) group.pop();
        group.push({
          choice: [...path.choice, price],
          gain,
          score,
          reach: path.reach.map((reach, level) => reach * stages[level]![block]!.stay[price]!),
        });
        group.sort((x, y) => y.score - x.score);
      }
    }
    begun = kept.flat();
  }
  return begun.reduce((top, path) => (path.score > top.score ? path : top)).choice;
}

function climb(
  problem: SellingProblem,
  stages: readonly Stage[][],
  start: readonly number[],
): { choice: number[]; value: number } {
  const choice = [...start];
  const blocks = choice.length;
  const levels = problem.levels.length;
  // Worth of the path from each block on, and chance of reaching it, per level; kept up to date as moves are made.
  const later = problem.levels.map(() => new Float64Array(blocks + 1).fill(problem.salvage));
  const reach = problem.levels.map((probability) => new Float64Array(blocks + 1).fill(probability));
  const refresh = (): void => {
    for (let level = 0; level < levels; level++) {
      for (let block = blocks - 1; block >= 0; block--) {
        const stage = stages[level]![block]!;
        later[level]![block] = stage.gain[choice[block]!]! + stage.stay[choice[block]!]! * later[level]![block + 1]!;
      }
      for (let block = 0; block < blocks; block++)
        reach[level]![block + 1] = reach[level]![block]! * stages[level]![block]!.stay[choice[block]!]!;
    }
  };
  refresh();
  for (let improved = true; improved;) {
    improved = false;
    for (let from = 0; from < blocks; from++) {
      for (let to = from; to < blocks; to++) {
        const ceiling = problem.mayRaise || from === 0 ? problem.net.length - 1 : choice[from - 1]!;
        const floor = problem.mayRaise || to === blocks - 1 ? 0 : choice[to + 1]!;
        const now = sumOver(levels, (level) => reach[level]![from]! * later[level]![from]!);
        let best = -1;
        let bestValue = now + 1e-9 * (1 + Math.abs(now));
        for (let price = floor; price <= ceiling; price++) {
          const here = sumOver(levels, (level) => {
            let value = later[level]![to + 1]!;
            for (let block = to; block >= from; block--) {
              const stage = stages[level]![block]!;
              value = stage.gain[price]! + stage.stay[price]! * value;
            }
            return reach[level]![from]! * value;
          });
          if (here > bestValue) [best, bestValue] = [price, here];
        }
        if (best >= 0) {
          choice.fill(best, from, to + 1);
          refresh();
          improved = true;
        }
      }
    }
  }
  return { choice, value: worth(problem, stages, choice) };
}

function describe(problem: SellingProblem, stages: readonly Stage[][], choice: number[]): SellingPath {
  const periods = problem.arrivals.length;
  const unsold = new Array<number>(periods + 1).fill(0);
  const continuation = choice.map(() => 0);
  problem.levels.forEach((probability, level) => {
    const later = new Float64Array(choice.length + 1).fill(problem.salvage);
    for (let block = choice.length - 1; block >= 0; block--) {
      const stage = stages[level]![block]!;
      later[block] = stage.gain[choice[block]!]! + stage.stay[choice[block]!]! * later[block + 1]!;
    }
    let reach = probability;
    let block = -1;
    for (let period = 0; period < periods; period++) {
      if (problem.blocks[block + 1] === period) continuation[++block]! += reach * later[block]!;
      unsold[period]! += reach;
      reach *= Math.exp(-problem.arrivals[period]! * problem.accept(level, period, choice[block]!));
    }
    unsold[periods]! += reach;
  });
  return {
    choice,
    value: worth(problem, stages, choice),
    unsold,
    continuation: continuation.map((value, block) => {
      const probability = unsold[problem.blocks[block]!]!;
      return probability > 1e-12 ? value / probability : problem.salvage;
    }),
  };
}

function sumOver(count: number, term: (index: number) => number): number {
  let sum = 0;
  for (let index = 0; index < count; index++) sum += term(index);
  return sum;
}

import { last } from '../look-up.js';
/** One thing to sell before a deadline at prices set in advance for blocks of time. */
export interface PathProblem {
  /** Probabilities of what may be true of the market, adding up to one: nobody knows which is. */
  states: readonly number[];
  /**
   * Of each state and block, at each candidate price in rising order: what it brings, and the probability of leaving it
   * unsold.
   */
  stages: readonly (readonly PathStage[])[];
  /** Worth of the thing when the last block ends unsold, in each state. */
  salvage: readonly number[];
  /** Whether a later block may cost more than an earlier one. */
  mayRaise: boolean;
}

export interface PathStage {
  gain: Float64Array;
  stay: Float64Array;
}

export interface PricePath {
  /** Index of the candidate price of each block. */
  choice: number[];
  value: number;
}

/**
 * The price path of greatest expected net proceeds.
 *
 * Nothing is learnt before the sale but that it has not happened, so a path fixed in advance is as good as any policy:
 * being unsold after a price shifts belief to the lower levels by itself. With one state and free prices the backward
 * recursion is exact (a dynamic program, Gallego and van Ryzin 1994 in discrete time). Otherwise every run of
 * neighbouring blocks is moved together to its best price, over and over from two starts, until nothing improves; that
 * comes within half a percent of trying all paths on the small cases of the test.
 */
export function bestPricePath(problem: PathProblem): PricePath {
  const free = backward(problem);
  if (problem.states.length === 1 && problem.mayRaise) return { choice: free, value: worth(problem, free) };
  const falling = problem.mayRaise ? free : free.map((_, block) => Math.min(...free.slice(0, block + 1)));
  return [falling, beam(problem)]
    .map((start) => climb(problem, start))
    .reduce((top, path) => (path.value > top.value ? path : top));
}

const prices = ({ stages }: PathProblem): number => stages[0]![0]!.gain.length;
const blocksOf = ({ stages }: PathProblem): number => stages[0]!.length;

/** Expected value of a path. */
export function worth({ states, stages, salvage }: PathProblem, choice: readonly number[]): number {
  return states.reduce((sum, probability, state) => {
    let value = salvage[state]!;
    for (let block = choice.length - 1; block >= 0; block--) {
      const stage = stages[state]![block]!;
      value = stage.gain[choice[block]!]! + stage.stay[choice[block]!]! * value;
    }
    return sum + probability * value;
  }, 0);
}

/** The dynamic program; with several states it forgets that time unsold is news, and only serves as a start. */
function backward(problem: PathProblem): number[] {
  const choice = new Array<number>(blocksOf(problem)).fill(0);
  const value = [...problem.salvage];
  for (let block = choice.length - 1; block >= 0; block--) {
    let best = -Infinity;
    for (let price = 0; price < prices(problem); price++) {
      const here = problem.states.reduce((sum, probability, state) => {
        const stage = problem.stages[state]![block]!;
        return sum + probability * (stage.gain[price]! + stage.stay[price]! * value[state]!);
      }, 0);
      if (here > best) [best, choice[block]] = [here, price];
    }
    value.forEach((later, state) => {
      const stage = problem.stages[state]![block]!;
      value[state] = stage.gain[choice[block]!]! + stage.stay[choice[block]!]! * later;
    });
  }
  return choice;
}

/** A path begun: what it has brought, and the probability of each state being true and nothing sold. */
interface Begun {
  choice: number[];
  gain: number;
  reach: Float64Array;
  score: number;
}

const KEPT_PER_PRICE = 2;
const MOST_BEAM_PRICES = 30;

/**
 * Builds paths block by block on at most thirty of the prices, keeping for each last price the few that promise most:
 * gain so far plus what could be had if the state were known from here on. Keeping some of every price is what lets it
 * find the high start that only a later fall pays for, which no small change of a middling path leads to.
 */
function beam(problem: PathProblem): number[] {
  const { states, stages, salvage, mayRaise } = problem;
  const blocks = blocksOf(problem);
  const stride = Math.ceil(prices(problem) / MOST_BEAM_PRICES);
  const ahead = stages.map((ofState, state) => {
    const value = new Float64Array(blocks + 1).fill(salvage[state]!);
    for (let block = blocks - 1; block >= 0; block--) {
      const { gain, stay } = ofState[block]!;
      let best = -Infinity;
      for (let price = 0; price < gain.length; price++)
        best = Math.max(best, gain[price]! + stay[price]! * value[block + 1]!);
      value[block] = best;
    }
    return value;
  });
  let begun: Begun[] = [{ choice: [], gain: 0, reach: Float64Array.from(states), score: 0 }];
  for (let block = 0; block < blocks; block++) {
    const kept: Begun[][] = Array.from({ length: prices(problem) }, () => []);
    for (const path of begun) {
      const ceiling = mayRaise || block === 0 ? prices(problem) - 1 : path.choice[block - 1]!;
      for (let price = 0; price <= ceiling; price += stride) {
        let gain = path.gain;
        let promise = 0;
        for (let state = 0; state < path.reach.length; state++) {
          const stage = stages[state]![block]!;
          gain += path.reach[state]! * stage.gain[price]!;
          promise += path.reach[state]! * stage.stay[price]! * ahead[state]![block + 1]!;
        }
        const group = kept[price]!;
        const score = gain + promise;
        if (group.length === KEPT_PER_PRICE && score <= last(group).score) continue;
        if (group.length === KEPT_PER_PRICE) group.pop();
        group.push({
          choice: [...path.choice, price],
          gain,
          score,
          reach: path.reach.map((reach, state) => reach * stages[state]![block]!.stay[price]!),
        });
        group.sort((x, y) => y.score - x.score);
      }
    }
    begun = kept.flat();
  }
  return begun.reduce((top, path) => (path.score > top.score ? path : top)).choice;
}

function climb(problem: PathProblem, start: readonly number[]): PricePath {
  const { states, stages, salvage, mayRaise } = problem;
  const choice = [...start];
  const blocks = choice.length;
  const count = states.length;
  // Worth of the path from each block on, and probability of reaching it, per state; kept up to date as moves are made.
  const later = salvage.map((value) => new Float64Array(blocks + 1).fill(value));
  const reach = states.map((probability) => new Float64Array(blocks + 1).fill(probability));
  const refresh = (): void => {
    for (let state = 0; state < count; state++) {
      for (let block = blocks - 1; block >= 0; block--) {
        const stage = stages[state]![block]!;
        later[state]![block] = stage.gain[choice[block]!]! + stage.stay[choice[block]!]! * later[state]![block + 1]!;
      }
      for (let block = 0; block < blocks; block++)
        reach[state]![block + 1] = reach[state]![block]! * stages[state]![block]!.stay[choice[block]!]!;
    }
  };
  refresh();
  for (let improved = true; improved;) {
    improved = false;
    for (let from = 0; from < blocks; from++) {
      for (let to = from; to < blocks; to++) {
        const ceiling = mayRaise || from === 0 ? prices(problem) - 1 : choice[from - 1]!;
        const lowest = mayRaise || to === blocks - 1 ? 0 : choice[to + 1]!;
        const now = sumOver(count, (state) => reach[state]![from]! * later[state]![from]!);
        let best = -1;
        let bestValue = now + 1e-9 * (1 + Math.abs(now));
        for (let price = lowest; price <= ceiling; price++) {
          const here = sumOver(count, (state) => {
            let value = later[state]![to + 1]!;
            for (let block = to; block >= from; block--) {
              const stage = stages[state]![block]!;
              value = stage.gain[price]! + stage.stay[price]! * value;
            }
            return reach[state]![from]! * value;
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
  return { choice, value: worth(problem, choice) };
}

function sumOver(count: number, term: (index: number) => number): number {
  let sum = 0;
  for (let index = 0; index < count; index++) sum += term(index);
  return sum;
}

/**
 * The subset of greatest expected value, where a value is a mean over futures and each is costly to see. Pure.
 *
 * Sets up to ten items are enumerated in order of size; one whose bound (a set it grew from, and the most its further item
 * can add) does not reach the best seen is never scored. What is scored is seen in a few futures first, always the same
 * ones for all (common random numbers: Law, Simulation Modeling and Analysis, ch. 11; from memory). Those that fall behind
 * the leader by more than chance explains are dropped, the rest is seen in twice as many, and so on (racing: Maron and
 * Moore 1997; from memory). Above ten items sets are looked for by adding, leaving out and exchanging single items.
 */
import { EngineError } from '../error.js';
import { difference, mean } from './paired.js';

export interface SelectionProblem {
  /** Items are numbered from 0; a set is given as their numbers, rising. */
  count: number;
  /** The most that each item may add to the mean value of any set. An item that can add nothing is never taken. */
  maxGain: readonly number[];
  /** Limits. What is allowed stays so when an item is left out; the empty set always is. */
  isAllowed?: (items: readonly number[]) => boolean;
  /** The values of a set in the futures `from` to before `to`. */
  score(items: readonly number[], from: number, to: number): Float64Array;
  /** Limits that only the futures tell, given a set's values so far. The empty set always passes. */
  isAcceptable?: (items: readonly number[], futures: number) => boolean;
  firstFutures: number;
  maxFutures: number;
  /** Standard errors by which a set must fall behind to be dropped; default 4. */
  dropErrors?: number;
  /** Told how much of the search is behind, 0 to 1. */
  onProgress?: (share: number) => void;
}

export interface ScoredSet {
  items: number[];
  values: Float64Array;
  mean: number;
}

export interface Selection {
  best: ScoredSet;
  /** The empty set, seen in as many futures as the best. */
  nothing: ScoredSet;
  /** The sets that were never dropped, the best first. */
  contenders: ScoredSet[];
  /** How many sets were scored, and how many were known not to win without. */
  scored: number;
  ruledOut: number;
  /** Every set that can still win was looked at. */
  exhaustive: boolean;
}

export const MAX_ENUMERATED = 10;
const DROP_ERRORS = 4;
/** Rounds of single exchanges above ten items; judgement: more has found nothing better. */
const MAX_EXCHANGES = 40;

interface Entry {
  mask: bigint;
  items: number[];
  values: Float64Array;
}

/** @throws EngineError `invalid-number` */
export function selectSubset(problem: SelectionProblem): Selection {
  check(problem);
  const worthTrying = [...Array(problem.count).keys()].filter((item) => problem.maxGain[item]! > 0);
  const exhaustive = worthTrying.length <= MAX_ENUMERATED;
  const table = new ScoreTable(problem);
  const ruledOut = exhaustive ? enumerate(problem, table, worthTrying) : exchange(problem, table, worthTrying);
  const contenders = race(problem, table);
  const best = contenders[0]!;
  const nothing = table.entry([]);
  table.extend(nothing, best.values.length);
  return {
    best: scoredSet(best),
    nothing: scoredSet(nothing),
    contenders: contenders.map(scoredSet),
    scored: table.entries.size,
    ruledOut,
    exhaustive,
  };
}

const scoredSet = ({ items, values }: Entry): ScoredSet => ({ items, values, mean: mean(values) });

class ScoreTable {
  readonly entries = new Map<bigint, Entry>();

  constructor(private readonly problem: SelectionProblem) {}

  /** Scored in the first futures, if it was not. */
  entry(items: readonly number[]): Entry {
    const mask = maskOf(items);
    let entry = this.entries.get(mask);
    if (!entry) {
      entry = { mask, items: [...items], values: new Float64Array(0) };
      this.entries.set(mask, entry);
      this.extend(entry, this.problem.firstFutures);
    }
    return entry;
  }

  extend(entry: Entry, futures: number): void {
    const seen = entry.values.length;
    if (seen >= futures) return;
    const more = this.problem.score(entry.items, seen, futures);
    const values = new Float64Array(futures);
    values.set(entry.values);
    values.set(more, seen);
    entry.values = values;
  }

  isAcceptable(entry: Entry): boolean {
    return entry.items.length === 0 || (this.problem.isAcceptable?.(entry.items, entry.values.length) ?? true);
  }
}

const maskOf = (items: readonly number[]): bigint => items.reduce((mask, item) => mask | (1n << BigInt(item)), 0n);

/** Scores every allowed set that may win. @returns how many were ruled out by their bounds */
function enumerate(problem: SelectionProblem, table: ScoreTable, items: readonly number[]): number {
  const { isAllowed = () => true, onProgress } = problem;
  const nothing = table.entry([]);
  let best = mean(nothing.values);
  // A good set early rules out many: the one that grows by the best item each time.
  best = Math.max(best, greedy(problem, table, items));
  // By mask of positions in `items`: no subset of the set is worth more. All smaller sets come before it.
  const bounds = new Float64Array(2 ** items.length).fill(-Infinity);
  bounds[0] = mean(nothing.values);
  const bySize = [...bounds.keys()].slice(1).sort((a, b) => bits(a) - bits(b) || a - b);
  let ruledOut = 0;
  for (const [step, mask] of bySize.entries()) {
    const set = items.filter((_, k) => mask & (1 << k));
    if (!isAllowed(set)) continue;
    let bound = Infinity;
    items.forEach((item, k) => {
      if (mask & (1 << k)) bound = Math.min(bound, bounds[mask ^ (1 << k)]! + problem.maxGain[item]!);
    });
    if (bound < best && !table.entries.has(maskOf(set))) {
      bounds[mask] = bound;
      ruledOut += 1;
      continue;
    }
    const entry = table.entry(set);
    bounds[mask] = Math.min(bound, mean(entry.values));
    if (table.isAcceptable(entry)) best = Math.max(best, mean(entry.values));
    if (step % 8 === 0) onProgress?.((0.5 * step) / bySize.length);
  }
  return ruledOut;
}

const bits = (mask: number): number => {
  let count = 0;
  for (let rest = mask; rest > 0; rest &= rest - 1) count += 1;
  return count;
};

function greedy(
  problem: SelectionProblem,
  table: ScoreTable,
  items: readonly number[],
  from: readonly number[] = [],
): number {
  const { isAllowed = () => true } = problem;
  let set: number[] = [...from];
  let value = mean(table.entry(set).values);
  for (;;) {
    let found: { set: number[]; value: number } | null = null;
    for (const item of items) {
      if (set.includes(item)) continue;
      const grown = [...set, item].sort((a, b) => a - b);
      if (!isAllowed(grown)) continue;
      const entry = table.entry(grown);
      const reached = mean(entry.values);
      if (table.isAcceptable(entry) && reached > (found?.value ?? value)) found = { set: grown, value: reached };
    }
    if (!found) return value;
    ({ set, value } = found);
  }
}

/** Adds, leaves out and exchanges single items while that helps, from nothing and from what greedy adding reached. */
function exchange(problem: SelectionProblem, table: ScoreTable, items: readonly number[]): number {
  const { isAllowed = () => true, onProgress } = problem;
  greedy(problem, table, items);
  // Greedy adding may begin with the wrong one, so it begins once with each.
  for (const item of items) if (isAllowed([item])) greedy(problem, table, items, [item]);
  const leader = (): Entry =>
    [...table.entries.values()]
      .filter((entry) => table.isAcceptable(entry))
      .reduce((best, entry) => (mean(entry.values) > mean(best.values) ? entry : best));
  let current = leader();
  for (let round = 0; round < MAX_EXCHANGES; round++) {
    const inside = new Set(current.items);
    const neighbours = items.flatMap((item) =>
      inside.has(item)
        ? [
            current.items.filter((one) => one !== item),
            ...items
              .filter((other) => !inside.has(other))
              .map((other) => [...current.items.filter((one) => one !== item), other]),
          ]
        : [[...current.items, item]],
    );
    for (const set of neighbours) {
      const sorted = set.sort((a, b) => a - b);
      if (isAllowed(sorted)) table.entry(sorted);
    }
    const next = leader();
    onProgress?.(0.5 * Math.min(1, (round + 1) / 10));
    if (next === current) break;
    current = next;
  }
  return 0;
}

/** Sees those that are level with the leader in ever more futures. */
function race(problem: SelectionProblem, table: ScoreTable): Entry[] {
  const { maxFutures, dropErrors = DROP_ERRORS, onProgress } = problem;
  let futures = problem.firstFutures;
  let running = [...table.entries.values()].filter((entry) => table.isAcceptable(entry));
  for (;;) {
    running = byMean(running.filter((entry) => table.isAcceptable(entry)));
    const leader = running[0]!;
    running = running.filter((entry) => {
      const behind = difference(leader.values, entry.values);
      return entry === leader || behind.mean <= dropErrors * behind.standardError;
    });
    if (futures >= maxFutures || running.length === 1) break;
    futures = Math.min(maxFutures, 2 * futures);
    for (const entry of running) table.extend(entry, futures);
    onProgress?.(0.5 + 0.5 * Math.min(1, futures / maxFutures));
  }
  for (const entry of running) table.extend(entry, maxFutures);
  running = byMean(running.filter((entry) => table.isAcceptable(entry)));
  if (running.length > 0) return running;
  const nothing = table.entry([]);
  table.extend(nothing, maxFutures);
  return [nothing];
}

/** The greatest first, of equals the fewer items: what adds nothing is not bought. */
const byMean = (entries: readonly Entry[]): Entry[] =>
  [...entries].sort(
    (a, b) =>
      mean(b.values) - mean(a.values) ||
      a.items.length - b.items.length ||
      (a.mask < b.mask ? -1 : a.mask > b.mask ? 1 : 0),
  );

function check({ count, maxGain, firstFutures, maxFutures }: SelectionProblem): void {
  if (maxGain.length !== count || maxGain.some((gain) => Number.isNaN(gain)))
    throw new EngineError('invalid-number', 'each item needs the most it may add', 'maxGain');
  if (!(
    Number.isInteger(firstFutures) &&
    Number.isInteger(maxFutures) &&
    firstFutures > 0 &&
    maxFutures >= firstFutures
  ))
    throw new EngineError('invalid-number', 'futures are whole numbers above zero', 'maxFutures');
}

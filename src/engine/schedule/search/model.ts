import type { Random } from '../../statistics/random.js';

/** Costs in order of importance, compared one after the other; lower is better. */
export type Rank = readonly number[];

export function compareRank(a: Rank, b: Rank): number {
  for (let k = 0; k < a.length; k++) if (a[k] !== b[k]) return a[k]! - b[k]!;
  return 0;
}

/** A schedule kept by the search. */
export interface Individual {
  /**
   * The free tasks, predecessors first; the schedule comes out of it again. By start where no follower is drawn up (see
   * `RecoatChains`).
   */
  list: Int32Array;
  start: Int32Array;
  rank: Rank;
  hash: number;
  /** Which followers aim at their first window; null when no task has forbidden intervals. */
  firstWindow: Uint8Array | null;
}

/** What the search needs to know of a problem. Arrays are indexed by task; lists hold the free tasks only. */
export interface Model {
  readonly free: Int32Array;
  /** Free predecessors and followers of each task. */
  readonly before: readonly Int32Array[];
  readonly after: readonly Int32Array[];
  /** The shares of the resources that each task takes, added up: tells busy stretches from idle ones. */
  readonly share: Float64Array;
  readonly length: Int32Array;
  /** Latest starts: tasks with lower ones are drawn sooner. */
  readonly urgency: Float64Array;
  /** Job of each task, -1 for none; jobs compete for the same people, so they are also moved as a whole. */
  readonly groupOf: Int32Array;
  readonly groups: number;
  /** Links with a choice between the first window and the end of a forbidden interval. */
  readonly choices: Int32Array;
  /** Schedules generated so far; each pass of a justification counts as one. */
  schedules: number;
  /**
   * Generates the schedule of a list and improves it by double justification: at most `perBuild` schedules.
   * @param best the best rank so far, where the list need not be justified unless it may come near that.
   * @returns null when it was not justified: for that reason, or because an earlier list gave the same schedule.
   */
  build(list: Int32Array, firstWindow: Uint8Array | null, best?: Rank): Individual | null;
  /** Forgets the schedules of earlier lists. */
  forget(): void;
  readonly perBuild: number;
  /** For a model that sees the problem backwards: the same schedule forwards, no worse than it was; costs one schedule. */
  unmirror?(individual: Individual): Individual;
  /** True when nothing better exists. */
  isOptimal(rank: Rank): boolean;
  /** Exact search around schedules, where the model has one; what it spends counts as schedules. */
  readonly exact?: ExactModel;
}

/** Exact search of a model: costs are schedules that would take as long, at most `most` a call. */
export interface ExactModel {
  /** A better schedule near this one, or null. */
  improve(individual: Individual, random: Random, most: number): Individual | null;
  /** Goes on looking for anything better than `rank`: a schedule, or true once it is proven that there is none. */
  refute(rank: Rank, most: number): Individual | boolean;
}

export function hashOf(start: Int32Array): number {
  let hash = 0;
  for (let i = 0; i < start.length; i++) hash = (Math.imul(hash, 31) + start[i]!) | 0;
  return hash;
}

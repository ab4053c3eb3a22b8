import type { Random } from '../../statistics/random.js';
import { KeySorter } from '../generation/key-sorter.js';
import { PlainGenerator, type PlainProject } from '../generation/plain-generator.js';
import type { Compiled } from '../problem/compile.js';
import { ExactSearch } from '../solver/exact-search.js';
import { type ExactModel, hashOf, type Individual, type Model, type Rank } from './model.js';

/** Longest project, in the unit of its lengths, for which a word per time unit is still faster than steps. */
const MOST_TIME = 20000;

/**
 * A schedule that is longer than the best one by this factor is not justified: that seldom makes it a better one, and its
 * two passes are worth more on another list. Found by experiment on J30, over forty seeds.
 */
const HOPELESS = 1.12;

/** The problem as a plain project with the makespan as its only aim, or null if it is anything more than that. */
export function asPlain(compiled: Compiled): PlainProject | null {
  const { problem, tasks, horizon, now, count, capacity } = compiled;
  if (now !== 0 || problem.resources.some((resource) => resource.calendar || resource.reductions?.length)) return null;
  if (problem.jobs?.some((job) => job.dueMinutes !== undefined || job.valueLost?.length)) return null;
  const plain = tasks.every(
    (task) =>
      !task.fixed &&
      !task.windows &&
      task.weatherId === undefined &&
      !task.releaseMinutes &&
      task.dueMinutes === undefined &&
      task.predecessors.every((link) => link.minWaitMinutes === 0 && !link.forbidden?.length),
  );
  const time = tasks.reduce((sum, task) => sum + task.durationMinutes, 0);
  if (!plain || time > Math.min(horizon, MOST_TIME) || !PlainGenerator.fits([...capacity])) return null;
  return {
    durations: tasks.map((task) => task.durationMinutes),
    predecessors: Array.from({ length: count }, (_, i) => [
      ...compiled.linkTask.subarray(compiled.linkFrom[i]!, compiled.linkFrom[i + 1]!),
    ]),
    demands: Array.from({ length: count }, (_, i) => {
      const amounts = new Array<number>(capacity.length).fill(0);
      for (let k = compiled.demandFrom[i]!; k < compiled.demandFrom[i + 1]!; k++)
        amounts[compiled.demandResource[k]!] = compiled.demandAmount[k]!;
      return amounts;
    }),
    capacities: [...capacity],
  };
}

/** Plain projects for the search: the fast path. */
export class PlainModel implements Model, ExactModel {
  readonly free: Int32Array;
  readonly before: readonly Int32Array[];
  readonly after: readonly Int32Array[];
  readonly share: Float64Array;
  readonly length: Int32Array;
  readonly urgency: Float64Array;
  readonly groupOf = new Int32Array(0);
  readonly groups = 0;
  readonly choices = new Int32Array(0);
  readonly perBuild = 3;
  schedules = 0;
  private readonly generator: PlainGenerator;
  private readonly sorter = new KeySorter();
  private readonly key: Int32Array;
  private readonly other: Int32Array;
  private readonly turned: Int32Array;
  private readonly reversed: Int32Array;
  private readonly bound: number;
  /** Hashes of the schedules that lists gave before they were justified. */
  private readonly known = new Set<number>();
  private forwards: PlainModel | null = null;
  private readonly search: ExactSearch;
  readonly exact = this;

  /** The same project backwards in time, tasks keeping their numbers. */
  static mirrored(project: PlainProject): PlainModel {
    const predecessors: number[][] = project.durations.map(() => []);
    project.predecessors.forEach((list, i) => list.forEach((p) => predecessors[p]!.push(i)));
    const model = new PlainModel({ ...project, predecessors });
    model.forwards = new PlainModel(project);
    return model;
  }

  constructor(project: PlainProject) {
    const { durations, predecessors, demands, capacities } = project;
    const count = durations.length;
    this.generator = new PlainGenerator(project);
    this.search = new ExactSearch(project);
    this.free = Int32Array.from(durations.keys());
    this.before = predecessors.map((list) => Int32Array.from(list));
    const after: number[][] = durations.map(() => []);
    predecessors.forEach((list, i) => list.forEach((p) => after[p]!.push(i)));
    this.after = after.map((list) => Int32Array.from(list));
    this.length = Int32Array.from(durations);
    this.share = Float64Array.from(demands, (amounts) =>
      amounts.reduce((sum, amount, r) => sum + amount / Math.max(1, capacities[r]!), 0),
    );
    this.key = new Int32Array(count);
    this.other = new Int32Array(count);
    this.turned = new Int32Array(count);
    this.reversed = new Int32Array(count);
    const tail = new Float64Array(count).fill(-1);
    const tailOf = (i: number): number => {
      if (tail[i]! < 0) tail[i] = after[i]!.reduce((longest, j) => Math.max(longest, durations[j]! + tailOf(j)), 0);
      return tail[i]!;
    };
    this.urgency = Float64Array.from(durations, (d, i) => -(d + tailOf(i)));
    const path = durations.reduce((longest, d, i) => Math.max(longest, d + tailOf(i)), 0);
    const energy = capacities.map((capacity, r) =>
      Math.ceil(demands.reduce((sum, amounts, i) => sum + amounts[r]! * durations[i]!, 0) / Math.max(1, capacity)),
    );
    this.bound = Math.max(path, ...energy);
  }

  /** Forwards, backwards, forwards: double justification (Valls, Ballestín & Quintanilla 2005, EJOR 165:375–386). */
  build(list: Int32Array, _firstWindow: null, best?: Rank): Individual | null {
    const { generator, other, turned, known } = this;
    const unjustified = generator.pass(list, 0);
    this.schedules++;
    if (best && unjustified > HOPELESS * best[0]!) return null;
    const hash = hashOf(generator.start);
    if (known.has(hash)) return null;
    known.add(hash);
    this.turn(list, unjustified, other);
    const backwards = generator.pass(other, 1);
    this.turn(other, backwards, turned);
    const makespan = generator.pass(turned, 0);
    this.schedules += 2;
    const start = generator.start.slice();
    const sorted = new Int32Array(list.length);
    this.sorter.sort(turned, start, sorted);
    return { list: sorted, start, rank: [makespan], hash: hashOf(start), firstWindow: null };
  }

  forget(): void {
    this.known.clear();
  }

  unmirror(individual: Individual): Individual {
    const { forwards, length } = this;
    if (!forwards) return individual;
    // The task that ends last here begins first there.
    const list = individual.list.slice().reverse();
    const end = individual.rank[0]!;
    for (const i of list) this.key[i] = end - individual.start[i]! - length[i]!;
    this.sorter.sort(list, this.key, this.other);
    const makespan = forwards.generator.pass(this.other, 0);
    this.schedules++;
    const start = forwards.generator.start.slice();
    const sorted = new Int32Array(list.length);
    this.sorter.sort(this.other, start, sorted);
    return { list: sorted, start, rank: [makespan], hash: hashOf(start), firstWindow: null };
  }

  improve({ list, start, rank }: Individual, random: Random, most: number): Individual | null {
    const before = this.search.cost;
    const shorter = this.search.shorten(list, start, rank[0]!, random, most - this.perBuild);
    this.schedules += this.search.cost - before;
    return shorter && this.build(shorter, null);
  }

  refute(rank: Rank, most: number): Individual | boolean {
    const before = this.search.cost;
    const { outcome, found } = this.search.decide(rank[0]! - 1, most - this.perBuild);
    this.schedules += this.search.cost - before;
    if (!found) return outcome === 'infeasible';
    return this.build(found, null) ?? false;
  }

  isOptimal(rank: Rank): boolean {
    return rank[0]! <= this.bound;
  }

  /** The order for the pass in the other direction, of a schedule that ends at `end`: the task that ends last first. */
  private turn(list: Int32Array, end: number, out: Int32Array): void {
    const { key, length, reversed } = this;
    const { start } = this.generator;
    for (let k = 0, n = list.length; k < n; k++) {
      const i = list[k]!;
      key[i] = end - start[i]! - length[i]!;
      reversed[n - 1 - k] = i;
    }
    this.sorter.sort(reversed, key, out);
  }
}

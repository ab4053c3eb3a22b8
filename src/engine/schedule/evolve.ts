import { type Individual, type Model, compareRank, hashOf } from './model.js';
import type { Random } from './random.js';

// Settings found by experiment on PSPLIB at 5,000 schedules.
const POPULATION = (tasks: number): number => Math.min(40, 8 + tasks);
/** Share of children by shuffling, and tasks moved in the others: small projects need more stirring, large ones are spoilt by it. */
const SHUFFLE_SHARE = (tasks: number): number => Math.min(0.6, 18 / tasks);
const SHIFTS = (tasks: number): number => Math.max(2, Math.min(5, Math.round(2 + 90 / tasks)));
/** Children in a row that bring no progress before a fresh population is drawn; the best one is kept aside. */
const PATIENCE = 150;

/**
 * A steady-state genetic algorithm over priority lists, every child improved by double justification, in the line of
 * Hartmann (1998, Naval Research Logistics 45:733–750) and the hybrid of Valls, Ballestín & Quintanilla (2008, EJOR
 * 185:495–508), whose peak crossover takes a busy stretch of one parent whole. Added here: moving single tasks to a random
 * place between their neighbours in precedence, shuffling the tasks of one stretch of time (as large neighbourhood search does),
 * and a fresh population when progress stops.
 */
export class Evolution {
  private population: Individual[] = [];
  private readonly child: Int32Array;
  private readonly scratch: Int32Array;
  private readonly group: Uint8Array;
  private readonly placed: Uint8Array;
  private readonly missing: Int32Array;
  private readonly size: number;
  private toSeed: number;
  /** Hashes of the lists built in this population. */
  private readonly known = new Set<number>();
  private stale = 0;
  private readonly shuffleShare: number;
  private readonly shifts: number;
  /** True when the best one is proven to be so. */
  solved = false;

  private model: Model;
  private turn = 0;

  /**
   * @param models the problem, and perhaps the same seen backwards: fresh populations take turns, since what is hard to
   *   build up from one end may be easy from the other. @param given lists for the first model to start from, best guess first.
   */
  constructor(
    private readonly models: readonly Model[],
    private readonly random: Random,
    private readonly given: { list: Int32Array; near: Uint8Array | null }[] = [],
  ) {
    const model = models[0]!;
    this.model = model;
    const tasks = model.before.length;
    this.size = POPULATION(model.free.length);
    this.toSeed = this.size;
    this.shuffleShare = SHUFFLE_SHARE(model.free.length);
    this.shifts = SHIFTS(model.free.length);
    this.child = new Int32Array(model.free.length);
    this.scratch = new Int32Array(model.free.length);
    this.group = new Uint8Array(tasks);
    this.placed = new Uint8Array(tasks);
    this.missing = new Int32Array(tasks);
  }

  /** The best schedule so far. */
  best: Individual | undefined;

  /** Schedules generated so far. */
  get schedules(): number {
    return this.models.reduce((sum, model) => sum + model.schedules, 0);
  }

  /** The most that one step generates. */
  get perStep(): number {
    return this.model.perBuild + (this.models.length > 1 ? 1 : 0);
  }

  /** Goes on until `schedules` have been generated in all, or the optimum is known. */
  run(schedules: number): void {
    const { random, child } = this;
    const room = schedules - this.perStep;
    while (!this.solved && this.schedules <= room) {
      if (this.stale >= PATIENCE) {
        this.model = this.models[++this.turn % this.models.length]!;
        this.population.length = 0;
        this.known.clear();
        this.stale = 0;
        this.toSeed = this.size;
      }
      if (this.toSeed > 0) {
        this.toSeed--;
        this.seedOne();
        if (this.toSeed === 0) this.stale = 0;
        continue;
      }
      const { model } = this;
      const mother = this.pick();
      let father = this.pick();
      for (let k = 0; k < 8 && father === mother; k++) father = this.pick();
      if (random.next() < this.shuffleShare) this.shuffleStretch(random.next() < 0.5 ? mother : father);
      else {
        this.crossBusyStretch(mother, father);
        for (let k = 0; k < this.shifts; k++) this.moveOne();
      }
      const near = this.mixNear(mother, father);
      // What was built before is stirred once more rather than built again.
      for (let k = 0; k < 4 && this.isKnown(near); k++) this.moveOne();
      this.insert(model.build(child, near));
    }
  }

  /** Whether the child was built before; if not, it counts as built from now on. */
  private isKnown(near: Uint8Array | null): boolean {
    let hash = hashOf(this.child);
    if (near) for (const l of this.model.choices) hash = (Math.imul(hash, 31) + near[l]!) | 0;
    if (this.known.has(hash)) return true;
    this.known.add(hash);
    return false;
  }

  private seedOne(): void {
    const given = this.given.shift();
    if (given) this.insert(this.model.build(given.list, given.near));
    else {
      this.sample();
      this.insert(this.model.build(this.child, this.randomNear()));
    }
  }

  /** Takes in a new schedule unless it is known, or the population full and it is worse than all. */
  private insert(individual: Individual): void {
    const { population } = this;
    const grow = population.length < this.size;
    let k = population.length;
    while (k > 0 && compareRank(population[k - 1]!.rank, individual.rank) >= 0) k--;
    for (let m = k; m < population.length && compareRank(population[m]!.rank, individual.rank) === 0; m++) {
      if (population[m]!.hash === individual.hash) {
        this.stale++;
        return;
      }
    }
    if (k === population.length && !grow) {
      this.stale++;
      return;
    }
    const progress = population.length === 0 || compareRank(individual.rank, population.at(-1)!.rank) < 0;
    if (!grow) population.pop();
    population.splice(k, 0, individual);
    this.stale = progress ? 0 : this.stale + 1;
    if (this.best && compareRank(this.best.rank, individual.rank) <= 0) return;
    this.best = this.model.unmirror?.(individual) ?? individual;
    if (this.model.isOptimal(this.best.rank)) this.solved = true;
  }

  private pick(): Individual {
    const { population, random } = this;
    return population[Math.min(random.below(population.length), random.below(population.length))]!;
  }

  /** Child: the mother's order, but the tasks that the father starts in one of his busy stretches come in his order. */
  private crossBusyStretch(mother: Individual, father: Individual): void {
    const { model, random, group, child } = this;
    const list = father.list;
    const first = father.start[list[0]!]!;
    const span = spanOf(father, model.length) - first;
    let from = first;
    let to = first;
    let busiest = -1;
    for (let k = 0; k < 3; k++) {
      const width = 1 + Math.floor(span * (0.2 + 0.4 * random.next()));
      const begin = first + random.below(Math.max(1, span - width));
      let work = 0;
      for (let m = 0; m < list.length; m++) {
        const i = list[m]!;
        const overlap = Math.min(begin + width, father.start[i]! + model.length[i]!) - Math.max(begin, father.start[i]!);
        if (overlap > 0) work += (overlap / model.length[i]!) * model.work[i]!;
      }
      if (work / width > busiest) {
        busiest = work / width;
        from = begin;
        to = begin + width;
      }
    }
    const middle = (from + to) / 2;
    for (let k = 0; k < list.length; k++) {
      const i = list[k]!;
      group[i] = father.start[i]! >= from && father.start[i]! < to ? 1 : mother.start[i]! < middle ? 0 : 2;
    }
    let filled = this.take(mother.list, 0, 0);
    filled = this.take(list, 1, filled);
    this.take(mother.list, 2, filled);
    this.repair(child);
  }

  /** Child: one parent's order with the tasks of one stretch of time in random order. */
  private shuffleStretch(parent: Individual): void {
    const { model, random, group, child } = this;
    const list = parent.list;
    const first = parent.start[list[0]!]!;
    const span = spanOf(parent, model.length) - first;
    const width = 1 + Math.floor(span * (0.1 + 0.3 * random.next()));
    const from = first + random.below(Math.max(1, span - width + 1));
    for (let k = 0; k < list.length; k++) {
      const i = list[k]!;
      const s = parent.start[i]!;
      group[i] = s + model.length[i]! > from && s < from + width ? 1 : s < from ? 0 : 2;
    }
    const begin = this.take(list, 0, 0);
    const end = this.take(list, 1, begin);
    this.take(list, 2, end);
    for (let k = end - 1; k > begin; k--) {
      const other = begin + random.below(k - begin + 1);
      const i = child[k]!;
      child[k] = child[other]!;
      child[other] = i;
    }
    this.repair(child);
  }

  private take(list: Int32Array, wanted: number, filled: number): number {
    const { child, group } = this;
    for (let k = 0; k < list.length; k++) if (group[list[k]!] === wanted) child[filled++] = list[k]!;
    return filled;
  }

  /** Moves one random task of the child to a random place that keeps its predecessors before it and its followers after. */
  private moveOne(): void {
    const { child, model, random } = this;
    const k = random.below(child.length);
    const i = child[k]!;
    const before = model.before[i]!;
    const after = model.after[i]!;
    let low = k;
    let high = k;
    while (low > 0 && !before.includes(child[low - 1]!)) low--;
    while (high < child.length - 1 && !after.includes(child[high + 1]!)) high++;
    const to = low + random.below(high - low + 1);
    if (to < k) child.copyWithin(to + 1, to, k);
    else child.copyWithin(k, k + 1, to + 1);
    child[to] = i;
  }

  /** A random list, urgent tasks likelier first (regret-based biased random sampling, Kolisch 1996). */
  private sample(): void {
    const { model, random, missing, child } = this;
    const ready: number[] = [];
    for (const i of model.free) {
      missing[i] = model.before[i]!.length;
      if (missing[i] === 0) ready.push(i);
    }
    const floor = this.chanceForAll();
    for (let filled = 0; ready.length > 0; filled++) {
      let last = -Infinity;
      for (const i of ready) last = Math.max(last, model.urgency[i]!);
      let total = 0;
      for (const i of ready) total += (last - model.urgency[i]! + floor) ** 2;
      let draw = random.next() * total;
      let k = 0;
      for (; k < ready.length - 1; k++) {
        draw -= (last - model.urgency[ready[k]!]! + floor) ** 2;
        if (draw < 0) break;
      }
      const i = ready[k]!;
      ready.splice(k, 1);
      child[filled] = i;
      for (const j of model.after[i]!) if (--missing[j]! === 0) ready.push(j);
    }
  }

  /** Regret that even the least urgent task gets: a fifth of the mean length. */
  private chanceForAll(): number {
    let sum = 0;
    for (const i of this.model.free) sum += this.model.length[i]!;
    return Math.max(1, sum / (5 * this.model.free.length));
  }

  /** Moves each task of `list` behind its predecessors, otherwise keeping the order. */
  private repair(list: Int32Array): void {
    const { placed, scratch, model } = this;
    placed.fill(0);
    let filled = 0;
    const put = (i: number): void => {
      placed[i] = 1;
      const before = model.before[i]!;
      for (let k = 0; k < before.length; k++) if (placed[before[k]!] === 0) put(before[k]!);
      scratch[filled++] = i;
    };
    for (let k = 0; k < list.length; k++) if (placed[list[k]!] === 0) put(list[k]!);
    list.set(scratch);
  }

  private randomNear(): Uint8Array | null {
    const { choices, before } = this.model;
    if (choices.length === 0) return null;
    const near = new Uint8Array(Math.max(before.length, choices.at(-1)! + 1));
    for (const l of choices) near[l] = this.random.next() < 0.5 ? 1 : 0;
    return near;
  }

  /** Each choice from either parent; now and then one is turned round. */
  private mixNear(mother: Individual, father: Individual): Uint8Array | null {
    const { choices } = this.model;
    if (choices.length === 0 || !mother.near || !father.near) return this.randomNear();
    const near = mother.near.slice();
    for (const l of choices) {
      if (this.random.next() < 0.5) near[l] = father.near[l]!;
      if (this.random.next() < 0.5 / choices.length) near[l] = 1 - near[l]!;
    }
    return near;
  }
}

/** Finish of the last task, tasks without a place aside. */
function spanOf(individual: Individual, length: Int32Array): number {
  let end = 0;
  for (let k = 0; k < individual.list.length; k++) {
    const i = individual.list[k]!;
    if (individual.start[i]! < 2 ** 30) end = Math.max(end, individual.start[i]! + length[i]!);
  }
  return end;
}

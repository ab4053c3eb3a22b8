import { last, required } from '../../look-up.js';
import type { Random } from '../../statistics/random.js';
import { compareRank, hashOf, type Individual, type Model } from './model.js';
import { OffspringBuilder } from './offspring-builder.js';

// Settings found by experiment on PSPLIB at 5,000 schedules.
const POPULATION = (tasks: number): number => Math.min(40, 8 + Math.round(0.4 * tasks));
/**
 * Share of children by shuffling, and tasks moved in the others: small projects need more stirring, large ones are
 * spoilt by it.
 */
const SHUFFLE_SHARE = (tasks: number): number => Math.max(0.15, Math.min(0.4, 18 / tasks));
const SHIFTS = (tasks: number): number => Math.max(2, Math.min(5, Math.round(2 + 90 / tasks)));
/** Share of moves that take a whole job, where there are jobs. */
const GROUP_SHARE = 0.3;
/**
 * Schedules before the exact search begins, and its shares of all that follows: in windows of known schedules, and in
 * refuting anything better. By experiment on PSPLIB.
 */
const EXACT_FROM = (tasks: number): number => 1.5 * tasks * tasks;
const WINDOW_SHARE = (tasks: number): number => Math.max(0.6, Math.min(0.8, tasks / 150));
const REFUTE_SHARE = (tasks: number): number => Math.min(0.3, 12 / tasks);
/** The most that one step of the exact search may cost, in schedules. */
const EXACT_STEP = 1000;
/** Children in a row that bring no progress before a fresh population is drawn; the best one is kept aside. */
const PATIENCE = 150;

/**
 * A steady-state genetic algorithm over priority lists, every child improved by double justification, in the line of
 * Hartmann (1998, Naval Research Logistics 45:733–750) and the hybrid of Valls, Ballestín & Quintanilla (2008, EJOR
 * 185:495–508), whose peak crossover takes a busy stretch of one parent whole. Added here: moving single tasks to a
 * random place between their neighbours in precedence, moving all tasks of a job, shuffling the tasks of one stretch of
 * time (as large neighbourhood search does), and a fresh population when progress stops.
 */
export class Evolution {
  private population: Individual[] = [];
  private readonly offspring: OffspringBuilder;
  private readonly size: number;
  private toSeed: number;
  /** Hashes of the lists built in this population. */
  private readonly known = new Set<number>();
  private stale = 0;
  /** Schedules' worth spent by the exact search. */
  private spentOnRefuting = 0;
  private spentOnWindows = 0;
  private readonly shuffleShare: number;
  private readonly shifts: number;
  private model: Model;
  private turn = 0;
  /** The best schedule so far. */
  best: Individual | undefined;
  /** True when the best one is proven to be so. */
  solved = false;

  /**
   * @param models the problem, and perhaps the same seen backwards: fresh populations take turns, since what is hard to
   *   build up from one end may be easy from the other. @param given lists for the first model to start from, best guess first.
   */
  constructor(
    private readonly models: readonly Model[],
    private readonly random: Random,
    private readonly given: { list: Int32Array; firstWindow: Uint8Array | null }[] = [],
  ) {
    const model = models[0]!;
    this.model = model;
    this.offspring = new OffspringBuilder(model, random);
    this.size = POPULATION(model.free.length);
    this.toSeed = this.size;
    this.shuffleShare = SHUFFLE_SHARE(model.free.length);
    this.shifts = SHIFTS(model.free.length);
  }

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
    const { random, offspring } = this;
    const { child } = offspring;
    const room = schedules - this.perStep;
    while (!this.solved && this.schedules <= room) {
      if (this.stale >= PATIENCE) {
        this.model = offspring.model = this.models[++this.turn % this.models.length]!;
        this.population.length = 0;
        this.known.clear();
        this.model.forget();
        this.stale = 0;
        this.toSeed = this.size;
      }
      if (this.exactStep(schedules)) continue;
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
      if (random.next() < this.shuffleShare) this.offspring.shuffleStretch(random.next() < 0.5 ? mother : father);
      else {
        this.offspring.crossBusyStretch(mother, father);
        for (let k = 0; k < this.shifts; k++) {
          if (this.model.groups > 1 && random.next() < GROUP_SHARE) this.offspring.moveGroup();
          else this.offspring.moveOne();
        }
      }
      const firstWindow = this.mixFirstWindow(mother, father);
      // What was built before is stirred once more rather than built again.
      for (let k = 0; k < 4 && this.isKnown(firstWindow); k++) this.offspring.moveOne();
      this.insert(model.build(child, firstWindow, required(this.best, 'best schedule').rank));
    }
  }

  /** Lets the exact search have its share; false when it is not its turn. */
  private exactStep(schedules: number): boolean {
    const { exact } = this.model;
    const { exact: forwards } = this.models[0]!;
    const most = Math.min(EXACT_STEP, schedules - this.schedules) - this.perStep;
    const tasks = this.model.free.length;
    const since = this.schedules - EXACT_FROM(tasks);
    if (!exact || !forwards || since < 0 || most < EXACT_STEP / 10) return false;
    const before = this.schedules;
    if (this.spentOnRefuting <= REFUTE_SHARE(tasks) * since) {
      const found = forwards.refute(required(this.best, 'best schedule').rank, most);
      this.spentOnRefuting += this.schedules - before + 1;
      if (found === true) this.solved = true;
      else if (found) this.adopt(found);
      return true;
    }
    if (this.toSeed > 0 || this.spentOnWindows > WINDOW_SHARE(tasks) * since) return false;
    const better = exact.improve(this.population[this.random.below(this.population.length)]!, this.random, most);
    this.spentOnWindows += this.schedules - before + 1;
    if (better) this.insert(better);
    return true;
  }

  /** Takes in a schedule of the first model. */
  private adopt(individual: Individual): void {
    if (this.model === this.models[0]) this.insert(individual);
    else if (compareRank(individual.rank, required(this.best, 'best schedule').rank) < 0) {
      this.best = individual;
      this.solved ||= this.model.isOptimal(individual.rank);
    }
  }

  /** Whether the child was built before; if not, it counts as built from now on. */
  private isKnown(firstWindow: Uint8Array | null): boolean {
    let hash = hashOf(this.offspring.child);
    if (firstWindow) for (const l of this.model.choices) hash = (Math.imul(hash, 31) + firstWindow[l]!) | 0;
    if (this.known.has(hash)) return true;
    this.known.add(hash);
    return false;
  }

  private seedOne(): void {
    const given = this.given.shift();
    if (given) this.insert(this.model.build(given.list, given.firstWindow));
    else {
      if (this.model.groups > 1 && this.toSeed % 2 === 1) this.offspring.sampleByGroup();
      else this.offspring.sample();
      this.insert(this.model.build(this.offspring.child, this.randomFirstWindow()));
    }
  }

  /** Takes in a schedule (null: not worth justifying) unless it is known, or the population full and it is worse than all. */
  private insert(individual: Individual | null): void {
    if (!individual) {
      this.stale++;
      return;
    }
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
    const progress = population.length === 0 || compareRank(individual.rank, last(population).rank) < 0;
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

  private randomFirstWindow(): Uint8Array | null {
    const { choices } = this.model;
    if (choices.length === 0) return null;
    const firstWindow = new Uint8Array(last(choices) + 1);
    for (const l of choices) firstWindow[l] = this.random.next() < 0.5 ? 1 : 0;
    return firstWindow;
  }

  /** Each choice from either parent; now and then one is turned round. */
  private mixFirstWindow(mother: Individual, father: Individual): Uint8Array | null {
    const { choices } = this.model;
    if (choices.length === 0 || !mother.firstWindow || !father.firstWindow) return this.randomFirstWindow();
    const firstWindow = mother.firstWindow.slice();
    for (const l of choices) {
      if (this.random.next() < 0.5) firstWindow[l] = father.firstWindow[l]!;
      if (this.random.next() < 0.5 / choices.length) firstWindow[l] = 1 - firstWindow[l]!;
    }
    return firstWindow;
  }
}

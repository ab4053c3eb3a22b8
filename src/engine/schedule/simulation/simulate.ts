import type { AgeTable } from '../../cure/age-table.js';
import { EngineError } from '../../error.js';
import { keyOf, uniformFor } from '../../statistics/random.js';
import { firstList, listFromIds } from '../generation/priority-list.js';
import { firstWindowLinks, type Order } from '../generation/schedule.js';
import { ScheduleGenerator } from '../generation/schedule-generator.js';
import { compile, type Compiled, type Conditions, NEVER, weatherCalendars, withCalendar } from '../problem/compile.js';
import { Objective } from '../problem/objective.js';
import type { Problem, Resource, WeatherSet } from '../problem/problem.js';
import { ChainCounter } from './critical-chain.js';
import { type ScheduledRecords, summarise } from './forecast.js';
import { type LengthModel, LengthSampler } from './lengths.js';
import { type LearntLength, LuckSampler, type SharedLuck } from './luck.js';

/** Something that must have come before some tasks can start: a part in the post. */
export interface Arrival {
  id: string;
  taskIds: string[];
  /** Equally likely arrivals, minutes since the origin. */
  minutes: number[];
}

/** A date that is itself uncertain, such as the first snow less a margin. */
export interface Deadline {
  id: string;
  /** Equally likely minutes; Infinity where the event never comes. */
  minutes: number[];
  /** True: entry k belongs to weather year k, so that an early winter also has the paint weather it had. */
  byWeatherYear?: boolean;
}

export interface SimulationInput {
  problem: Problem;
  /** The plan's order, replayed in every scenario. */
  order?: Partial<Order>;
  scenarios: number;
  seed: number;
  /** By task id; tasks without keep `durationMinutes`. */
  lengths?: Record<string, LengthModel>;
  /** What the lengths that are learnt or found draw from. */
  luck?: SharedLuck;
  /** Courses that resources' calendars may take, each as likely as the others: people fall ill. Course k is one for all of them. */
  calendars?: { resourceId: string; samples: Pick<Resource, 'calendar' | 'reductions'>[] }[];
  arrivals?: Arrival[];
  /** Sampled years: in each scenario one of them takes the place of `problem.weather`. */
  weatherYears?: WeatherSet[][];
  /** Of each weather year, the tables that take the place of `problem.clocks`, in their order. */
  clockYears?: AgeTable[][];
  deadlines?: Deadline[];
  /** Minutes for which each job's chance of being finished is wanted. */
  dates?: number[];
  /** Called every hundred scenarios; return false to stop. */
  onProgress?: (done: number) => boolean | void;
}

/**
 * Replays a priority list under sampled lengths, arrivals and weather. Each thing draws its own random number per scenario
 * from the seed and its id, so two simulations that differ in one job see the same luck everywhere else.
 *
 * The list is replayed by serial generation, which looks ahead: a task far down the list may fill a gap before an earlier
 * one whose end it could not yet know. A task already under way takes what is left, given that it has taken so long.
 * @throws EngineError as `compile`; `unknown-id`, `invalid-number`, `invalid-estimate` for the models; `cancelled`.
 */
export function simulate(input: SimulationInput): ScheduledRecords {
  const { scenarios, seed } = input;
  if (!Number.isInteger(scenarios) || scenarios < 1)
    throw new EngineError('invalid-number', 'scenarios must be a whole number of at least 1', 'scenarios');
  const compiled = compile(input.problem);
  const list = input.order?.taskIds ? listFromIds(compiled, input.order.taskIds) : firstList(compiled);
  const firstWindow = input.order?.firstWindow?.length ? firstWindowLinks(compiled, input.order.firstWindow) : null;
  const objective = new Objective(compiled);
  const sampling = new Sampling(compiled, input);
  const generators = sampling.variants.map((variant) => new ScheduleGenerator(variant));
  const generator = new ScheduleGenerator(compiled);
  const chains = new ChainCounter(generator, objective);
  const jobs = objective.jobIds.length;
  const finishes = Array.from({ length: jobs }, () => new Int32Array(scenarios));
  const makespans = new Int32Array(scenarios);
  const starts = new Int32Array(scenarios * compiled.count);
  for (let s = 0; s < scenarios; s++) {
    const conditions = sampling.draw(s);
    const generator = generators[sampling.variant]!;
    generator.serial(list, conditions, firstWindow);
    const jobFinish = objective.finishes(generator.finish);
    for (let j = 0; j < jobs; j++) finishes[j]![s] = Math.max(-NEVER, jobFinish[j]!);
    starts.set(generator.start, s * compiled.count);
    for (let i = 0; i < compiled.count; i++)
      if (generator.finish[i]! > makespans[s]!) makespans[s] = generator.finish[i]!;
    chains.count(generator);
    if (s % 100 === 99 && input.onProgress?.(s + 1) === false)
      throw new EngineError('cancelled', `Stopped after ${s + 1} of ${scenarios} scenarios`);
  }
  const deadlines = (input.deadlines ?? []).map((deadline) => ({
    id: deadline.id,
    minutes: sampling.deadline(deadline),
  }));
  return summarise({
    compiled,
    objective,
    chains,
    scenarios,
    seed,
    finishes,
    makespans,
    starts,
    deadlines,
    dates: input.dates ?? [],
  });
}

const COURSES_A_YEAR = 7;

/** Draws the conditions of one scenario after another. */
class Sampling {
  private readonly conditions: Conditions;
  private readonly release: Int32Array;
  private readonly lengths: { task: number; key: number; sampler: LengthSampler; done: number }[] = [];
  private readonly arrivals: { key: number; tasks: number[]; minutes: number[] }[] = [];
  private readonly luck: LuckSampler | null;
  private readonly drawn: { task: number; key: number; learnt: (uniform: number) => number }[] = [];
  private readonly found: { task: number; minutes: () => number }[] = [];
  /** The problem on each course of the calendars; itself where there is only one. */
  readonly variants: Compiled[];
  /** The course of the present scenario. */
  variant = 0;
  /** By course and year, made when first needed. */
  private readonly years: (Pick<Conditions, 'working' | 'windows'> | undefined)[][];

  constructor(
    private readonly compiled: Compiled,
    private readonly input: SimulationInput,
  ) {
    const { conditions } = compiled;
    this.release = conditions.release;
    // What is planned is what people go by; conditions are drawn into a copy.
    this.conditions = {
      ...conditions,
      duration: conditions.duration.slice(),
      release: conditions.release.slice(),
      judged: conditions.duration,
    };
    const learnt = Object.values(input.lengths ?? {}).filter((one): one is LearntLength => one.kind === 'learnt');
    this.luck = input.luck ? new LuckSampler(input.luck, input.seed, learnt) : null;
    const courses = input.calendars ?? [];
    this.variants = Array.from({ length: Math.max(1, courses[0]?.samples.length ?? 0) }, (_, k) =>
      courses.reduce(
        (course, { resourceId, samples }) => (samples[k] ? withCalendar(course, resourceId, samples[k]) : course),
        compiled,
      ),
    );
    this.years = this.variants.map(() => []);
    const lengths = Object.entries(input.lengths ?? {}).sort(([a], [b]) => (a < b ? -1 : 1));
    for (const [id, model] of lengths) {
      const task = this.task(id, `lengths.${id}`);
      if (model.kind === 'learnt' || model.kind === 'found') {
        if (!this.luck) throw new EngineError('invalid-estimate', `lengths.${id} needs the shop's luck`, 'luck');
        if (compiled.tasks[task]!.fixed?.finishMinutes !== undefined) continue;
        if (model.kind === 'found') this.found.push({ task, minutes: this.luck.found(model) });
        else this.drawn.push({ task, key: keyOf(`length ${id}`), learnt: this.luck.learnt(model) });
        continue;
      }
      const sampler = LengthSampler.of(model, `lengths.${id}`);
      if (compiled.tasks[task]!.fixed?.finishMinutes !== undefined) continue;
      this.lengths.push({ task, key: keyOf(`length ${id}`), sampler, done: sampler.below(this.workedSoFar(task)) });
    }
    for (const arrival of input.arrivals ?? []) {
      if (arrival.minutes.length === 0)
        throw new EngineError('invalid-number', `Arrival ${arrival.id} has no samples`, `arrivals.${arrival.id}`);
      this.arrivals.push({
        key: keyOf(`arrival ${arrival.id}`),
        tasks: arrival.taskIds.map((id) => this.task(id, `arrivals.${arrival.id}`)),
        minutes: [...arrival.minutes].sort((a, b) => a - b),
      });
    }
    const years = input.weatherYears?.length ?? 0;
    if (input.clockYears && input.clockYears.length !== years)
      throw new EngineError('invalid-number', 'clockYears must have one entry for each weather year', 'clockYears');
  }

  draw(scenario: number): Conditions {
    const { conditions, input, compiled } = this;
    this.variant = this.courseOf(scenario);
    if (this.luck) {
      this.luck.begin(scenario);
      for (const { task, key, learnt } of this.drawn)
        conditions.duration[task] = Math.max(1, Math.round(learnt(uniformFor(input.seed, key, scenario))));
      for (const { task, minutes } of this.found) conditions.duration[task] = Math.round(minutes());
    }
    for (const { task, key, sampler, done } of this.lengths) {
      const u = uniformFor(input.seed, key, scenario);
      conditions.duration[task] = Math.round(sampler.quantile(done + u * (1 - done)));
    }
    conditions.release.set(this.release);
    for (const { key, tasks, minutes } of this.arrivals) {
      const u = uniformFor(input.seed, key, scenario);
      const minute = Math.min(compiled.horizon + 1, Math.ceil(minutes[Math.floor(u * minutes.length)]!));
      for (const task of tasks) if (minute > conditions.release[task]!) conditions.release[task] = minute;
    }
    const { working, windows } = this.calendars(scenario);
    conditions.working = working;
    conditions.windows = windows;
    if (input.clockYears?.length) conditions.clocks = input.clockYears[this.year(scenario)]!;
    return conditions;
  }

  /** Working times and windows of the scenario's course and year. */
  private calendars(scenario: number): Pick<Conditions, 'working' | 'windows'> {
    const { weatherYears = [] } = this.input;
    const variant = this.variants[this.variant]!;
    if (weatherYears.length === 0) return variant.conditions;
    const year = this.year(scenario);
    return (this.years[this.variant]![year] ??= weatherCalendars(
      variant.tasks,
      variant.taskCalendar,
      weatherYears[year]!,
    ));
  }

  /** The deadline of every scenario. */
  deadline({ id, minutes, byWeatherYear }: Deadline): Float64Array {
    if (minutes.length === 0)
      throw new EngineError('invalid-number', `Deadline ${id} has no samples`, `deadlines.${id}`);
    if (byWeatherYear && minutes.length !== this.yearCount) {
      throw new EngineError(
        'invalid-number',
        `Deadline ${id} has ${minutes.length} entries for ${this.yearCount} weather years`,
        `deadlines.${id}`,
      );
    }
    const sorted = byWeatherYear ? minutes : [...minutes].sort((a, b) => a - b);
    const key = keyOf(`deadline ${id}`);
    return Float64Array.from(
      { length: this.input.scenarios },
      (_, s) => sorted[byWeatherYear ? this.year(s) : Math.floor(uniformFor(this.input.seed, key, s) * sorted.length)]!,
    );
  }

  private year(scenario: number): number {
    return Math.floor(uniformFor(this.input.seed, keyOf('weather year'), scenario) * this.yearCount);
  }

  /** Each year meets a few of the courses, another few each: together they are many, and few calendars have to be made. */
  private courseOf(scenario: number): number {
    const count = this.variants.length;
    return this.yearCount === 0
      ? scenario % count
      : (COURSES_A_YEAR * this.year(scenario) + (scenario % COURSES_A_YEAR)) % count;
  }

  private get yearCount(): number {
    return this.input.weatherYears?.length ?? 0;
  }

  /** Minutes a task under way has been worked on until now; 0 for others. */
  private workedSoFar(i: number): number {
    const { tasks, now, pausable, taskCalendar } = this.compiled;
    const fixed = tasks[i]!.fixed;
    if (!fixed || fixed.startMinutes >= now) return 0;
    const calendar = pausable[i] ? taskCalendar[i] : null;
    return calendar ? calendar.openBefore(now) - calendar.openBefore(fixed.startMinutes) : now - fixed.startMinutes;
  }

  private task(id: string, path: string): number {
    const i = this.compiled.indexOf.get(id);
    if (i === undefined) throw new EngineError('unknown-id', `There is no task ${id}`, path);
    return i;
  }
}

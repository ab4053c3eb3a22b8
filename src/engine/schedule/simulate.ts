import { EngineError } from '../error.js';
import { ChainCounter } from './chain.js';
import { compile, type Compiled, type Conditions, NEVER, weatherCalendars } from './compile.js';
import { type ScheduledRecords, summarise } from './forecast.js';
import { ScheduleGenerator } from './generate.js';
import { type LengthModel, LengthSampler } from './lengths.js';
import { firstList, listFromIds } from './list.js';
import { Objective } from './objective.js';
import type { Problem, WeatherSet } from './problem.js';
import { keyOf, uniformFor } from './random.js';
import { nearLinks, type Order } from './schedule.js';

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
  arrivals?: Arrival[];
  /** Sampled years: in each scenario one of them takes the place of `problem.weather`. */
  weatherYears?: WeatherSet[][];
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
  const near = input.order?.near?.length ? nearLinks(compiled, input.order.near) : null;
  const generator = new ScheduleGenerator(compiled);
  const objective = new Objective(compiled);
  const sampling = new Sampling(compiled, input);
  const chains = new ChainCounter(generator, objective);
  const jobs = objective.jobIds.length;
  const finishes = Array.from({ length: jobs }, () => new Int32Array(scenarios));
  const makespans = new Int32Array(scenarios);
  const starts = new Int32Array(scenarios * compiled.count);
  for (let s = 0; s < scenarios; s++) {
    const conditions = sampling.draw(s);
    generator.serial(list, conditions, near);
    const jobFinish = objective.finishes(generator.finish);
    for (let j = 0; j < jobs; j++) finishes[j]![s] = Math.max(-NEVER, jobFinish[j]!);
    starts.set(generator.start, s * compiled.count);
    for (let i = 0; i < compiled.count; i++)
      if (generator.finish[i]! > makespans[s]!) makespans[s] = generator.finish[i]!;
    chains.count();
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

/** Draws the conditions of one scenario after another. */
class Sampling {
  private readonly conditions: Conditions;
  private readonly release: Int32Array;
  private readonly lengths: { task: number; key: number; sampler: LengthSampler; done: number }[] = [];
  private readonly arrivals: { key: number; tasks: number[]; minutes: number[] }[] = [];
  private readonly years: Pick<Conditions, 'working' | 'windows'>[] = [];

  constructor(
    private readonly compiled: Compiled,
    private readonly input: SimulationInput,
  ) {
    const { conditions } = compiled;
    this.release = conditions.release;
    this.conditions = { ...conditions, duration: conditions.duration.slice(), release: conditions.release.slice() };
    for (const id of Object.keys(input.lengths ?? {}).sort()) {
      const task = this.task(id, `lengths.${id}`);
      const sampler = LengthSampler.of(input.lengths![id]!, `lengths.${id}`);
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
    for (const year of input.weatherYears ?? [])
      this.years.push(weatherCalendars(compiled.tasks, compiled.taskCalendar, year));
  }

  draw(scenario: number): Conditions {
    const { conditions, input, compiled } = this;
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
    if (this.years.length > 0) {
      const { working, windows } = this.years[this.year(scenario)]!;
      conditions.working = working;
      conditions.windows = windows;
    }
    return conditions;
  }

  /** The deadline of every scenario. */
  deadline({ id, minutes, byWeatherYear }: Deadline): Float64Array {
    if (minutes.length === 0)
      throw new EngineError('invalid-number', `Deadline ${id} has no samples`, `deadlines.${id}`);
    if (byWeatherYear && minutes.length !== this.years.length) {
      throw new EngineError(
        'invalid-number',
        `Deadline ${id} has ${minutes.length} entries for ${this.years.length} weather years`,
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
    return Math.floor(uniformFor(this.input.seed, keyOf('weather year'), scenario) * this.years.length);
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

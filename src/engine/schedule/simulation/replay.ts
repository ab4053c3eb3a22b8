import { EngineError } from '../../error.js';
import { firstList, listFromIds, orderBy } from '../generation/priority-list.js';
import { firstWindowLinks, type Order } from '../generation/schedule.js';
import { ScheduleGenerator } from '../generation/schedule-generator.js';
import { compile, type Compiled, type Conditions, NEVER } from '../problem/compile.js';
import { Objective } from '../problem/objective.js';
import { Sampling, type SimulationInput } from './simulate.js';

/** A list of work that may leave jobs out. */
export interface ReplayList {
  list: Int32Array;
  firstWindow: Uint8Array | null;
}

/** What one future makes of a list; by job, in the order of `jobIds`. */
export interface ReplayedFuture {
  /** Minute at which each job is finished; `NEVER` for one that is not, or was left out. */
  finish: Float64Array;
  /** Minute at which the first of its tasks that has not begun starts; `NEVER` likewise, the present where all have begun. */
  start: Float64Array;
}

type Future = Conditions & { variant: number };

/**
 * The futures of a problem, drawn once, and any list replayed in any of them: for comparing sets of jobs and orders of work
 * with the same luck. A job that is left out takes nothing from the others, and since serial generation never moves what
 * was placed before, those of a list are where they would be were the others not in the problem at all.
 */
export class Replay {
  readonly jobIds: readonly string[];
  readonly indexOf: ReadonlyMap<string, number>;
  private readonly compiled: Compiled;
  private readonly objective: Objective;
  private readonly sampling: Sampling;
  private readonly generators: (ScheduleGenerator | undefined)[];
  private readonly futures: Future[] = [];
  private readonly tasksOfJob: number[][];
  /** People each task takes, for the minutes of own work. */
  private readonly peopleOf: Int32Array;

  /** @throws EngineError as `simulate` */
  constructor(
    private readonly input: Omit<SimulationInput, 'order' | 'onProgress' | 'dates'>,
    peopleId = 'people',
  ) {
    this.compiled = compile(input.problem);
    this.objective = new Objective(this.compiled);
    this.sampling = new Sampling(this.compiled, input);
    this.generators = this.sampling.variants.map(() => undefined);
    this.jobIds = this.objective.jobIds;
    this.indexOf = new Map(this.jobIds.map((id, index) => [id, index]));
    const { compiled } = this;
    this.tasksOfJob = this.jobIds.map(() => []);
    for (let i = 0; i < compiled.count; i++)
      if (this.objective.jobOf[i]! >= 0) this.tasksOfJob[this.objective.jobOf[i]!]!.push(i);
    this.peopleOf = Int32Array.from(
      compiled.tasks,
      (task) => task.demands.find((demand) => demand.resourceId === peopleId)?.amount ?? 0,
    );
  }

  /** The list of an order, with the tasks of some jobs alone (and those of none); all of them when left out. */
  listOf(order: Partial<Order> | null, jobIds: ReadonlySet<string> | null = null): ReplayList {
    const { compiled } = this;
    return {
      list: this.only(order?.taskIds ? listFromIds(compiled, order.taskIds) : firstList(compiled), jobIds),
      firstWindow: order?.firstWindow?.length ? firstWindowLinks(compiled, order.firstWindow) : null,
    };
  }

  /**
   * A list that goes through groups of jobs in turn, within a group as the order has it.
   * @param groups of job ids; what is not named is left out
   */
  listByGroup(groups: readonly (readonly string[])[], order: Partial<Order> | null = null): ReplayList {
    const rank = new Float64Array(this.jobIds.length).fill(groups.length);
    groups.forEach((ids, k) => ids.forEach((id) => (rank[this.job(id)] = k)));
    const { jobOf } = this.objective;
    const within = new Float64Array(this.compiled.count);
    const given = this.listOf(order);
    given.list.forEach((i, k) => (within[i] = k));
    const rankOf = (i: number): number => (jobOf[i]! < 0 ? -1 : rank[jobOf[i]!]!);
    const list = orderBy(this.compiled, (a, b) => rankOf(a) - rankOf(b) || within[a]! - within[b]!);
    return { list: this.only(list, new Set(groups.flat())), firstWindow: given.firstWindow };
  }

  /** @param future 0 and up; the same one has the same luck whatever the list. The answer is overwritten by the next call. */
  run({ list, firstWindow }: ReplayList, future: number): ReplayedFuture {
    const conditions = this.future(future);
    const generator = (this.generators[conditions.variant] ??= new ScheduleGenerator(
      this.sampling.variants[conditions.variant]!,
    ));
    // What is left out keeps what an earlier list gave it.
    for (const i of this.compiled.free) generator.start[i] = generator.finish[i] = NEVER;
    generator.serial(list, conditions, firstWindow);
    const finish = this.objective.finishes(generator.finish).map((minute) => (minute === -Infinity ? NEVER : minute));
    const start = new Float64Array(this.jobIds.length).fill(NEVER);
    const { now, isFixed } = this.compiled;
    this.tasksOfJob.forEach((tasks, j) => {
      for (const i of tasks) {
        const at = isFixed[i] ? (generator.finish[i]! > now ? now : NEVER) : generator.start[i]!;
        if (at < start[j]!) start[j] = at;
      }
    });
    return { finish, start };
  }

  /** Minutes of own work, person by person, that each job still takes in a future; what has begun counts with what is left. */
  workMinutes(future: number): Float64Array {
    const { duration } = this.future(future);
    const { tasks } = this.compiled;
    return Float64Array.from(this.tasksOfJob, (own) =>
      own.reduce((sum, i) => sum + (tasks[i]!.fixed ? 0 : duration[i]! * this.peopleOf[i]!), 0),
    );
  }

  /** The minute of a deadline in each future. */
  deadline(id: string): Float64Array {
    const deadline = this.input.deadlines?.find((one) => one.id === id);
    if (!deadline) throw new EngineError('unknown-id', `There is no deadline ${id}`, 'deadlines');
    return this.sampling.deadline(deadline);
  }

  private future(index: number): Future {
    let known = this.futures[index];
    if (!known) {
      const drawn = this.sampling.draw(index);
      known = this.futures[index] = {
        ...drawn,
        duration: drawn.duration.slice(),
        release: drawn.release.slice(),
        variant: this.sampling.variant,
      };
    }
    return known;
  }

  private only(list: Int32Array, jobIds: ReadonlySet<string> | null): Int32Array {
    if (!jobIds) return list;
    const { jobOf } = this.objective;
    return list.filter((i) => jobOf[i]! < 0 || jobIds.has(this.jobIds[jobOf[i]!]!));
  }

  private job(id: string): number {
    const index = this.indexOf.get(id);
    if (index === undefined) throw new EngineError('unknown-id', `There is no job ${id}`, 'jobIds');
    return index;
  }
}

import type { AgeTable } from '../../cure/age-table.js';
import { MAX_MINUTES } from '../../days.js';
import { EngineError } from '../../error.js';

/**
 * What is to be scheduled. Every time is a whole number of minutes since an origin the caller chooses
 * (the shop's local midnight of the first planned day, say); every interval is `[start, end)` unless said otherwise.
 */
export interface Problem {
  /** Nothing may finish after this minute. */
  horizonMinutes: number;
  /** Nothing that is not yet started may start before this minute; 0 when absent. */
  nowMinutes?: number;
  resources: Resource[];
  tasks: Task[];
  jobs?: Job[];
  /** Named sets of minutes in which weather-bound tasks may run; a simulation swaps whole sets by sampled year. */
  weather?: WeatherSet[];
  /** How fast coats age where they stand; a simulation swaps the tables by sampled year. */
  clocks?: PaintClock[];
}

/** How a product ages at a place. */
export interface PaintClock {
  id: string;
  table: AgeTable;
}

/** A stretch of a coat's equivalent age; both ends are inside. */
export interface AgeWindow {
  fromMinutes: number;
  /** No end when null or absent. */
  toMinutes?: number | null;
}

/** How old a coat was at a minute, where its own temperatures are known better than the clock's table has them. */
export interface KnownAge {
  atMinutes: number;
  dryingMinutes: number;
  closingMinutes: number;
}

/** `[startMinutes, endMinutes)`. */
export interface Interval {
  startMinutes: number;
  endMinutes: number;
}

export interface Resource {
  id: string;
  /** Whole units available at once: two people, one bench, six rack places. */
  capacity: number;
  /** Sorted, disjoint open intervals; absent means always open (a rack, a bench that keeps its machine overnight). */
  calendar?: Interval[];
  /**
   * Times when fewer units are there (one of two people away); they add up where they overlap. Unlike at closing time, a
   * pausable task does not wait such a time out: it runs where enough is left.
   */
  reductions?: (Interval & { amount: number })[];
}

export interface WeatherSet {
  id: string;
  /** Sorted, disjoint. */
  windows: Interval[];
}

export interface Demand {
  resourceId: string;
  amount: number;
}

export interface Predecessor {
  taskId: string;
  /** Least minutes from the predecessor's finish to this task's start. */
  minWaitMinutes: number;
  /** Minutes elapsed since the predecessor's finish in which this task may not start; both ends are allowed. */
  forbidden?: { fromMinutes: number; toMinutes: number }[];
  /** The predecessor is a coat: this task starts while the coat's age lies in one of the windows, in order; besides the above. */
  ages?: { clockId: string; windows: AgeWindow[]; known?: KnownAge };
  /**
   * Most minutes from the predecessor's finish to this task's start, kept where possible: the predecessor is delayed for
   * it. Not together with `forbidden` or `ages`.
   */
  maxWaitMinutes?: number;
}

/** Tasks of the two sides of a group never overlap, such as what makes sparks and what gives off vapour in one room. */
export interface Exclusion {
  groupId: string;
  side: 'first' | 'second';
  /** How long the task counts beyond its finish; 0 when absent. */
  tailMinutes?: number;
}

export interface Task {
  id: string;
  jobId?: string;
  /** Minutes of work in open hours if `pausable`, else minutes from start to finish. */
  durationMinutes: number;
  demands: Demand[];
  /** Earliest start: the parts it needs have come. */
  releaseMinutes?: number;
  dueMinutes?: number;
  /** Cost of each minute after `dueMinutes`; 1 when absent. */
  weight?: number;
  /**
   * True: stops when a resource it needs closes and goes on when all are open again, keeping every resource meanwhile.
   * False: runs from start to finish in one sitting.
   */
  pausable: boolean;
  /** The whole task, start to finish, must lie inside one of these. */
  windows?: Interval[];
  /** The whole task must lie inside one window of this weather set. */
  weatherId?: string;
  predecessors: Predecessor[];
  exclusions?: Exclusion[];
  /** It ends no sooner than a coat has reached an age, counted from the finish of that task. Not for pausable tasks. */
  cure?: { clockId: string; ageMinutes: number; sinceTaskId: string; known?: KnownAge };
  /** The task as it happened. Without a finish it is under way, and `durationMinutes` counts from its start. */
  fixed?: { startMinutes: number; finishMinutes?: number };
  /** Higher goes first when no better order is known; 0 when absent. */
  priority?: number;
}

export interface Job {
  id: string;
  dueMinutes?: number;
  /** Cost of each minute the job's last task finishes after `dueMinutes`; 1 when absent. */
  weight?: number;
  /**
   * Expected value lost if the job finishes at these minutes, in any one unit (minor units of money, say);
   * straight lines between points, flat outside them, never falling.
   */
  valueLost?: { atMinutes: number; lost: number }[];
}

/**
 * Checks everything that can be wrong with a problem by itself (not whether it fits).
 * @throws EngineError `invalid-number`, `invalid-interval`, `duplicate-id`, `unknown-id`, `demand-exceeds-capacity`;
 * `path` names the place.
 */
export function validateProblem(problem: Problem): void {
  whole(problem.horizonMinutes, 0, 'horizonMinutes');
  if (problem.nowMinutes !== undefined) whole(problem.nowMinutes, 0, 'nowMinutes');
  const resources = unique(problem.resources, 'resources');
  const tasks = unique(problem.tasks, 'tasks');
  const jobs = unique(problem.jobs ?? [], 'jobs');
  const weather = unique(problem.weather ?? [], 'weather');
  const clocks = unique(problem.clocks ?? [], 'clocks');
  for (const [r, resource] of problem.resources.entries()) {
    whole(resource.capacity, 0, `resources[${r}].capacity`);
    if (resource.calendar) intervals(resource.calendar, `resources[${r}].calendar`);
    for (const [k, reduction] of (resource.reductions ?? []).entries()) {
      intervals([reduction], `resources[${r}].reductions[${k}]`);
      whole(reduction.amount, 0, `resources[${r}].reductions[${k}].amount`);
    }
  }
  for (const [w, set] of (problem.weather ?? []).entries()) intervals(set.windows, `weather[${w}].windows`);
  for (const [j, job] of (problem.jobs ?? []).entries()) validateJob(job, `jobs[${j}]`);
  for (const [i, task] of problem.tasks.entries()) {
    const path = `tasks[${i}]`;
    validateTaskNumbers(task, path);
    if (task.jobId !== undefined && problem.jobs && !jobs.has(task.jobId))
      unknown('job', task.jobId, task.id, `${path}.jobId`);
    if (task.weatherId !== undefined && !weather.has(task.weatherId))
      unknown('weather set', task.weatherId, task.id, `${path}.weatherId`);
    if (task.cure) {
      const { clockId, sinceTaskId } = task.cure;
      if (!clocks.has(clockId)) unknown('clock', clockId, task.id, `${path}.cure`);
      if (!task.predecessors.some((link) => link.taskId === sinceTaskId))
        unknown('predecessor', sinceTaskId, task.id, `${path}.cure.sinceTaskId`);
    }
    const demanded = new Set<string>();
    for (const [k, demand] of task.demands.entries()) {
      const resource = resources.get(demand.resourceId);
      if (!resource) unknown('resource', demand.resourceId, task.id, `${path}.demands[${k}]`);
      if (demanded.has(demand.resourceId)) {
        throw new EngineError(
          'duplicate-id',
          `Task ${task.id} demands resource ${demand.resourceId} twice`,
          `${path}.demands[${k}]`,
        );
      }
      demanded.add(demand.resourceId);
      whole(demand.amount, 0, `${path}.demands[${k}].amount`);
      if (demand.amount > resource.capacity && !task.fixed) {
        throw new EngineError(
          'demand-exceeds-capacity',
          `Task ${task.id} can never run: it needs ${demand.amount} of ${resource.id}, which has ${resource.capacity}`,
          `${path}.demands[${k}].amount`,
        );
      }
    }
    for (const [k, link] of task.predecessors.entries()) {
      const at = `${path}.predecessors[${k}]`;
      if (!tasks.has(link.taskId)) unknown('predecessor', link.taskId, task.id, at);
      whole(link.minWaitMinutes, 0, `${at}.minWaitMinutes`);
      if (link.ages && !clocks.has(link.ages.clockId)) unknown('clock', link.ages.clockId, task.id, `${at}.ages`);
      if (link.maxWaitMinutes !== undefined) whole(link.maxWaitMinutes, link.minWaitMinutes, `${at}.maxWaitMinutes`);
      for (const [f, interval] of (link.forbidden ?? []).entries()) {
        whole(interval.fromMinutes, 0, `${at}.forbidden[${f}].fromMinutes`);
        whole(interval.toMinutes, interval.fromMinutes, `${at}.forbidden[${f}].toMinutes`);
      }
    }
  }
}

function validateTaskNumbers(task: Task, path: string): void {
  whole(task.durationMinutes, 0, `${path}.durationMinutes`);
  if (task.releaseMinutes !== undefined) whole(task.releaseMinutes, 0, `${path}.releaseMinutes`);
  if (task.dueMinutes !== undefined) whole(task.dueMinutes, -MAX_MINUTES, `${path}.dueMinutes`);
  if (task.weight !== undefined) finite(task.weight, `${path}.weight`);
  if (task.priority !== undefined && !Number.isFinite(task.priority)) {
    throw new EngineError('invalid-number', `${path}.priority must be a finite number`, `${path}.priority`);
  }
  if (task.windows) intervals(task.windows, `${path}.windows`);
  if (!task.fixed) return;
  whole(task.fixed.startMinutes, -MAX_MINUTES, `${path}.fixed.startMinutes`);
  if (task.fixed.finishMinutes !== undefined)
    whole(task.fixed.finishMinutes, task.fixed.startMinutes, `${path}.fixed.finishMinutes`);
}

function validateJob(job: Job, path: string): void {
  if (job.dueMinutes !== undefined) whole(job.dueMinutes, -MAX_MINUTES, `${path}.dueMinutes`);
  if (job.weight !== undefined) finite(job.weight, `${path}.weight`);
  for (const [k, point] of (job.valueLost ?? []).entries()) {
    const at = `${path}.valueLost[${k}]`;
    whole(point.atMinutes, -MAX_MINUTES, `${at}.atMinutes`);
    finite(point.lost, `${at}.lost`);
    const previous = job.valueLost?.[k - 1];
    if (previous && (previous.atMinutes >= point.atMinutes || previous.lost > point.lost)) {
      throw new EngineError(
        'invalid-interval',
        `${at}: points must be in order of time and the loss must not fall`,
        at,
      );
    }
  }
}

function whole(value: number, least: number, path: string): void {
  if (!Number.isInteger(value))
    throw new EngineError('invalid-number', `${path} must be a whole number, got ${value}`, path);
  if (value < least) throw new EngineError('invalid-number', `${path} must not be below ${least}, got ${value}`, path);
  if (value > MAX_MINUTES)
    throw new EngineError('invalid-number', `${path} must not exceed ${MAX_MINUTES}, got ${value}`, path);
}

function finite(value: number, path: string): void {
  if (!Number.isFinite(value) || value < 0)
    throw new EngineError('invalid-number', `${path} must be a number of at least 0, got ${value}`, path);
}

function intervals(list: Interval[], path: string): void {
  for (const [k, { startMinutes, endMinutes }] of list.entries()) {
    const at = `${path}[${k}]`;
    whole(startMinutes, -MAX_MINUTES, `${at}.startMinutes`);
    whole(endMinutes, -MAX_MINUTES, `${at}.endMinutes`);
    if (endMinutes <= startMinutes) throw new EngineError('invalid-interval', `${at} must end after it starts`, at);
    if (k > 0 && startMinutes < list[k - 1]!.endMinutes) {
      throw new EngineError('invalid-interval', `${at} must not begin before the one in front of it ends`, at);
    }
  }
}

function unique<T extends { id: string }>(items: T[], path: string): Map<string, T> {
  const byId = new Map<string, T>();
  for (const [k, item] of items.entries()) {
    if (byId.has(item.id))
      throw new EngineError('duplicate-id', `${path} has two entries called ${item.id}`, `${path}[${k}].id`);
    byId.set(item.id, item);
  }
  return byId;
}

function unknown(what: string, id: string, taskId: string, path: string): never {
  throw new EngineError('unknown-id', `Task ${taskId} refers to ${what} ${id}, which does not exist`, path);
}

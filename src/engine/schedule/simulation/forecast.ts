import { type Compiled, NEVER } from '../problem/compile.js';
import type { Objective } from '../problem/objective.js';
import { BOUND_NAMES, type ChainCounter } from './critical-chain.js';

/** Quantiles of an end or start over all scenarios; null where so many scenarios do not get there before the horizon. */
export interface Quantiles {
  p10Minutes: number | null;
  p50Minutes: number | null;
  p80Minutes: number | null;
  p95Minutes: number | null;
}

export interface JobSchedule extends Quantiles {
  id: string;
  /** Mean over the scenarios in which it is finished; null if there is none. */
  meanMinutes: number | null;
  /** Share of scenarios in which it is not finished before the horizon. */
  unfinishedShare: number;
  probabilityBy: { minutes: number; probability: number }[];
  /** Share of scenarios in which the job is finished no later than the deadline of that scenario. */
  readiness: { deadlineId: string; probability: number }[];
  /** Tasks that decided its end, by mean start, with the share of scenarios in which they did. */
  chain: { taskId: string; share: number }[];
  /** Finish in each scenario, `NEVER` = 2^30 where it has none; entry k of two forecasts with one seed shares its luck. */
  finishMinutes: Int32Array;
}

export interface TaskForecast extends Quantiles {
  id: string;
  /** Share of scenarios in which it lay on its own job's chain. */
  criticality: number;
  /** What decided its start, as shares of the scenarios; 0 throughout for fixed tasks. */
  boundBy: Record<keyof typeof BOUND_NAMES, number>;
}

export interface ResourceForecast {
  id: string;
  /** Mean share of its open capacity in use from now until the last task ends. */
  load: number;
  /** Mean share of the free tasks whose start it decided. */
  bindingShare: number;
}

export interface ScheduledRecords {
  scenarios: number;
  seed: number;
  jobs: JobSchedule[];
  /** Quantiles are of the starts. */
  tasks: TaskForecast[];
  resources: ResourceForecast[];
  /** Quantiles of the end of the last task. */
  makespan: Quantiles;
}

export interface Replays {
  compiled: Compiled;
  objective: Objective;
  chains: ChainCounter;
  scenarios: number;
  seed: number;
  finishes: Int32Array[];
  makespans: Int32Array;
  /** Of every task in the first scenario, then in the second, and so on. */
  starts: Int32Array;
  deadlines: { id: string; minutes: Float64Array }[];
  dates: number[];
}

/** Turns counts and samples into shares and quantiles. */
export function summarise(replays: Replays): ScheduledRecords {
  const { compiled, objective, chains, scenarios, seed, finishes, makespans, starts, deadlines, dates } = replays;
  const startsOf = (i: number): Int32Array => {
    // What has begun began at the same minute in all of them.
    if (compiled.isFixed[i]) return starts.subarray(i, i + 1);
    const sample = new Int32Array(scenarios);
    for (let s = 0; s < scenarios; s++) sample[s] = starts[s * compiled.count + i]!;
    return sample.sort();
  };
  const meanStart = meansOf(starts, compiled.count);
  const jobs = objective.jobIds.flatMap((id, j): JobSchedule[] => {
    const finish = finishes[j]!;
    if (finish[0] === -NEVER) return []; // no task belongs to it
    const sorted = finish.slice().sort();
    const finished = atMost(sorted, NEVER - 1);
    return [
      {
        id,
        meanMinutes: finished === 0 ? null : sorted.subarray(0, finished).reduce((sum, f) => sum + f, 0) / finished,
        unfinishedShare: 1 - finished / scenarios,
        ...quantiles(sorted),
        probabilityBy: dates.map((minutes) => ({
          minutes,
          probability: atMost(sorted, Math.min(minutes, NEVER - 1)) / scenarios,
        })),
        readiness: deadlines.map((deadline) => ({
          deadlineId: deadline.id,
          probability:
            finish.reduce((count, f, s) => count + (f < NEVER && f <= deadline.minutes[s]! ? 1 : 0), 0) / scenarios,
        })),
        chain: [...chains.onChain[j]!.entries()]
          .filter(([, count]) => count > 0)
          .sort(([a], [b]) => meanStart[a]! - meanStart[b]! || a - b)
          .map(([i, count]) => ({ taskId: compiled.tasks[i]!.id, share: count / scenarios })),
        finishMinutes: finish,
      },
    ];
  });
  return {
    scenarios,
    seed,
    jobs,
    tasks: compiled.tasks.map((task, i): TaskForecast => {
      const j = objective.jobOf[i]!;
      return {
        id: task.id,
        criticality: j < 0 ? 0 : chains.onChain[j]![i]! / scenarios,
        boundBy: {
          release: chains.boundBy[4 * i + BOUND_NAMES.release]! / scenarios,
          predecessor: chains.boundBy[4 * i + BOUND_NAMES.predecessor]! / scenarios,
          resource: chains.boundBy[4 * i + BOUND_NAMES.resource]! / scenarios,
          delayed: chains.boundBy[4 * i + BOUND_NAMES.delayed]! / scenarios,
        },
        ...quantiles(startsOf(i)),
      };
    }),
    resources: compiled.resourceIds.map((id, r) => ({
      id,
      load: chains.load[r]! / scenarios,
      bindingShare: compiled.free.length === 0 ? 0 : chains.resourceBound[r]! / (scenarios * compiled.free.length),
    })),
    makespan: quantiles(makespans.slice().sort()),
  };
}

/** Means of the columns of a table that stands row after row. */
function meansOf(table: Int32Array, columns: number): Float64Array {
  const means = new Float64Array(columns);
  for (let at = 0; at < table.length; at += columns)
    for (let c = 0; c < columns; c++) means[c] = means[c]! + table[at + c]!;
  return means.map((sum) => (sum * columns) / table.length);
}

/** Smallest value that at least a share `p` of the sorted sample does not exceed; null when that is never. */
export function quantile(sorted: Int32Array, p: number): number | null {
  const value = sorted[Math.max(0, Math.ceil(p * sorted.length - 1e-9) - 1)]!;
  return value >= NEVER ? null : value;
}

function quantiles(sorted: Int32Array): Quantiles {
  return {
    p10Minutes: quantile(sorted, 0.1),
    p50Minutes: quantile(sorted, 0.5),
    p80Minutes: quantile(sorted, 0.8),
    p95Minutes: quantile(sorted, 0.95),
  };
}

function atMost(sorted: Int32Array, value: number): number {
  let low = 0;
  let high = sorted.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sorted[middle]! <= value) low = middle + 1;
    else high = middle;
  }
  return low;
}

export interface JobDifference {
  id: string;
  /** Mean of (second − first) over the scenarios finished in both; null if there is none. */
  meanMinutes: number | null;
  /** Shares of scenarios in which the job ends earlier, or later, in the second forecast; an unfinished job ends last. */
  earlierShare: number;
  probabilityLater: number;
  readiness: { deadlineId: string; change: number }[];
}

/** What changes between two forecasts made with the same seed and number of scenarios, job by job, scenario by scenario. */
export function compareSchedules(first: ScheduledRecords, second: ScheduledRecords): JobDifference[] {
  const after = new Map(second.jobs.map((job) => [job.id, job]));
  return first.jobs.flatMap((job): JobDifference[] => {
    const other = after.get(job.id);
    if (!other || other.finishMinutes.length !== job.finishMinutes.length) return [];
    let sum = 0;
    let both = 0;
    let earlier = 0;
    let later = 0;
    job.finishMinutes.forEach((before, s) => {
      const now = other.finishMinutes[s]!;
      if (now < before) earlier++;
      if (now > before) later++;
      if (now < NEVER && before < NEVER) {
        both++;
        sum += now - before;
      }
    });
    return [
      {
        id: job.id,
        meanMinutes: both === 0 ? null : sum / both,
        earlierShare: earlier / first.scenarios,
        probabilityLater: later / first.scenarios,
        readiness: other.readiness.flatMap(({ deadlineId, probability }) => {
          const old = job.readiness.find((entry) => entry.deadlineId === deadlineId);
          return old ? [{ deadlineId, change: probability - old.probability }] : [];
        }),
      },
    ];
  });
}

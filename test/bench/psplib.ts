import path from 'node:path';
import { performance } from 'node:perf_hooks';
import { parseArgs } from 'node:util';
import { searchSchedule } from '../../src/engine/schedule/index.js';
import { checkPlain } from '../psplib/feasible.js';
import { asProblem, startsOf } from '../psplib/problem.js';
import { readBounds, readSet, readSolverMakespans, referenceDirectory, SOLVERS } from '../psplib/read.js';

const USAGE =
  'bench:psplib -- --set j30|j60|j120 [--schedules 5000 | --seconds 10] [--seed 1] [--every 1] [--from 0] [--dir D] [--bounds F]';

export interface PsplibReport {
  set: string;
  instances: number;
  /** Instances in the whole set. */
  of: number;
  schedulesEach: number;
  secondsEach: number | null;
  seed: number;
  /** Mean % above the best known makespan. */
  aboveBestPercent: number;
  /** The same for published results of exact solvers on the same instances. */
  solversAboveBestPercent: Record<string, number>;
  /** Share of instances at the best known makespan, and of those with a proven optimum at that optimum. */
  atBestShare: number;
  atOptimumShare: number;
  /** Share of instances whose schedule this engine proved optimal itself. */
  provenHereShare: number;
  /** Mean % above the critical path. */
  aboveCriticalPathPercent: number;
  schedulesPerSecond: number;
  /** Processor time. */
  seconds: number;
}

/** Processor time of this process in milliseconds, so that others on the machine do not count. */
const processorTime = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
};

/** Searches every instance of a set, checks every schedule, and compares with the published bounds. */
export function benchPsplib(options: {
  set: string;
  /** Schedules, or seconds of processor time, for each instance. */
  schedules: number;
  seconds?: number;
  seed: number;
  every?: number;
  from?: number;
  dir?: string;
  bounds?: string;
}): PsplibReport {
  const root = path.join(referenceDirectory(), 'psplib');
  const bounds = readBounds(options.bounds ?? path.join(root, `bounds_${options.set}.csv`));
  const published = readSolverMakespans(path.join(root, 'solver_makespans.csv'));
  const all = readSet(options.dir ?? path.join(root, options.set));
  const instances = all.filter((_, k) => k % (options.every ?? 1) === (options.from ?? 0));
  const solvers: Record<string, { above: number; count: number }> = {};
  let aboveBest = 0;
  let abovePath = 0;
  let atBest = 0;
  let proven = 0;
  let atOptimum = 0;
  let provenHere = 0;
  let schedules = 0;
  let milliseconds = 0;
  for (const instance of instances) {
    const bound = bounds.get(instance.name);
    if (!bound) throw new Error(`No bounds for ${instance.name}`);
    const problem = asProblem(instance);
    const begun = processorTime();
    const result = searchSchedule(problem, {
      seed: options.seed,
      schedules: options.schedules,
      ...(options.seconds === undefined ? {} : { milliseconds: 1000 * options.seconds, clock: processorTime }),
    });
    milliseconds += processorTime() - begun;
    const makespan = checkPlain(instance, startsOf(instance, result.schedule));
    if (makespan !== result.schedule.makespanMinutes)
      throw new Error(`${instance.name}: says ${result.schedule.makespanMinutes}, is ${makespan}`);
    if (makespan < bound.lowerBound)
      throw new Error(`${instance.name}: ${makespan} is below the proven bound ${bound.lowerBound}`);
    if (result.provenOptimal && makespan > bound.bestMakespan)
      throw new Error(`${instance.name}: claims that ${makespan} is optimal, ${bound.bestMakespan} is known`);
    if (result.schedules > options.schedules) throw new Error(`${instance.name}: used ${result.schedules} schedules`);
    schedules += result.schedules;
    aboveBest += makespan / bound.bestMakespan - 1;
    abovePath += makespan / bound.criticalPath - 1;
    if (makespan <= bound.bestMakespan) atBest++;
    if (bound.provenOptimal) {
      proven++;
      if (makespan === bound.bestMakespan) atOptimum++;
    }
    if (result.provenOptimal) provenHere++;
    for (const [solver, other] of Object.entries(published.get(instance.name) ?? {})) {
      const sum = (solvers[solver] ??= { above: 0, count: 0 });
      sum.above += other / bound.bestMakespan - 1;
      sum.count++;
    }
  }
  const n = instances.length;
  return {
    set: options.set,
    instances: n,
    of: all.length,
    schedulesEach: options.schedules,
    secondsEach: options.seconds ?? null,
    seed: options.seed,
    aboveBestPercent: (100 * aboveBest) / n,
    solversAboveBestPercent: Object.fromEntries(
      Object.entries(solvers).map(([solver, { above, count }]) => [solver, (100 * above) / count]),
    ),
    atBestShare: atBest / n,
    atOptimumShare: proven === 0 ? 0 : atOptimum / proven,
    provenHereShare: provenHere / n,
    aboveCriticalPathPercent: (100 * abovePath) / n,
    schedulesPerSecond: Math.round((1000 * schedules) / milliseconds),
    seconds: milliseconds / 1000,
  };
}

/** `argv` without node and script; several sets may be given. */
export function main(argv: string[]): void {
  const { values } = parseArgs({
    args: argv,
    options: {
      set: { type: 'string', multiple: true, default: ['j30', 'j60', 'j120'] },
      schedules: { type: 'string' },
      seconds: { type: 'string' },
      seed: { type: 'string', default: '1' },
      every: { type: 'string', default: '1' },
      from: { type: 'string', default: '0' },
      dir: { type: 'string' },
      bounds: { type: 'string' },
      help: { type: 'boolean', default: false },
    },
  });
  if (values.help) {
    console.log(USAGE);
    return;
  }
  for (const set of values.set) {
    const begun = performance.now();
    const r = benchPsplib({
      set,
      schedules: Number(values.schedules ?? (values.seconds === undefined ? 5000 : 1e9)),
      ...(values.seconds === undefined ? {} : { seconds: Number(values.seconds) }),
      seed: Number(values.seed),
      every: Number(values.every),
      from: Number(values.from),
      dir: values.dir,
      bounds: values.bounds,
    });
    const budget = r.secondsEach === null ? `${r.schedulesEach} schedules` : `${r.secondsEach} s of one processor`;
    const others = Object.entries(r.solversAboveBestPercent).map(
      ([solver, above]) => `${SOLVERS[solver] ?? solver} ${above.toFixed(3)} %`,
    );
    console.log(
      [
        `${r.set}: ${r.instances} of ${r.of} instances, ${budget} each, seed ${r.seed}`,
        `  above best known      ${r.aboveBestPercent.toFixed(3)} % (mean); at best known ${(100 * r.atBestShare).toFixed(1)} ` +
          `%, at the proven optimum ${(100 * r.atOptimumShare).toFixed(1)} % of those that have one`,
        `  published, same ones  ${others.join(', ')}`,
        `  proven optimal here   ${(100 * r.provenHereShare).toFixed(1)} %`,
        `  above critical path   ${r.aboveCriticalPathPercent.toFixed(2)} % (mean)`,
        `  speed                 ${r.schedulesPerSecond} schedules a second; ${r.seconds.toFixed(1)} s of ` +
          `processor time, ${((performance.now() - begun) / 1000).toFixed(1)} s in all; every schedule checked`,
      ].join('\n'),
    );
  }
}

import path from 'node:path';
import { performance } from 'node:perf_hooks';
import { parseArgs } from 'node:util';
import { searchSchedule } from '../../src/engine/schedule/index.js';
import { checkPlain } from '../psplib/feasible.js';
import { asProblem, startsOf } from '../psplib/problem.js';
import { readBounds, readSet, referenceDirectory } from '../psplib/read.js';

const USAGE = 'bench:psplib -- --set j30|j60|j120 [--schedules 5000] [--seed 1] [--every 1] [--dir D] [--bounds F]';

export interface PsplibReport {
  set: string;
  instances: number;
  schedulesEach: number;
  seed: number;
  /** Mean % above the best known makespan. */
  aboveBestPercent: number;
  /** Share of instances at the best known makespan, and of those with a proven optimum at that optimum. */
  atBestShare: number;
  atOptimumShare: number;
  /** Mean % above the critical path. */
  aboveCriticalPathPercent: number;
  schedulesPerSecond: number;
  seconds: number;
}

/** Searches every instance of a set, checks every schedule, and compares with the published bounds. */
export function benchPsplib(options: {
  set: string;
  schedules: number;
  seed: number;
  every?: number;
  dir?: string;
  bounds?: string;
}): PsplibReport {
  const root = path.join(referenceDirectory(), 'psplib');
  const bounds = readBounds(options.bounds ?? path.join(root, `bounds_${options.set}.csv`));
  const instances = readSet(options.dir ?? path.join(root, options.set)).filter(
    (_, k) => k % (options.every ?? 1) === 0,
  );
  let aboveBest = 0;
  let abovePath = 0;
  let atBest = 0;
  let proven = 0;
  let atOptimum = 0;
  let schedules = 0;
  let milliseconds = 0;
  for (const instance of instances) {
    const bound = bounds.get(instance.name);
    if (!bound) throw new Error(`No bounds for ${instance.name}`);
    const problem = asProblem(instance);
    const begun = performance.now();
    const result = searchSchedule(problem, { seed: options.seed, schedules: options.schedules });
    milliseconds += performance.now() - begun;
    const makespan = checkPlain(instance, startsOf(instance, result.schedule));
    if (makespan !== result.schedule.makespanMinutes)
      throw new Error(`${instance.name}: says ${result.schedule.makespanMinutes}, is ${makespan}`);
    if (makespan < bound.lowerBound)
      throw new Error(`${instance.name}: ${makespan} is below the proven bound ${bound.lowerBound}`);
    if (result.schedules > options.schedules) throw new Error(`${instance.name}: used ${result.schedules} schedules`);
    schedules += result.schedules;
    aboveBest += makespan / bound.bestMakespan - 1;
    abovePath += makespan / bound.criticalPath - 1;
    if (makespan <= bound.bestMakespan) atBest++;
    if (bound.provenOptimal) {
      proven++;
      if (makespan === bound.bestMakespan) atOptimum++;
    }
  }
  const n = instances.length;
  return {
    set: options.set,
    instances: n,
    schedulesEach: options.schedules,
    seed: options.seed,
    aboveBestPercent: (100 * aboveBest) / n,
    atBestShare: atBest / n,
    atOptimumShare: proven === 0 ? 0 : atOptimum / proven,
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
      schedules: { type: 'string', default: '5000' },
      seed: { type: 'string', default: '1' },
      every: { type: 'string', default: '1' },
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
    const r = benchPsplib({
      set,
      schedules: Number(values.schedules),
      seed: Number(values.seed),
      every: Number(values.every),
      dir: values.dir,
      bounds: values.bounds,
    });
    console.log(
      [
        `${r.set}: ${r.instances} instances, ${r.schedulesEach} schedules each, seed ${r.seed}`,
        `  above best known      ${r.aboveBestPercent.toFixed(3)} % (mean); at best known ${(100 * r.atBestShare).toFixed(1)} %, at the proven optimum ${(100 * r.atOptimumShare).toFixed(1)} % of those that have one`,
        `  above critical path   ${r.aboveCriticalPathPercent.toFixed(2)} % (mean)`,
        `  speed                 ${r.schedulesPerSecond} schedules a second; ${r.seconds.toFixed(1)} s; every schedule checked`,
      ].join('\n'),
    );
  }
}

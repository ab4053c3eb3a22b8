import path from 'node:path';
import { performance } from 'node:perf_hooks';
import { parseArgs } from 'node:util';
import { minimiseMakespan, verifyStarts } from '../../src/engine/schedule/solver/index.js';
import { referenceDirectory } from '../psplib/read.js';
import { readLagBounds, readLagSet } from '../rcpsp-max/read.js';

export interface LagReport {
  set: string;
  instances: number;
  solvable: number;
  /** Solvable instances for which a schedule was found, and those whose least makespan was proven. */
  feasible: number;
  proven: number;
  /** Mean % above the published optimum, over those found. */
  aboveOptimumPercent: number;
  /** Instances without any schedule that were recognised as such. */
  refuted: number;
  worstMilliseconds: number;
}

/** Solves every instance of a set, checks every schedule by itself, and compares with the published optima. */
export function benchLags(set: string, options: { conflicts: number; milliseconds: number }): LagReport {
  const root = path.join(referenceDirectory(), 'rcpspmax');
  const bounds = readLagBounds(path.join(root, `bounds_${set}.csv`));
  const instances = readLagSet(path.join(root, set));
  const report: LagReport = {
    set,
    instances: instances.length,
    solvable: 0,
    feasible: 0,
    proven: 0,
    aboveOptimumPercent: 0,
    refuted: 0,
    worstMilliseconds: 0,
  };
  for (const instance of instances) {
    const optimum = bounds.get(instance.name);
    if (optimum === undefined) throw new Error(`No bound for ${instance.name}`);
    const begun = performance.now();
    const { starts, makespan, proven } = minimiseMakespan(instance, {
      conflicts: options.conflicts,
      keepOn: () => performance.now() - begun < options.milliseconds,
    });
    report.worstMilliseconds = Math.max(report.worstMilliseconds, performance.now() - begun);
    if (starts && verifyStarts(instance, starts) !== makespan) throw new Error(`${instance.name}: not a schedule`);
    if (optimum === null) {
      if (starts) throw new Error(`${instance.name}: solved, but is published as impossible`);
      if (proven) report.refuted++;
      continue;
    }
    report.solvable++;
    if (!starts) {
      if (proven) throw new Error(`${instance.name}: called impossible, but its optimum is ${optimum}`);
      continue;
    }
    if (makespan < optimum) throw new Error(`${instance.name}: ${makespan} is below the optimum ${optimum}`);
    if (proven && makespan > optimum) throw new Error(`${instance.name}: claims ${makespan} against ${optimum}`);
    report.feasible++;
    if (proven) report.proven++;
    report.aboveOptimumPercent += 100 * (makespan / optimum - 1);
  }
  report.aboveOptimumPercent /= Math.max(1, report.feasible);
  return report;
}

/** `--conflicts` and `--seconds` are limits for each instance. */
export function main(argv: string[]): void {
  const { values } = parseArgs({
    args: argv,
    options: {
      set: { type: 'string', multiple: true, default: ['j10', 'ubo10', 'ubo20'] },
      conflicts: { type: 'string', default: '1000000' },
      seconds: { type: 'string', default: '2' },
    },
  });
  for (const set of values.set) {
    const r = benchLags(set, { conflicts: Number(values.conflicts), milliseconds: 1000 * Number(values.seconds) });
    console.log(
      [
        `${r.set}: ${r.instances} instances, ${r.solvable} solvable`,
        `  feasible ${r.feasible}, proven optimal ${r.proven}, mean ${r.aboveOptimumPercent.toFixed(3)} % above the optimum`,
        `  refuted ${r.refuted} of ${r.instances - r.solvable} impossible ones; ` +
          `slowest ${r.worstMilliseconds.toFixed(0)} ms; every schedule checked`,
      ].join('\n'),
    );
  }
}

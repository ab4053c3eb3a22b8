import path from 'node:path';
import { performance } from 'node:perf_hooks';
import { parseArgs } from 'node:util';
import { searchSchedule } from '../../src/engine/schedule/index.js';
import { solveExact } from '../psplib/exact.js';
import { checkSchedule, EXACT_MODEL, exactData } from '../psplib/minute-model.js';
import { asProblem } from '../psplib/problem.js';
import { randomProblem } from '../psplib/random-problem.js';
import { type PsplibInstance, readBounds, readSet, referenceDirectory } from '../psplib/read.js';

/** Plain resource-constrained project scheduling, as Chuffed likes it: cumulative constraints and smallest start first. */
const PLAIN_MODEL = `
include "cumulative.mzn";
int: n; int: m; int: horizon;
array[1..n] of int: duration;
array[1..m] of int: capacity;
array[1..m, 1..n] of int: demand;
int: links;
array[1..links] of 1..n: before; array[1..links] of 1..n: after;
array[1..n] of var 0..horizon: start;
var 0..horizon: makespan;
constraint forall(l in 1..links)(start[before[l]] + duration[before[l]] <= start[after[l]]);
constraint forall(r in 1..m)(cumulative(start, duration, [demand[r, i] | i in 1..n], capacity[r]));
constraint forall(i in 1..n)(start[i] + duration[i] <= makespan);
solve :: int_search(start ++ [makespan], smallest, indomain_min) minimize makespan;
`;

/** The time each needs to hold a schedule of the known optimal length, in milliseconds; Infinity where it did not. */
export async function raceOnOptimum(
  instance: PsplibInstance,
  optimum: number,
  limitMilliseconds: number,
): Promise<{ engine: number; exact: number }> {
  const problem = asProblem(instance);
  const begun = performance.now();
  const result = searchSchedule(problem, {
    seed: 1,
    schedules: 1e9,
    milliseconds: limitMilliseconds,
    clock: () => performance.now(),
    onProgress: ({ best }) => best[0]! > optimum,
  });
  const engine = result.schedule.makespanMinutes === optimum ? performance.now() - begun : Infinity;
  const links = instance.successors.flatMap((list, i) => list.map((j) => [i + 1, j + 1] as const));
  const { found } = await solveExact(
    PLAIN_MODEL,
    {
      n: instance.durations.length,
      m: instance.capacities.length,
      horizon: instance.durations.reduce((sum, d) => sum + d, 0),
      duration: instance.durations,
      capacity: instance.capacities,
      demand: instance.capacities.map((_, r) => instance.demands.map((d) => d[r]!)),
      links: links.length,
      before: links.map(([i]) => i),
      after: links.map(([, j]) => j),
    },
    limitMilliseconds,
  );
  const first = found.find(({ output }) => Number(output.makespan) === optimum);
  return { engine, exact: first?.milliseconds ?? Infinity };
}

/** How often the engine reaches the proven optimum of random small shops with every feature. */
export async function agreement(
  from: number,
  count: number,
  schedules: number,
): Promise<{ solved: number; matched: number; worse: string[] }> {
  const worse: string[] = [];
  let solved = 0;
  for (let seed = from; seed < from + count; seed++) {
    const problem = randomProblem(seed, 5 + (seed % 4));
    const exact = await solveExact(EXACT_MODEL, exactData(problem));
    if (exact.status !== 'OPTIMAL_SOLUTION') continue;
    solved++;
    const { schedule } = searchSchedule(problem, { seed: 1, schedules });
    checkSchedule(problem, schedule);
    const gap =
      1000 * (schedule.cost.weightedTardiness - Number(exact.output!.tardiness)) +
      schedule.cost.makespanMinutes -
      Number(exact.output!.makespan);
    if (gap < 0) throw new Error(`Shop ${seed}: the engine beats the proven optimum, so one of them is wrong`);
    if (gap > 0)
      worse.push(
        `shop ${seed}: ${schedule.cost.weightedTardiness}/${schedule.cost.makespanMinutes} ` +
          `instead of ${exact.output!.tardiness}/${exact.output!.makespan}`,
      );
  }
  return { solved, matched: solved - worse.length, worse };
}

function median(values: number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)]!;
}

/** `--random 200` compares on small shops; otherwise a race on J30, `--every 10 --limit 10000`. */
export async function main(argv: string[]): Promise<void> {
  const { values } = parseArgs({
    args: argv,
    options: {
      random: { type: 'string' },
      from: { type: 'string', default: '0' },
      schedules: { type: 'string', default: '3000' },
      every: { type: 'string', default: '10' },
      limit: { type: 'string', default: '20000' },
    },
  });
  if (values.random !== undefined) {
    const { solved, matched, worse } = await agreement(
      Number(values.from),
      Number(values.random),
      Number(values.schedules),
    );
    console.log(
      `small shops with every feature: optimum reached in ${matched} of ${solved} ` +
        `(${((100 * matched) / solved).toFixed(1)} %), never beaten`,
    );
    for (const line of worse) console.log(`  ${line}`);
    return;
  }
  const root = path.join(referenceDirectory(), 'psplib');
  const bounds = readBounds(path.join(root, 'bounds_j30.csv'));
  const instances = readSet(path.join(root, 'j30')).filter((_, k) => k % Number(values.every) === 0);
  const empty = 'var 0..1: x; solve minimize x;';
  await solveExact(empty, {}); // the first one also compiles
  const idle = await solveExact(empty, {});
  const engine: number[] = [];
  const exact: number[] = [];
  for (const instance of instances) {
    const race = await raceOnOptimum(instance, bounds.get(instance.name)!.bestMakespan, Number(values.limit));
    engine.push(race.engine);
    exact.push(race.exact);
  }
  const line = (name: string, times: number[]): string =>
    `  ${name}  median ${median(times).toFixed(1)} ms, worst ${Math.max(...times).toFixed(0)} ` +
    `ms, not reached ${times.filter((t) => t === Infinity).length}`;
  console.log(`j30, ${instances.length} instances: time until a schedule of the optimal length is found`);
  console.log(line('this engine ', engine));
  console.log(line('Chuffed     ', exact));
  console.log(
    `  (of Chuffed's time, about ${idle.milliseconds.toFixed(0)} ms are MiniZinc reading its library; an empty model takes that long)`,
  );
}

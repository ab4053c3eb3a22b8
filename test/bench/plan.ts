/**
 * `npm run bench:plan`: made-up shops of 10, 20, 40 and 80 open jobs of sixteen tasks, on one core. Prints milliseconds of
 * processor time (so that other work on the machine counts little) for one schedule from a list, for one schedule of the
 * search, which holds coats back for each other's recoat windows, and for 2,000 run-throughs; the peak of memory; and how
 * they grow. `-- --jobs 25` measures one size.
 */
import { parseArgs } from 'node:util';
import { listFromIds } from '../../src/engine/schedule/generation/priority-list.js';
import { ScheduleGenerator } from '../../src/engine/schedule/generation/schedule-generator.js';
import { searchSchedule, simulate } from '../../src/engine/schedule/index.js';
import { compile } from '../../src/engine/schedule/problem/compile.js';
import { buildProblem } from '../../src/plan/model/problem.js';
import { scheduleRecords } from '../../src/plan/model/scheduled-records.js';
import { simulationOf } from '../../src/plan/model/uncertainty.js';
import { madeUpShop } from '../plan-shop.js';

export interface Measured {
  jobs: number;
  tasks: number;
  /** From records to a compiled problem and one explained schedule. */
  firstMilliseconds: number;
  scheduleMilliseconds: number;
  /** One schedule of the search, which counts each pass of a justification. */
  searchMilliseconds: number;
  forecastMilliseconds: number;
  peakMegabytes: number;
}

const processorMilliseconds = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
};

function timed(work: () => void): number {
  const from = processorMilliseconds();
  work();
  return processorMilliseconds() - from;
}

/** @param budget.scenarios for the run-throughs; the time is scaled to 2,000 */
export function measure(jobs: number, { schedules = 1000, searched = 600, scenarios = 2000 } = {}): Measured {
  const records = madeUpShop(jobs);
  const { schedule } = scheduleRecords(records);
  const firstMilliseconds = timed(() => scheduleRecords(records));
  const { problem } = buildProblem(records);
  const compiled = compile(problem);
  const generator = new ScheduleGenerator(compiled);
  const list = listFromIds(compiled, schedule.order.taskIds);
  const generate = (count: number): void => {
    for (let k = 0; k < count; k += 1) generator.serial(list);
  };
  generate(Math.min(200, schedules));
  const scheduleMilliseconds = timed(() => generate(schedules)) / schedules;
  let tried = 0;
  searchSchedule(problem, { seed: 2, schedules: searched / 3, partial: true });
  const searchMilliseconds =
    timed(() => (tried = searchSchedule(problem, { seed: 1, schedules: searched, partial: true }).schedules)) / tried;
  const { input } = simulationOf(records, schedule.order, { scenarios, seed: 1 });
  simulate({ ...input, scenarios: 50 });
  const forecastMilliseconds = (timed(() => simulate(input)) * 2000) / scenarios;
  return {
    jobs,
    tasks: records.tasks.length,
    firstMilliseconds,
    scheduleMilliseconds,
    searchMilliseconds,
    forecastMilliseconds,
    peakMegabytes: process.resourceUsage().maxRSS / 1024,
  };
}

/** Slope of the logarithms, by least squares: 1 grows like the number of jobs, 2 like its square. */
export function exponent(points: readonly { jobs: number; value: number }[]): number {
  const x = points.map((point) => Math.log(point.jobs));
  const y = points.map((point) => Math.log(point.value));
  const mean = (list: number[]) => list.reduce((sum, one) => sum + one, 0) / list.length;
  const [mx, my] = [mean(x), mean(y)];
  return (
    x.reduce((sum, one, k) => sum + (one - mx) * (y[k]! - my), 0) / x.reduce((sum, one) => sum + (one - mx) ** 2, 0)
  );
}

export function main(args: string[]): void {
  const { values } = parseArgs({ args, options: { jobs: { type: 'string' } } });
  const sizes = values.jobs ? values.jobs.split(',').map(Number) : [10, 20, 40, 80];
  console.log('jobs  tasks   first ms   ms/schedule   ms/schedule in search   ms/2000 scenarios   peak MB');
  const measured = sizes.map((jobs) => {
    const one = measure(jobs);
    console.log(
      [
        String(jobs).padStart(4),
        String(one.tasks).padStart(6),
        one.firstMilliseconds.toFixed(1).padStart(10),
        one.scheduleMilliseconds.toFixed(3).padStart(13),
        one.searchMilliseconds.toFixed(3).padStart(23),
        one.forecastMilliseconds.toFixed(0).padStart(19),
        one.peakMegabytes.toFixed(0).padStart(9),
      ].join(' '),
    );
    return one;
  });
  if (measured.length < 2) return;
  const growth = (of: (one: Measured) => number) =>
    exponent(measured.map((one) => ({ jobs: one.jobs, value: of(one) }))).toFixed(2);
  console.log(
    `growth: n^${growth((one) => one.scheduleMilliseconds)} a schedule, n^${growth((one) => one.forecastMilliseconds)} a forecast`,
  );
}

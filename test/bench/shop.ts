/**
 * `npm run bench:shop`: twelve made-up shops of 10, 25 and 40 open jobs, planned with the service's own budget of
 * schedules and again with a million. Prints how far the first lies above the second, and milliseconds of processor time
 * for one schedule within the search; `--json` prints rows `{jobs, gapPercent, msPerSchedule}`, one a shop. Every schedule is checked
 * against its lower bounds, and the long run goes on from the short one, so the gap is never negative.
 */
import { parseArgs } from 'node:util';
import { type Cost, searchSchedule } from '../../src/engine/schedule/index.js';
import { REPLAN } from '../../src/plan/background/replan-settings.js';
import { buildProblem } from '../../src/plan/model/problem.js';
import { madeUpShop } from '../plan-shop.js';

const USAGE = 'bench:shop -- [--schedules N] [--reference 1000000] [--jobs 10,25,40] [--shops 4] [--json]';

export interface ShopRow {
  jobs: number;
  /** How far the objective lies above that of the long run; see `objectiveOf`. */
  gapPercent: number;
  msPerSchedule: number;
  /** How far the long run at most lies above the optimum: the objective over its proven bound. */
  abovePercentOfBound: number;
}

const processorMilliseconds = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
};

/** What the search makes small, as one number: expected value lost, and a day late at what missing the snow costs. */
function objectiveOf({ weightedTardiness, valueLost }: Pick<Cost, 'weightedTardiness' | 'valueLost'>): number {
  return valueLost + (1000 * weightedTardiness) / 1440;
}

/** Plans one shop with a budget and with many more schedules. @throws Error when a schedule beats its proven bound */
export function compareShop(jobs: number, seed: number, budget: number, reference: number): ShopRow {
  const { problem } = buildProblem(madeUpShop(jobs, seed));
  const begun = processorMilliseconds();
  const short = searchSchedule(problem, { seed: 1, schedules: budget, partial: true });
  const msPerSchedule = (processorMilliseconds() - begun) / short.schedules;
  const long = searchSchedule(problem, { seed: 2, schedules: reference, partial: true, order: short.schedule.order });
  for (const { schedule, lowerBound } of [short, long]) {
    if (schedule.cost.unplaced > 0)
      throw new Error(`Shop ${jobs}/${seed}: ${schedule.cost.unplaced} tasks without a place`);
    if (objectiveOf(schedule.cost) < objectiveOf(lowerBound) - 1e-6)
      throw new Error(`Shop ${jobs}/${seed}: a schedule lies below its lower bound`);
  }
  const best = objectiveOf(long.schedule.cost);
  return {
    jobs,
    gapPercent: 100 * (objectiveOf(short.schedule.cost) / best - 1),
    msPerSchedule,
    abovePercentOfBound: 100 * (best / objectiveOf(long.lowerBound) - 1),
  };
}

const mean = (list: readonly number[]): number => list.reduce((sum, one) => sum + one, 0) / list.length;

export function main(args: string[]): void {
  const { values } = parseArgs({
    args,
    options: {
      schedules: { type: 'string', default: String(REPLAN.schedules) },
      reference: { type: 'string', default: '1000000' },
      jobs: { type: 'string', default: '10,25,40' },
      shops: { type: 'string', default: '4' },
      json: { type: 'boolean', default: false },
      help: { type: 'boolean', default: false },
    },
  });
  if (values.help) {
    console.log(USAGE);
    return;
  }
  const [budget, reference] = [Number(values.schedules), Number(values.reference)];
  const rows: ShopRow[] = [];
  if (!values.json)
    console.log(`${budget} schedules against ${reference}\njobs   gap %   ms/schedule   reference above its bound %`);
  for (const jobs of values.jobs.split(',').map(Number)) {
    for (let seed = 1; seed <= Number(values.shops); seed++) {
      const row = compareShop(jobs, seed, budget, reference);
      rows.push(row);
      if (!values.json)
        console.log(
          [
            String(jobs).padStart(4),
            row.gapPercent.toFixed(2).padStart(7),
            row.msPerSchedule.toFixed(3).padStart(13),
            row.abovePercentOfBound.toFixed(1).padStart(29),
          ].join(' '),
        );
    }
  }
  if (values.json)
    console.log(
      JSON.stringify(rows.map(({ jobs, gapPercent, msPerSchedule }) => ({ jobs, gapPercent, msPerSchedule }))),
    );
  else console.log(`mean gap ${mean(rows.map((row) => row.gapPercent)).toFixed(2)} %`);
}

/**
 * `npm run bench:capacity [-- --shops 200] [--json]`: whether "how many more fit" is right. Two hundred small shops are
 * counted out by trying every order of the work; two more are worked by hand. Then the demo shop, without luck that
 * machines share: what is said at 80 % beside taking machines in one by one, each planned as an intake is.
 * `--json` prints `{cases, above, below, demoSaid, demoOneByOne}`.
 */
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { parseArgs } from 'node:util';
import { loadDemo } from '../../seed/demo.js';
import { searchSchedule, simulate } from '../../src/engine/schedule/index.js';
import { ports } from '../../src/opening/ports.js';
import { currentPlan } from '../../src/plan/background/current-plan.js';
import { REPLAN } from '../../src/plan/background/replan-settings.js';
import type { PlanRecords } from '../../src/plan/inputs/records.js';
import { planSnowOutlook } from '../../src/plan/inputs/weather.js';
import { readyByDate } from '../../src/plan/inputs/what-counts-as-ready.js';
import { buildProblem } from '../../src/plan/model/problem.js';
import { simulationOf } from '../../src/plan/model/uncertainty.js';
import {
  countAt,
  type Effort,
  machinesThatFit,
  type RouteStep,
  withAnother,
} from '../../src/plan/simulation/capacity.js';
import { stepsOf } from '../../src/plan/simulation/route-steps.js';
import { CAPACITY_EFFORT } from '../../src/plan/simulation/scenarios.js';
import { projectRoot } from '../../src/platform/launch/root.js';
import { inTransaction } from '../../src/platform/operation/execute.js';
import { noThreads } from '../../src/platform/workers/pool.js';
import { withRouteTasks } from '../../src/work/routes.js';
import { createTestDatabase } from '../harness/database.js';
import { countedOut, generatedShop, type SmallShop, smallShop } from './capacity-shops.js';

/** By their schedules alone: hours of these shops are as stated. */
const EXACT: Effort = { ...CAPACITY_EFFORT, scenarios: 0 };

export const saidOf = ({ records, route, by }: Pick<SmallShop, 'records' | 'route' | 'by'>): number =>
  countAt(machinesThatFit({ records, order: null, routes: [route], by, effort: EXACT }), 1);

/** Two hours, two days' wait, two hours, by Friday: ten in the week's forty hours and not nine. */
export const twoTasks = (): SmallShop =>
  smallShop(
    [],
    [
      { minutes: 120, wait: 0 },
      { minutes: 120, wait: 2880 },
    ],
    4,
  );
/** Machines of four hours by Friday, beside forty hours on a mower that is due on no day and comes after: ten and not none. */
export const besideMower = (): SmallShop =>
  smallShop([{ tasks: [{ minutes: 2400, wait: 0 }], dueDay: null }], [{ minutes: 240, wait: 0 }], 4, [-1]);

/** @returns how often the service says more, and less, than can be */
export function compareSmallShops(shops: number): { cases: number; above: number; below: number } {
  const counts = { cases: 0, above: 0, below: 0 };
  const compare = (said: number, right: number): void => {
    counts.cases += 1;
    if (said > right) counts.above += 1;
    if (said < right) counts.below += 1;
  };
  for (let seed = 1; seed <= shops; seed += 1) {
    const shop = generatedShop(seed);
    compare(saidOf(shop), countedOut(shop));
  }
  compare(saidOf(twoTasks()), 10);
  compare(saidOf(besideMower()), 10);
  return counts;
}

/** Hours as stated, nobody ill, nothing found: only arrivals and the weather differ. */
const withoutSharedLuck = (records: PlanRecords): PlanRecords => ({
  ...records,
  tasks: records.tasks.map((task) => ({
    ...task,
    minMinutes: task.handsOnMinutes,
    maxMinutes: task.handsOnMinutes,
  })),
  learning: { ...records.learning, absence: null, foundWork: null },
});

/** Each machine is planned as an intake is and stays; the first that is not in time four times in five ends it. */
function oneByOne(records: PlanRecords, route: RouteStep[], by: string, order: Effort['seed']): number {
  let grown = records;
  let incumbent: ReturnType<typeof searchSchedule>['schedule']['order'] | undefined;
  for (let count = 0; ; count += 1) {
    grown = withAnother(grown, route, count + 1, by);
    const { problem, local } = buildProblem(grown);
    const { schedule } = searchSchedule(problem, {
      seed: order,
      schedules: REPLAN.schedules,
      partial: true,
      ...(incumbent ? { order: incumbent } : {}),
    });
    incumbent = schedule.order;
    const { input } = simulationOf(grown, incumbent, { scenarios: 400, seed: 2 });
    const late = simulate(input).jobs.some(
      (job) => job.id.startsWith('more/') && (job.p80Minutes === null || job.p80Minutes > local.endOfDay(by)),
    );
    if (late || count === 30) return count;
  }
}

async function demo(): Promise<{ demoSaid: number; demoOneByOne: number }> {
  const setup = await import(pathToFileURL(path.join(projectRoot, 'test/harness/global-setup.mjs')).href);
  const teardown = await import(pathToFileURL(path.join(projectRoot, 'test/harness/global-teardown.mjs')).href);
  await setup.default();
  const opened = await createTestDatabase();
  try {
    const now = new Date('2026-11-25T15:00:00Z');
    const { shopId } = await loadDemo(opened.database, now);
    const appContext = {
      database: opened.database,
      clock: () => now,
      threads: noThreads,
      checkReplies: false,
      ports,
      reportFault: () => {},
    };
    return await inTransaction(appContext, { shopId, role: 'owner', accessKeyId: null }, async (context) => {
      const { forecast } = await currentPlan(context);
      const stored = await context.tx.route.findFirstOrThrow({
        where: { machineKind: 'singleStageThrower', archivedAt: null },
        include: withRouteTasks,
        orderBy: { createdAt: 'asc' },
      });
      const route = stepsOf(stored.tasks).map((step) => ({
        ...step,
        minMinutes: step.handsOnMinutes,
        maxMinutes: step.handsOnMinutes,
      }));
      const by = readyByDate(await planSnowOutlook(context), 14) ?? '';
      const records = withoutSharedLuck(forecast.records);
      const said = machinesThatFit({
        records,
        order: forecast.schedule.order,
        routes: [route],
        by,
        effort: CAPACITY_EFFORT,
      });
      return { demoSaid: countAt(said, 0.8), demoOneByOne: oneByOne(records, route, by, 3) };
    });
  } finally {
    await opened.close();
    await teardown.default();
  }
}

export async function main(args: string[]): Promise<void> {
  const { values } = parseArgs({
    args,
    options: { shops: { type: 'string', default: '200' }, json: { type: 'boolean', default: false } },
  });
  const small = compareSmallShops(Number(values.shops));
  const told = await demo();
  if (values.json) {
    console.log(JSON.stringify({ ...small, ...told }));
    return;
  }
  console.log(
    `${small.cases} small shops counted out: ${small.above} times said too many, ${small.below} times too few`,
  );
  console.log(`the demo at 80 %, without shared luck: said ${told.demoSaid}, one by one ${told.demoOneByOne}`);
}

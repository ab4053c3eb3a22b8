/** The day's list with what to have at hand for it: the parts that are held, by bin, and the coats, by name. */
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { lookUp } from '../../engine/look-up.js';
import { NotFound, Refused } from '../../platform/errors.js';
import { toDecimal } from '../../platform/money.js';
import { type OperationContext, query } from '../../platform/operation/operation.js';
import { id } from '../../platform/shapes.js';
import { needsOfTasks } from '../../purchasing/needs.queries.js';
import { type CurrentPlan, currentPlan } from '../background/current-plan.js';
import type { ScheduledRecords } from '../model/scheduled-records.js';
import type { PlanSimulation } from '../simulation/simulate-plan.js';
import { type BenchDay, benchList, type LikelyDays } from './bench-list.js';
import { BenchList, planDate } from './plan.shapes.js';

/** How far ahead the next day with work is looked for. */
const DAYS_AHEAD = 60;

/** Today's list, or on a day with nothing to do the next one that has something. */
export async function nextBenchList(
  context: OperationContext,
  { forecast: made, simulation }: CurrentPlan,
): Promise<BenchDay> {
  const todays = benchList(made, context.today, likelyDays(simulation));
  for (let ahead = 1, list = todays; ahead <= DAYS_AHEAD; ahead += 1) {
    if (list.tasks.length > 0) return { ...(await withThingsAtHand(context, made, list)), note: todays.note };
    list = benchList(made, made.built.local.dayAt(ahead), likelyDays(simulation));
  }
  return todays;
}

const likelyDays = ({ jobs }: PlanSimulation): LikelyDays => new Map(jobs.map((job) => [job.jobId, job.p50Date]));

/** In a constant number of statements. */
async function withThingsAtHand(
  context: OperationContext,
  { naming }: ScheduledRecords,
  list: BenchDay,
): Promise<BenchDay> {
  const picks = await picksOf(
    context,
    list.tasks.map((task) => task.taskId),
  );
  const tasks = list.tasks.map((task) => lookUp(naming.tasks, task.taskId));
  const coats = await coatsOf(
    context,
    tasks.filter((task) => task.needsPaintWeather),
  );
  return {
    ...list,
    tasks: list.tasks.map((task) => ({
      ...task,
      prepare: [...(picks.get(task.taskId) ?? []), ...(coats.get(task.taskId) ?? []), ...task.prepare],
    })),
  };
}

/** What is held for tasks, by task. */
async function picksOf(context: OperationContext, taskIds: string[]): Promise<Map<string, string[]>> {
  const held = (await needsOfTasks(context, taskIds)).flatMap(({ stockId, ...need }) =>
    need.usedDate === null && stockId !== null && toDecimal(need.quantityCovered).greaterThan(0)
      ? [{ ...need, stockId }]
      : [],
  );
  const bins = new Map(
    (
      await context.tx.stock.findMany({
        where: { id: { in: held.map((need) => need.stockId) } },
        include: { part: { select: { name: true } } },
      })
    ).map((bin) => [bin.id, bin]),
  );
  const picks = new Map<string, string[]>();
  for (const need of held) {
    const { bin, part } = lookUp(bins, need.stockId);
    picks.set(need.taskId, [
      ...(picks.get(need.taskId) ?? []),
      `pick ${new Decimal(need.quantityCovered).toString()} × ${part.name} from bin ${bin}`,
    ]);
  }
  return picks;
}

/** A can is brought to the temperature of the shop beforehand: common practice, no source. */
const WARM_UP = "bring the can and the parts to at least the can's own lowest temperature beforehand";

/**
 * Of each coat the product that is on the job already, else those of the shop that serve for it, with their own lowest
 * temperatures.
 */
async function coatsOf(
  context: OperationContext,
  tasks: readonly { id: string; jobId: string; kind: string }[],
): Promise<Map<string, string[]>> {
  if (tasks.length === 0) return new Map();
  const products = await context.tx.coatingProduct.findMany({
    where: { archivedAt: null },
    orderBy: [{ name: 'asc' }],
  });
  const applied = await context.tx.coat.findMany({
    where: { jobId: { in: tasks.map((task) => task.jobId) }, archivedAt: null },
    select: { jobId: true, productId: true },
  });
  return new Map(
    tasks.map(({ id, jobId, kind }) => {
      const serving = products.filter((product) => product.role === roleOf[kind]);
      const used = serving.filter((product) =>
        applied.some((coat) => coat.jobId === jobId && coat.productId === product.id),
      );
      const cans = used.length > 0 ? used : serving;
      return [
        id,
        [
          cans.length === 0
            ? WARM_UP
            : `bring ${cans.map((can) => `${can.name} (${Number(can.minCelsius)} °C or more)`).join(' or ')} ` +
              `and the parts to temperature beforehand`,
        ],
      ];
    }),
  );
}

/** One person's part of a day. */
function listOf(list: BenchDay, personId: string, { records }: ScheduledRecords): BenchDay {
  const person = records.people.find((one) => one.id === personId);
  if (!person) throw new NotFound('person', personId);
  const tasks = list.tasks.filter((task) => task.assignees.some((one) => one.personId === personId));
  const idle = list.tasks.length > 0 && tasks.length === 0;
  return { ...list, tasks, note: idle ? `Nothing that ${person.name} may do falls on this day.` : list.note };
}

const roleOf: Record<string, string> = { prime: 'primer', colour: 'colour', clear: 'clear' };

export const benchQueries = [
  query({
    name: 'benchList',
    slow: true,
    summary: 'What to work on, on one day, and what to have ready for it',
    rest: { method: 'GET', path: '/plan/bench' },
    input: z.strictObject({
      day: planDate,
      personId: id.nullish().meta({ scalar: 'ID', description: 'Only what this person is to do.' }),
    }),
    output: BenchList,
    async run(context, input) {
      const day = input.day ?? context.today;
      if (day < context.today)
        throw new Refused(
          'day-past',
          'The plan looks forward; what was done on a past day stands in the labour entries.',
        );
      const { forecast, simulation } = await currentPlan(context);
      const list = benchList(forecast, day, likelyDays(simulation));
      return withThingsAtHand(context, forecast, input.personId ? listOf(list, input.personId, forecast) : list);
    },
  }),
];

import { z } from 'zod';
import { type CompletePart, partsByIds } from '../catalogue/catalogue.queries.js';
import { type ArrivalForecast, reorderPoint, STATED_USE_PRIOR, updateRate } from '../engine/arrival/index.js';
import { EngineError } from '../engine/error.js';
import { lookUp } from '../engine/look-up.js';
import { addDays, daysBetween } from '../platform/days.js';
import { toDecimal } from '../platform/money.js';
import { asDate } from '../platform/operation/columns.js';
import { everyone, type OperationContext, query } from '../platform/operation/operation.js';
import type { AnyDecimal } from '../platform/operation/row.js';
import { id, int, shape } from '../platform/shapes.js';
import { forecastsIfOrdered } from './arrivals.queries.js';

const LOOK_BACK_DAYS = 365;
const CHANCE = 0.9;

export const Reorder = shape(
  'Reorder',
  {
    partId: id,
    name: z.string(),
    quantityFree: z.number(),
    quantityOnOrder: z.number(),
    reorderPoint: z.number().nullable().meta({ description: 'As the shop has set it.' }),
    usedInYear: z.number(),
    leadDays: int(0, 100_000)
      .nullable()
      .meta({ scalar: 'Int', description: 'How long an order takes, with four chances in five.' }),
    suggestedReorderPoint: int(0, 2_000_000_000)
      .nullable()
      .meta({
        scalar: 'Int',
        description:
          'Ordered as soon as there are fewer than this, they last with nine chances in ten until the order ' +
          'comes; 0 for a part that no more than one task of the year past took: it is bought when it is needed. Null when nobody can say.',
      }),
    orderNow: z.boolean().meta({
      description:
        "Free and on order together are fewer than the shop's reorder point, or than the suggested one where it has set none.",
    }),
    reasons: z.array(z.string()),
  },
  'Whether it is time to order a part again, from its use and from how long orders take.',
);

/** Parts that have a reorder point or were used in the last year, those to order now first. */
async function reorders(context: OperationContext) {
  const since = asDate(addDays(context.today, -LOOK_BACK_DAYS));
  // What was taken back for a task is no use by it.
  const rows = await context.tx.$queryRaw<{ id: string; used: AnyDecimal; tasks: number }[]>`
    select p.id, coalesce(sum(one.used), 0) as used, count(*) filter (where one.used > 0)::int as tasks
    from "Part" p left join (
      select s."partId", m."taskId", -sum(m.change) as used from "StockMovement" m join "Stock" s on s.id = m."stockId"
      where m."movedDate" > ${since} and m."taskId" is not null group by s."partId", m."taskId") one on one."partId" = p.id
    where p."archivedAt" is null group by p.id, p."reorderPoint" having p."reorderPoint" is not null or sum(one.used) > 0`;
  const used = new Map(
    rows.map((row): [string, Use] => [row.id, { quantity: toDecimal(row.used).toNumber(), tasks: row.tasks }]),
  );
  const parts = await partsByIds(context, [...used.keys()]);
  const forecasts = await forecastsIfOrdered(
    context,
    parts.map((part) => part.family),
  );
  return parts
    .map((part) =>
      reorderOf(part, used.get(part.id) ?? { quantity: 0, tasks: 0 }, lookUp(forecasts, part.family), context.today),
    )
    .sort((a, b) => Number(b.orderNow) - Number(a.orderNow) || (a.name < b.name ? -1 : 1));
}

/** In the year past. */
interface Use {
  quantity: number;
  /** How many tasks took some. */
  tasks: number;
}

/** What a single task took is no use that goes on: such a part is bought when it is needed. */
const LEAST_TASKS = 2;

/** The least stock that lasts, over what is not known of the use and of the arrival both, and one more: order below it. */
function suggested({ quantity, tasks }: Use, ifOrdered: ArrivalForecast): number | null {
  if (tasks < LEAST_TASKS) return 0;
  try {
    return reorderPoint(updateRate(STATED_USE_PRIOR, quantity, LOOK_BACK_DAYS), ifOrdered, CHANCE).quantity + 1;
  } catch (error) {
    // No stock can promise so much: such parts may not come at all.
    if (error instanceof EngineError) return null;
    throw error;
  }
}

function reorderOf(part: CompletePart, use: Use, ifOrdered: ArrivalForecast, today: string) {
  const leadDays = ifOrdered.p80Date ? daysBetween(today, ifOrdered.p80Date) : null;
  const suggestedReorderPoint = suggested(use, ifOrdered);
  const set = part.reorderPoint === null ? null : toDecimal(part.reorderPoint).toNumber();
  const point = set ?? suggestedReorderPoint ?? 0;
  const lead = `An order takes ${leadDays === null ? 'longer than can be said' : `up to ${leadDays} days`} in four cases of five.`;
  const coming = part.quantityFree.plus(part.quantityOnOrder);
  return {
    partId: part.id,
    name: part.name,
    quantityFree: part.quantityFree,
    quantityOnOrder: part.quantityOnOrder,
    reorderPoint: set,
    usedInYear: use.quantity,
    leadDays,
    suggestedReorderPoint,
    orderNow: coming.lessThan(point),
    reasons: [
      set === null && use.tasks === 1
        ? `Used by one task in ${LOOK_BACK_DAYS} days: it is bought when it is needed, unless a reorder point is set. ${lead}`
        : `${coming} free and on order against a reorder point of ${point}${set === null ? ', suggested' : ', as set'}: ` +
          `${use.quantity} used by ${use.tasks} ${use.tasks === 1 ? 'task' : 'tasks'} in ${LOOK_BACK_DAYS} days. ${lead}`,
    ],
  };
}

export const reorderQueries = [
  query({
    name: 'reorders',
    summary: 'Which parts to order again, from their use and from how long orders take',
    roles: everyone,
    rest: { method: 'GET', path: '/reorders' },
    input: z.strictObject({}),
    output: shape('Reorders', { reorders: z.array(Reorder) }),
    run: async (context) => ({ reorders: await reorders(context) }),
  }),
];

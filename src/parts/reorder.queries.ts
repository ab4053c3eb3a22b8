import { z } from 'zod';
import { reorderPoint, STATED_USE_PRIOR, updateRate, type ArrivalForecast } from '../engine/arrival/index.js';
import { EngineError } from '../engine/error.js';
import { addDays, daysBetween } from '../platform/days.js';
import { everyone, query, type Call, type Presentable } from '../platform/operation/operation.js';
import { asDate } from '../platform/operation/records.js';
import { id, int, shape } from '../platform/shapes.js';
import { forecastsIfOrdered } from './arrivals.queries.js';
import { partsByIds } from './catalogue.queries.js';
import { figure } from '../platform/money.js';

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
    leadDays: int(0, 100_000).nullable().meta({ scalar: 'Int', description: 'How long an order takes, with four chances in five.' }),
    suggestedReorderPoint: int(0, 2_000_000_000).nullable().meta({ scalar: 'Int', description: 'Ordered as soon as there are fewer than this, they last with nine chances in ten until the order comes; 0 for a part of which none was used. Null when nobody can say.' }),
    orderNow: z.boolean().meta({ description: 'Free and on order together are fewer than the shop\'s reorder point, or than the suggested one where it has set none.' }),
    why: z.string(),
  },
  'Whether it is time to order a part again, from its use and from how long orders take.',
);

/** Parts that have a reorder point or were used in the last year, those to order now first. */
async function reorders(call: Call): Promise<Presentable[]> {
  const since = asDate(addDays(call.today, -LOOK_BACK_DAYS));
  const rows = await call.tx.$queryRaw<{ id: string; used: unknown }[]>`
    select p.id, coalesce(-sum(m.change), 0) as used
    from "Part" p left join "Stock" s on s."partId" = p.id
      left join "StockMovement" m on m."stockId" = s.id and m."movedOn" > ${since} and m."taskId" is not null
    where p."retiredAt" is null group by p.id, p."reorderPoint" having p."reorderPoint" is not null or -sum(m.change) > 0`;
  const used = new Map(rows.map((row) => [row.id, figure(row.used as string).toNumber()]));
  const parts = await partsByIds(call, [...used.keys()]);
  const forecasts = await forecastsIfOrdered(call, parts.map((part) => part.family as string));
  return parts.map((part) => reorderOf(part, used.get(part.id) ?? 0, forecasts.get(part.family)!, call.today)).sort((a, b) => Number(b.orderNow) - Number(a.orderNow) || (a.name < b.name ? -1 : 1));
}

/** The least stock that lasts, over what is not known of the use and of the arrival both, and one more: order below it. */
function suggested(usedInYear: number, ifOrdered: ArrivalForecast): number | null {
  if (usedInYear === 0) return 0;
  try {
    return reorderPoint(updateRate(STATED_USE_PRIOR, usedInYear, LOOK_BACK_DAYS), ifOrdered, CHANCE).quantity + 1;
  } catch (error) {
    // No stock can promise so much: such parts may not come at all.
    if (error instanceof EngineError) return null;
    throw error;
  }
}

function reorderOf(part: Presentable, usedInYear: number, ifOrdered: ArrivalForecast, today: string): Presentable {
  const leadDays = ifOrdered.p80Day ? daysBetween(today, ifOrdered.p80Day) : null;
  const suggestedReorderPoint = suggested(usedInYear, ifOrdered);
  const set = part.reorderPoint === null ? null : figure(part.reorderPoint).toNumber();
  const point = set ?? suggestedReorderPoint ?? 0;
  const coming = part.quantityFree.plus(part.quantityOnOrder);
  return {
    partId: part.id,
    name: part.name,
    quantityFree: part.quantityFree,
    quantityOnOrder: part.quantityOnOrder,
    reorderPoint: set,
    usedInYear,
    leadDays,
    suggestedReorderPoint,
    orderNow: coming.lessThan(point),
    why: `${coming} free and on order against a reorder point of ${point}${set === null ? ', suggested' : ', as set'}: ${usedInYear} used in ${LOOK_BACK_DAYS} days, and an order takes ${leadDays === null ? 'longer than can be said' : `up to ${leadDays} days`} in four cases of five.`,
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
    run: async (call) => ({ reorders: await reorders(call) }),
  }),
];

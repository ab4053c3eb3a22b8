import { z } from 'zod';
import { everyone, query, type Call, type Presentable } from '../platform/operation/operation.js';
import { asDate } from '../platform/operation/records.js';
import { id, int, shape } from '../platform/shapes.js';
import { arrivalForecasts } from './arrivals.queries.js';
import { partsByIds } from './catalogue.queries.js';
import { reorderPointFor } from './reorder.js';
import { figure } from './rows.js';

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
    suggestedReorderPoint: int(0, 2_000_000_000).nullable().meta({ scalar: 'Int', description: 'Nine chances in ten not to run out while an order is on its way.' }),
    orderNow: z.boolean().meta({ description: 'Free and on order together are fewer than the shop\'s reorder point, or than the suggested one where it has set none.' }),
    why: z.string(),
  },
  'Whether it is time to order a part again, from its use and from how long orders take.',
);

/** Parts that have a reorder point or were used in the last year, those to order now first. */
async function reorders(call: Call): Promise<Presentable[]> {
  const since = asDate(new Date(Date.parse(call.today) - LOOK_BACK_DAYS * 86_400_000).toISOString().slice(0, 10));
  const rows = await call.tx.$queryRaw<{ id: string; used: unknown }[]>`
    select p.id, coalesce(-sum(m.change), 0) as used
    from "Part" p left join "Stock" s on s."partId" = p.id
      left join "StockMovement" m on m."stockId" = s.id and m."movedOn" > ${since} and m."taskId" is not null
    where p."retiredAt" is null group by p.id, p."reorderPoint" having p."reorderPoint" is not null or -sum(m.change) > 0`;
  const used = new Map(rows.map((row) => [row.id, figure(row.used as string).toNumber()]));
  const parts = await partsByIds(call, [...used.keys()]);
  const { ifOrderedTodaySurely } = await arrivalForecasts(call, { orderLineIds: [], families: parts.map((part) => part.family as string) });
  return parts.map((part) => reorderOf(part, used.get(part.id) ?? 0, ifOrderedTodaySurely.get(part.family), call.today)).sort((a, b) => Number(b.orderNow) - Number(a.orderNow) || (a.name < b.name ? -1 : 1));
}

function reorderOf(part: Presentable, usedInYear: number, surely: string | undefined, today: string): Presentable {
  const leadDays = surely ? Math.round((Date.parse(surely) - Date.parse(today)) / 86_400_000) : null;
  const suggestedReorderPoint = leadDays === null ? null : reorderPointFor(usedInYear / LOOK_BACK_DAYS, leadDays, CHANCE);
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

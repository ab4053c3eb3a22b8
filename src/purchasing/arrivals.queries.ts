/** When outstanding lines will come: the shop's own order history, read once, and the arrival engine. */
import { z } from 'zod';
import {
  type ArrivalForecast as EngineForecast,
  type ArrivalLine,
  probabilityByDate,
} from '../engine/arrival/index.js';
import { at } from '../engine/look-up.js';
import { Conflict, NotFound } from '../platform/errors.js';
import { type OperationContext, query } from '../platform/operation/operation.js';
import { day, id, shape } from '../platform/shapes.js';
import { Arrival } from './arrivals.shapes.js';
import { promiseFacts } from './orders.queries.js';
import { workerTasks } from './worker-tasks.js';

/** An outstanding line's forecast; `probabilityByOffset` and `asOf` are what the engine samples from. */
export interface ArrivalForecast extends EngineForecast {
  orderLineId: string;
  supplierId: string;
  supplierName: string;
  family: string;
  promisedDate: string | null;
  backOrdered: boolean;
}

export interface Arrivals {
  byLine: Map<string, ArrivalForecast>;
  /** For each family asked about, the day on which an order made today would come with one chance in two. */
  ifOrderedToday: Map<string, string>;
  /** The same with four chances in five. */
  ifOrderedTodaySurely: Map<string, string>;
}

interface HistoryLine extends ArrivalLine {
  supplierName: string;
  outstanding: boolean;
}

/**
 * Forecasts outstanding lines, in one statement for any number of them.
 * @param wanted the lines (all outstanding ones when not given; others than outstanding are left out), and the
 *   families of parts that are not ordered yet
 */
export async function arrivalForecasts(
  context: OperationContext,
  wanted: { orderLineIds?: readonly string[]; families?: readonly string[] } = {},
): Promise<Arrivals> {
  const history = await orderHistory(context);
  const asked = wanted.orderLineIds && new Set(wanted.orderLineIds);
  const lines = history.filter((line) => line.outstanding && (!asked || asked.has(line.id)));
  const families = [...new Set(wanted.families ?? [])];
  const forecasts = await forecast(context, history, [
    ...lines,
    ...families.map((family) => usualOrder(history, family, context.today)),
  ]);
  const ordered = families.map((family, index) => [family, at(forecasts, lines.length + index)] as const);
  return {
    byLine: new Map(lines.map((line, index) => [line.id, withSchedule(at(forecasts, index), line, context.today)])),
    ifOrderedToday: new Map(ordered.flatMap(([family, { p50Date }]) => (p50Date ? [[family, p50Date] as const] : []))),
    ifOrderedTodaySurely: new Map(
      ordered.flatMap(([family, { p80Date }]) => (p80Date ? [[family, p80Date] as const] : [])),
    ),
  };
}

const forecast = async (
  context: OperationContext,
  history: readonly HistoryLine[],
  lines: readonly ArrivalLine[],
): Promise<EngineForecast[]> =>
  lines.length === 0 ? [] : context.compute(workerTasks.arrivals, { history, today: context.today, lines });

/** A line as it would be if it were ordered today. */
const notOrdered = (supplierId: string, family: string, today: string): ArrivalLine => ({
  id: 'not ordered',
  supplierId,
  family,
  orderedDate: today,
});

/** What the engine expects of parts of a family if they were ordered today from each of some suppliers, by supplier. */
export async function forecastsIfOrderedFrom(
  context: OperationContext,
  supplierIds: readonly string[],
  family: string,
): Promise<Map<string, EngineForecast>> {
  if (supplierIds.length === 0) return new Map();
  const forecasts = await forecast(
    context,
    await orderHistory(context),
    supplierIds.map((supplierId) => notOrdered(supplierId, family, context.today)),
  );
  return new Map(supplierIds.map((supplierId, index) => [supplierId, at(forecasts, index)]));
}

/** The same of some families, each from its usual supplier, by family. */
export async function forecastsIfOrdered(
  context: OperationContext,
  families: readonly string[],
): Promise<Map<string, EngineForecast>> {
  if (families.length === 0) return new Map();
  const history = await orderHistory(context);
  const each = [...new Set(families)];
  const forecasts = await forecast(
    context,
    history,
    each.map((family) => usualOrder(history, family, context.today)),
  );
  return new Map(each.map((family, index) => [family, at(forecasts, index)]));
}

function withSchedule(made: EngineForecast, line: HistoryLine, today: string): ArrivalForecast {
  const promises = (line.promises ?? []).map((one) => ({
    promisedDate: one.promisedDate === null ? null : new Date(`${one.promisedDate}T00:00:00Z`),
  }));
  const { promisedDate, backOrdered } = promiseFacts(promises, true, today);
  const { id: orderLineId, supplierId, supplierName, family } = line;
  return { ...made, orderLineId, supplierId, supplierName, family, promisedDate, backOrdered };
}

/** An order of today from the supplier that such parts were most often ordered from, or from one not yet known. */
function usualOrder(history: readonly HistoryLine[], family: string, today: string): ArrivalLine {
  const times = new Map<string, number>();
  for (const line of history)
    if (line.family === family) times.set(line.supplierId, (times.get(line.supplierId) ?? 0) + 1);
  const [usual] = [...times].sort(([a, n], [b, m]) => m - n || (a < b ? -1 : 1));
  return notOrdered(usual?.[0] ?? 'not known', family, today);
}

/** Every order line of the shop as the arrival engine reads it. A line that was cut short counts as at least so long. */
async function orderHistory(context: OperationContext): Promise<HistoryLine[]> {
  return context.tx.$queryRaw<HistoryLine[]>`
    select l.id, o."supplierId", s.name as "supplierName", p.family, to_char(o."orderedDate", 'YYYY-MM-DD') as "orderedDate",
      l."quantityReceived" + l."quantityCancelled" < l."quantityOrdered" as outstanding,
      case when l."quantityReceived" = l."quantityOrdered" then to_char(
        (select max(r."receivedDate") from "Receipt" r
          where r."orderLineId" = l.id and r.condition = 'good'), 'YYYY-MM-DD') end as "receivedDate",
      case when l."quantityReceived" + l."quantityCancelled" >= l."quantityOrdered" and l."quantityCancelled" > 0
        then to_char(greatest(l."cancelledDate", o."orderedDate"), 'YYYY-MM-DD') end as "cancelledDate",
      coalesce((select json_agg(json_build_object('statedDate', to_char(m."statedDate", 'YYYY-MM-DD'),
        'promisedDate', to_char(m."promisedDate", 'YYYY-MM-DD')) order by m.sequence)
        from "Promise" m where m."orderLineId" = l.id), '[]') as promises
    from "OrderLine" l join "Order" o on o.id = l."orderId" join "Supplier" s on s.id = o."supplierId" join "Part" p on p.id = l."partId"
    where o."archivedAt" is null order by o."orderedDate", l.id`;
}

const answerOf = (forecast: ArrivalForecast, byDate?: string | null) => ({
  ...forecast,
  components: forecast.parts,
  probabilityByDate: byDate ? probabilityByDate(forecast, byDate) : null,
});

/** The forecasts of some lines, null for those that wait no more, in their order. */
export async function arrivalsOf(context: OperationContext, lines: readonly { id: string }[]) {
  const { byLine } = await arrivalForecasts(context, { orderLineIds: lines.map((line) => line.id) });
  return lines.map((line) => {
    const forecast = byLine.get(line.id);
    return forecast ? answerOf(forecast) : null;
  });
}

const byDate = day
  .nullish()
  .meta({ scalar: 'Day', description: 'Also say the chance that it has come by the end of this day.' });

export const arrivalQueries = [
  query({
    name: 'arrival',
    summary: 'When the rest of an order line is expected, and why',
    rest: { method: 'GET', path: '/order-lines/:id/arrival' },
    input: z.strictObject({ id, byDate }),
    output: Arrival,
    async run(context, input) {
      const forecast = (await arrivalForecasts(context, { orderLineIds: [input.id] })).byLine.get(input.id);
      if (forecast) return answerOf(forecast, input.byDate);
      if (!(await context.tx.orderLine.findFirst({ where: { id: input.id } })))
        throw new NotFound('order line', input.id);
      throw new Conflict('nothing-outstanding', 'Nothing is to come on this line any more.');
    },
  }),
  query({
    name: 'arrivals',
    slow: true,
    summary: 'When every outstanding order line is expected, soonest first',
    rest: { method: 'GET', path: '/arrivals' },
    input: z.strictObject({ byDate }),
    output: shape('Arrivals', { arrivals: z.array(Arrival) }),
    async run(context, input) {
      const { byLine } = await arrivalForecasts(context);
      const forecasts = [...byLine.values()].sort((a, b) => ((a.p50Date ?? '9') < (b.p50Date ?? '9') ? -1 : 1));
      return { arrivals: forecasts.map((forecast) => answerOf(forecast, input.byDate)) };
    },
  }),
];

/** The parts that open tasks need and do not have, with when they may come. */
import { HORIZON_DAYS, sampleArrivalOffset } from '../../engine/arrival/index.js';
import { normalQuantile } from '../../engine/statistics/index.js';
import { addDays } from '../../platform/days.js';
import { daysBetween } from '../../platform/days.js';
import { toDecimal } from '../../platform/money.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import { type ArrivalForecast, arrivalForecasts, type Arrivals } from '../../purchasing/arrivals.queries.js';
import { needsOfJobs } from '../../purchasing/needs.queries.js';
import type { AwaitedPart } from './records.js';

/** Equally likely arrivals kept of each forecast; the quantiles that a plan gives are no finer. */
const SAMPLES = 40;
/** Standard normal quantile of 0.8: what lies between the median and four chances in five. */
const Z80 = normalQuantile(0.8);

/** Needs that nothing on hand meets yet, by task. */
export async function awaitedParts(context: OperationContext, jobIds: string[]): Promise<Map<string, AwaitedPart[]>> {
  const open = (await needsOfJobs(context, jobIds)).filter(
    (need) => need.status !== 'used' && need.status !== 'onHand',
  );
  if (open.length === 0) return new Map();
  const parts = new Map(
    (
      await context.tx.part.findMany({
        where: { id: { in: open.map((need) => need.partId as string) } },
        select: { id: true, name: true, family: true },
      })
    ).map((part) => [part.id, part]),
  );
  const lineIds = open.map((need) => need.orderLineId).filter((one) => one !== null);
  const orders = new Map(
    (await context.tx.orderLine.findMany({ where: { id: { in: lineIds } }, select: { id: true, orderId: true } })).map(
      (line) => [line.id, line.orderId],
    ),
  );
  const arrivals = await arrivalForecasts(context, {
    orderLineIds: lineIds,
    families: [...parts.values()].map((part) => part.family),
  });
  const byTask = new Map<string, AwaitedPart[]>();
  for (const need of open) {
    const part = parts.get(need.partId) ?? { id: need.partId, name: 'a part', family: '' };
    const arrival =
      need.status === 'unordered' || need.orderLineId === null ? undefined : arrivals.byLine.get(need.orderLineId);
    const one: AwaitedPart = {
      needId: need.id,
      partName: part.name,
      // What has come of it already is in its bin.
      quantity: toDecimal(need.quantity).minus(need.quantityCovered).toString(),
      ...(arrival
        ? comingOf(arrival, context.today, orders.get(arrival.orderLineId))
        : unordered(part, arrivals, context.today)),
    };
    const list = byTask.get(need.taskId);
    if (list) list.push(one);
    else byTask.set(need.taskId, [one]);
  }
  return byTask;
}

type Coming = Omit<AwaitedPart, 'needId' | 'partName' | 'quantity'>;

const likelihoods = Array.from({ length: SAMPLES }, (_, k) => (k + 0.5) / SAMPLES);

/** How what is ordered comes. @param orderId of its order, unless the order has yet to be made */
export function comingOf(arrival: ArrivalForecast, today: string, orderId?: string): Coming {
  return {
    supplierName: arrival.supplierName,
    // More likely than not beyond all that is forecast: never is nearer than today.
    expectedDate: arrival.p50Date ?? addDays(today, HORIZON_DAYS + 1),
    ordered: true,
    backOrdered: arrival.backOrdered,
    orderLineId: arrival.orderLineId,
    // What is back-ordered was left out of the parcel.
    parcel: arrival.backOrdered ? `line ${arrival.orderLineId}` : `order ${orderId ?? arrival.orderLineId}`,
    arrivalOffsets: likelihoods.map((probability) => sampleArrivalOffset(arrival, probability)),
  };
}

/** As if it were ordered today. Only the median and four chances in five are known; between and beyond, lognormal. */
function unordered(part: { id: string; family: string }, arrivals: Arrivals, today: string): Coming {
  const median = arrivals.ifOrderedToday.get(part.family) ?? today;
  const days = Math.max(1, daysBetween(today, median));
  const surely = daysBetween(today, arrivals.ifOrderedTodaySurely.get(part.family) ?? median);
  const sigma = Math.log(Math.max(days, surely) / days) / Z80;
  return {
    supplierName: null,
    expectedDate: median,
    ordered: false,
    backOrdered: false,
    orderLineId: null,
    parcel: `not ordered ${part.id}`,
    arrivalOffsets: likelihoods.map((probability) => Math.round(days * Math.exp(sigma * normalQuantile(probability)))),
  };
}

/** Equally likely days until a part would come that is found to be needed today, of any family ordered so far. */
export async function unorderedPartDays(context: OperationContext): Promise<number[]> {
  const families = await context.tx.part.findMany({
    where: { archivedAt: null },
    distinct: ['family'],
    select: { family: true },
    orderBy: { family: 'asc' },
    take: MAX_FAMILIES,
  });
  const arrivals = await arrivalForecasts(context, { orderLineIds: [], families: families.map((one) => one.family) });
  return families
    .filter((one) => arrivals.ifOrderedToday.has(one.family))
    .flatMap((one) => unordered({ id: '', ...one }, arrivals, context.today).arrivalOffsets)
    .sort((a, b) => a - b);
}

/** Enough to tell how long parts take here. */
const MAX_FAMILIES = 12;

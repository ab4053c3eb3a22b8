/** What to pay at most for a machine not yet bought: the way from its sale back to its purchase. */
import { addDays, daysBetween } from '../platform/days.js';
import { Decimal } from 'decimal.js';
import type { z } from 'zod';
import { taxSchemeOf } from '../cost/cost.queries.js';
import { estimateAtCompletion, roundAmount } from '../engine/money/index.js';
import { estimatePrice, highestBid, netOfSale } from '../engine/price/index.js';
import { checkAmount, figure } from '../platform/money.js';
import { Refused } from '../platform/errors.js';
import { priceReaders, query, type Call, type Presentable } from '../platform/operation/operation.js';
import { forecast } from '../plan/forecast.js';
import type { PlanRecords } from '../plan/problem.js';
import { stepsOf } from '../plan/route-steps.js';
import { works } from '../plan/works.js';
import { readShop } from '../shop/shop.queries.js';
import { labourByJob } from '../work/labour.js';
import { FINISHED_CONDITION, readMarket, worthNextSeason } from './market.queries.js';
import { BidAdvice, BidQuestion } from './price.shapes.js';

type Asked = z.output<typeof BidQuestion>;

/** Parts and hours of a machine not seen yet, in shares of the likely: from half as much to twice as much. A judgement, no source. */
const UNSEEN = { low: 0.5, high: 2 };

interface Experience {
  jobs: number;
  cash: Decimal;
  /** What selling one cost. */
  selling: Decimal;
  minutes: number;
}

/** What the shop's own sold machines of a kind took on average. Three statements. */
async function experienceWith(call: Call, kind: Asked['kind']): Promise<Experience> {
  const sold = await call.tx.job.findMany({ where: { outcome: 'sold', retiredAt: null, machine: { kind } }, select: { id: true } });
  const ids = sold.map((job) => job.id);
  if (ids.length === 0) return { jobs: 0, cash: new Decimal(0), selling: new Decimal(0), minutes: 0 };
  const entries = await call.tx.ledgerEntry.findMany({ where: { jobId: { in: ids }, kind: { in: ['part', 'consumable', 'other', 'refund', 'selling'] } }, select: { kind: true, amount: true } });
  const sum = (...kinds: string[]) => Decimal.sum(0, ...entries.filter(({ kind }) => kinds.includes(kind)).map(({ amount }) => figure(amount)));
  const spent = sum('part', 'consumable', 'other').minus(sum('refund'));
  const labour = await labourByJob(call, ids);
  const minutes = [...labour.values()].reduce((sum, one) => sum + one.minutes, 0);
  return { jobs: ids.length, cash: Decimal.max(0, spent).div(ids.length), selling: sum('selling').div(ids.length), minutes: Math.round(minutes / ids.length) };
}

/**
 * @param records the shop's records as the plan has read them, where the caller has them already
 * @returns null when nothing speaks for a price: no comparable of the kind
 */
export async function bidAdvice(call: Call, asked: Asked, records?: PlanRecords): Promise<Presentable | null> {
  const { currency } = call.shop;
  const shop = await readShop(call);
  const market = await readMarket(call);
  if (!market.comparables.some((one) => one.kind === asked.kind)) return null;
  const own = await experienceWith(call, asked.kind);
  const route = await call.tx.route.findFirst({ where: { machineKind: asked.kind, retiredAt: null }, orderBy: [{ createdAt: 'asc' }, { id: 'asc' }] });
  const steps = route ? stepsOf(route.tasks) : [];
  const routeMinutes = steps.reduce((sum, step) => sum + step.handsOnMinutes * step.people, 0);
  const minutes = asked.handsOnMinutes ?? (own.jobs > 0 ? own.minutes : routeMinutes);
  const partsCost = asked.partsCost ? checkAmount(asked.partsCost, currency, '/partsCost') : roundAmount(own.cash, currency);
  const readyDay = steps.length > 0 ? (await call.compute(works.moreThatFit, { records: records ?? (await forecast(call)).records, route: steps, by: call.today }, call.signal)).nextDay : addDays(call.today, 30);
  const listFrom = readyDay ?? addDays(call.today, 365);
  const season = market.seasonOf(asked.kind);
  const estimate = estimatePrice({
    machine: { kind: asked.kind, maker: asked.maker, condition: asked.finishedCondition ?? FINISHED_CONDITION, yearEstimate: asked.yearEstimate, clearingWidthMillimetres: asked.clearingWidthMillimetres },
    comparables: market.comparables,
    on: listFrom,
    today: call.today,
    season,
    currency,
  });
  const spacePerDay = figure(shop.spaceCostPerDay);
  const haul = roundAmount(figure(shop.haulCostPerKilometre).times(asked.haulKilometres ?? 0), currency);
  const refurbishment = estimateAtCompletion(
    new Decimal(0),
    [{ what: 'parts and paint', low: roundAmount(partsCost.times(UNSEEN.low), currency), likely: partsCost, high: roundAmount(partsCost.times(UNSEEN.high), currency) }],
    currency,
  );
  const terms = { tax: taxSchemeOf(shop), fixedCost: roundAmount(own.selling, currency) };
  const settled = (targetMarginPercent: number, purchasePrice: Decimal) =>
    highestBid({
      sale: {
        estimate,
        season,
        listFrom,
        deadline: market.deadlineFor(asked.kind, listFrom),
        terms,
        buyersPerWeek: market.buyersOf(asked.kind).buyersPerWeek,
        holdingCostPerWeek: roundAmount(spacePerDay.times(7), currency),
        valueIfUnsold: worthNextSeason(netOfSale(estimate.p50, { ...terms, purchasePrice }, currency), spacePerDay, currency),
      },
      refurbishment,
      haul,
      ownMinutes: minutes,
      hourlyValue: figure(shop.hourlyValue),
      spaceDays: Math.max(0, daysBetween(call.today, listFrom)),
      spaceCostPerDay: spacePerDay,
      targetMarginPercent,
    });
  // Under a margin scheme the tax on next season's sale depends on the bid too: once from nothing paid, once from that.
  const bidFor = (targetMarginPercent: number) => {
    const first = settled(targetMarginPercent, new Decimal(0));
    return terms.tax.kind === 'marginScheme' ? settled(targetMarginPercent, first.bid) : first;
  };
  const bid = bidFor(asked.targetMarginPercent ?? 15);
  return {
    kind: asked.kind,
    expected: { low: estimate.p10, likely: estimate.p50, high: estimate.p90 },
    partsCost,
    handsOnMinutes: minutes,
    readyDay,
    highestBid: bid.bid,
    // Of the three rules only that of the margin: what an hour must earn and the risk are what a bid is lowered for.
    breakEvenBid: Decimal.max(0, bidFor(0).limits.targetMargin),
    comparablesUsed: estimate.used.length,
    why: [
      ...bid.why,
      own.jobs > 0
        ? `parts and hours as on the shop's own ${own.jobs} sold of the kind: ${partsCost.toFixed()} ${currency} and ${(minutes / 60).toFixed(1)} hours${own.selling.greaterThan(0) ? `, and ${terms.fixedCost.toFixed()} ${currency} to sell one` : ''}`
        : `${(minutes / 60).toFixed(1)} hours${typeof asked.handsOnMinutes === 'number' ? ' as asked' : ' from the shop\'s route'}; nothing of the kind has been sold here yet`,
      ...(readyDay ? [`taken in today it would be finished about ${readyDay}, behind all that is open`] : ['there is no room for it in the plan']),
      ...estimate.why,
    ],
  };
}

export const bidQuery = query({
  name: 'bidAdvice',
  summary: 'What to pay at most for a machine not yet bought',
  roles: priceReaders,
  rest: { method: 'GET', path: '/bid' },
  input: BidQuestion,
  output: BidAdvice,
  async run(call, input) {
    const advice = await bidAdvice(call, input);
    if (!advice) throw new Refused('nothing-to-go-by', 'There is no comparable of that kind: record what such machines are offered or sold for.');
    return advice;
  },
});

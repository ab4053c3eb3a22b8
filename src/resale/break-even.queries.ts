/** What the place really cost against what jobs bore of it, and how many machines cover the fixed costs. */
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { jobCosts } from '../cost/cost.queries.js';
import { ratesOf } from '../cost/rates.queries.js';
import { breakEven, overheadRate, roundAmount, spaceCost, underApplied } from '../engine/money/index.js';
import { MachineKind } from '../machines/machines.shapes.js';
import { addDays, daysBetween } from '../platform/days.js';
import { Invalid, Refused } from '../platform/errors.js';
import { checkAmount } from '../platform/money.js';
import { asDate } from '../platform/operation/columns.js';
import { type OperationContext, priceReaders, query } from '../platform/operation/operation.js';
import { amount, day, decimal } from '../platform/shapes.js';
import { BreakEvenReport, OverheadReport } from './business.shapes.js';

/** Days within a period that machines stood here for a job, at each day's cost. */
async function spaceApplied(context: OperationContext, from: string, to: string) {
  const end = addDays(to < context.today ? to : context.today, to < context.today ? 1 : 0);
  const jobs = await context.tx.job.findMany({
    where: { archivedAt: null, openedDate: { lte: asDate(to) } },
    select: { id: true },
  });
  const facts = await jobCosts(
    context,
    jobs.map(({ id }) => id),
    new Map(),
  );
  const rates = await ratesOf(context);
  const stays = facts
    .map(({ stands }) => ({
      from: stands.from > from ? stands.from : from,
      to: stands.to < end ? stands.to : end,
    }))
    .filter((stay) => stay.from < stay.to);
  return {
    machineDays: stays.reduce((sum, stay) => sum + daysBetween(stay.from, stay.to), 0),
    applied: Decimal.sum(
      0,
      ...stays.flatMap((stay) =>
        rates
          .space(stay.from, stay.to)
          .map(({ days, costPerDay }) => spaceCost(days, costPerDay, context.shop.currency)),
      ),
    ),
  };
}

/** What machines of a kind have left and cost in cash on the mean, of the last year's sales. @throws Refused without one */
async function meansOf(context: OperationContext, kind: z.output<typeof MachineKind>) {
  const sold = await context.tx.job.findMany({
    where: {
      archivedAt: null,
      outcome: 'sold',
      machine: { kind },
      closedDate: { gt: asDate(addDays(context.today, -365)) },
    },
    select: { id: true },
  });
  const facts = await jobCosts(
    context,
    sold.map(({ id }) => id),
    new Map(),
  );
  const margins = facts.flatMap(({ margin, statement }) =>
    margin ? [{ net: margin.netProceeds, cash: statement.cashCost }] : [],
  );
  if (margins.length === 0)
    throw new Refused('nothing-to-go-by', 'None of that kind was sold in the last year: give price and variableCost.');
  const mean = (of: (one: (typeof margins)[number]) => Decimal): Decimal =>
    roundAmount(Decimal.sum(0, ...margins.map(of)).div(margins.length), context.shop.currency);
  return { price: mean(({ net }) => net), variableCost: mean(({ cash }) => cash), machines: margins.length };
}

export const breakEvenQueries = [
  query({
    name: 'overheadReport',
    slow: true,
    summary: 'What the place really cost in a period against what jobs were charged for standing in it',
    roles: priceReaders,
    rest: { method: 'GET', path: '/business/overhead' },
    input: z.strictObject({
      from: day,
      to: day,
      actualCost: amount.meta({ scalar: 'Money', description: 'Rent, power and the like of the period.' }),
    }),
    output: OverheadReport,
    async run(context, { from, to, actualCost }) {
      if (from > to) throw new Invalid([{ detail: 'lies after the last day', pointer: '/from' }]);
      const { currency } = context.shop;
      const actual = checkAmount(actualCost, currency, '/actualCost');
      const { machineDays, applied } = await spaceApplied(context, from, to);
      const rate = machineDays > 0 ? overheadRate(actual, machineDays, currency) : null;
      // The days bore different rates where the rate has changed: the mean of what they bore.
      const borne = machineDays > 0 ? applied.div(machineDays) : new Decimal(0);
      const under = underApplied(actual, borne, machineDays, currency);
      return {
        from,
        to,
        machineDays,
        appliedAmount: applied,
        actualAmount: actual,
        underAppliedAmount: under,
        costPerDay: rate && roundAmount(rate, currency),
        reasons: [
          `${machineDays} days of machines in the shop bore ${applied.toFixed()} of the ${actual.toFixed()} ${currency}`,
          under.greaterThan(0)
            ? 'The jobs bore too little: their full cost and margin look better than they are'
            : under.isZero()
              ? 'The jobs bore it exactly'
              : 'The jobs bore too much: their full cost and margin look worse than they are',
        ],
      };
    },
  }),
  query({
    name: 'breakEven',
    slow: true,
    summary: 'How many machines at one price cover the fixed costs and a profit wanted',
    roles: priceReaders,
    rest: { method: 'GET', path: '/business/break-even' },
    input: z.strictObject({
      fixedCosts: amount.meta({ scalar: 'Money', description: 'Of the season or year, whatever is sold.' }),
      profit: amount.nullish().meta({ scalar: 'Money', description: 'Wanted on top, before income tax.' }),
      kind: MachineKind.nullish().meta({
        description: 'Takes price and cost from the means of the shop’s own sales of the last year.',
      }),
      price: amount.nullish().meta({ scalar: 'Money', description: 'What one leaves after tax.' }),
      variableCost: amount.nullish().meta({ scalar: 'Money', description: 'What one more machine costs in cash.' }),
      machines: decimal(0, 100_000).nullish().meta({
        scalar: 'Float',
        description: 'How many may be sold: the margin of safety is told for them.',
      }),
    }),
    output: BreakEvenReport,
    async run(context, input) {
      const { currency } = context.shop;
      const means = input.kind ? await meansOf(context, input.kind) : null;
      const price = input.price ? checkAmount(input.price, currency, '/price') : means?.price;
      const cost = input.variableCost
        ? checkAmount(input.variableCost, currency, '/variableCost')
        : means?.variableCost;
      if (!price || !cost)
        throw new Invalid([
          {
            detail: 'give a price and a variable cost, or a kind of machine to take them from',
            pointer: price ? '/variableCost' : '/price',
          },
        ]);
      const fixed = checkAmount(input.fixedCosts, currency, '/fixedCosts');
      const answer = breakEven(price, cost, fixed, currency, checkAmount(input.profit ?? '0', currency, '/profit'));
      const sales = typeof input.machines === 'number' ? price.times(input.machines) : null;
      const safety = sales?.minus(answer.sales) ?? null;
      return {
        price,
        variableCost: cost,
        contribution: answer.contribution,
        contributionPercent: answer.contributionRatio.times(100).toDecimalPlaces(2).toNumber(),
        machines: answer.units.toDecimalPlaces(4).toNumber(),
        wholeMachines: answer.wholeUnits,
        salesAmount: answer.sales,
        safetyAmount: safety && roundAmount(safety, currency),
        safetyPercent:
          safety && sales?.greaterThan(0) ? safety.div(sales).times(100).toDecimalPlaces(2).toNumber() : null,
        profit:
          typeof input.machines === 'number'
            ? roundAmount(answer.contribution.times(input.machines).minus(fixed), currency)
            : null,
        reasons: [
          ...(means ? [`Price and cost are the means of ${means.machines} own sold of the kind in the last year`] : []),
          `Each machine leaves ${answer.contribution.toFixed()} ${currency} towards the fixed costs`,
        ],
      };
    },
  }),
];

/** What to ask for a machine, and what to pay for the next: the shop's records put before the price engine. */
import { Decimal } from 'decimal.js';
import { z } from 'zod';
import { computeCosts, outOfRange } from '../cost/cost.queries.js';
import { expectedDates, type ExpectedDays } from '../cost/expected-days.js';
import { experienceWith } from '../cost/experience.queries.js';
import { taxSchemeOf } from '../cost/tax-scheme.js';
import { at, lookUp } from '../engine/look-up.js';
import { roundAmount } from '../engine/money/index.js';
import type { ListingRecord } from '../engine/price/index.js';
import { Invalid, NotFound, Refused } from '../platform/errors.js';
import { checkAmount, toDecimal } from '../platform/money.js';
import { children, computed, type OperationContext, priceReaders, query } from '../platform/operation/operation.js';
import { amount, id } from '../platform/shapes.js';
import { readShop } from '../shop/shop.queries.js';
import { Job } from '../work/work.shapes.js';
import type { Advice, PricedJob } from './advice.js';
import { bidQuery } from './bid.queries.js';
import { BuyerOffer } from './buyer-offers.shapes.js';
import { leavingCondition } from './market.js';
import { readMarket, readOpenListings, traitsOf } from './market.queries.js';
import { OfferAdvice, PriceAdvice } from './price.shapes.js';
import { AskChange, Offer } from './resale.shapes.js';
import { workerTasks } from './worker-tasks.js';

/**
 * Advice for the open jobs among some, by job id. A machine that is kept, a donor or scrap gets none, nor does one that
 * nothing speaks for: no comparable and no cost.
 * @param expected the expected day of each job, where the caller has it already
 */
export async function priceAdviceFor(
  context: OperationContext,
  jobIds: string[],
  expected?: ExpectedDays,
): Promise<Map<string, Advice>> {
  const priced = await pricesOf(context, jobIds, expected);
  return new Map([...priced].filter((one): one is [string, Advice] => !(one[1] instanceof Refused)));
}

/** As `priceAdviceFor`; a job whose amounts are out of all reason stands there with what to do about it. */
async function pricesOf(
  context: OperationContext,
  jobIds: string[],
  expected?: ExpectedDays,
): Promise<Map<string, Advice | Refused>> {
  const asked = await readPriced(context, jobIds, expected);
  if (!asked) return new Map();
  const { question, refused } = asked;
  const { advices, validationErrors } = await context.compute(workerTasks.advice, question);
  for (const [id, number] of asked.numbers)
    if (validationErrors.has(id)) refused.set(id, outOfRange(number, lookUp(validationErrors, id)));
  return new Map([...refused, ...advices]);
}

/** The records that bear on the prices of jobs, put as a question; undefined where none is for sale. */
async function readPriced(context: OperationContext, jobIds: string[], expected?: ExpectedDays) {
  const jobs = await context.tx.job.findMany({
    where: {
      id: { in: jobIds },
      purpose: 'refurbish',
      closedDate: null,
      archivedAt: null,
      machine: { disposition: 'sell' },
    },
    include: { machine: true },
  });
  if (jobs.length === 0) return undefined;
  const shop = await readShop(context);
  const market = await readMarket(context);
  const { currency } = context.shop;
  const days = expected ?? (await expectedDates(context));
  const costs = await computeCosts(
    context,
    jobs.map((job) => job.id),
    days,
  );
  const experience = await experienceWith(
    context,
    jobs.map((job) => job.machine.kind),
  );
  const listings = await readOpenListings(
    context,
    jobs.map((job) => job.id),
  );
  const refused = new Map<string, Advice | Refused>();
  const paintToPay = new Map<string, Decimal>();
  const priced = jobs.flatMap(({ id: jobId, scope, machine }): PricedJob[] => {
    const cost = lookUp(costs, jobId);
    if (cost instanceof Refused) {
      refused.set(jobId, cost);
      return [];
    }
    const { purchase, bears, estimate, statement, toPay, labourMinutes, remainingMinutes } = cost;
    paintToPay.set(jobId, cost.estimateToComplete.paint);
    const day = days.get(jobId) ?? null;
    const { machines, selling } = experience(machine.kind);
    return [
      {
        jobId,
        machine: traitsOf(machine),
        leavesAs: leavingCondition(scope, machine.condition),
        listing: listings.get(jobId) ?? null,
        terms: {
          tax: taxSchemeOf(shop),
          purchasePrice: purchase.purchasePrice,
          fixedCost: Decimal.max(0, roundAmount(selling, currency).minus(statement.selling)),
        },
        soldHere: machines.length,
        listFrom: day !== null && day > context.today ? day : context.today,
        cost: estimate,
        cashCost: statement.cashCost,
        toPay,
        purchaseLeft: purchase.left,
        borneBefore: bears ? new Decimal(0) : purchase.left,
        labourMinutes,
        remainingMinutes,
      },
    ];
  });
  return {
    refused,
    listings,
    paintToPay,
    numbers: jobs.map(({ id, number }) => [id, number] as const),
    question: { market, jobs: priced, spacePerDay: toDecimal(shop.spaceCostPerDay) },
  };
}

/** The open jobs among some whose machines are for sale, as they are priced, with what of the cost to come is paint. */
export async function readPricedJobs(
  context: OperationContext,
  jobIds: string[],
): Promise<{ job: PricedJob; paintToPay: Decimal }[]> {
  const read = await readPriced(context, jobIds);
  return (read?.question.jobs ?? []).map((job) => ({
    job,
    paintToPay: read?.paintToPay.get(job.jobId) ?? new Decimal(0),
  }));
}

/** @throws what keeps a job from being priced, with what to do about it */
async function refusePricing(context: OperationContext, jobId: string): Promise<never> {
  const job = await context.tx.job.findFirst({ where: { id: jobId }, include: { machine: true } });
  if (!job) throw new NotFound('job', jobId);
  if (job.closedDate) throw new Refused('job-closed', `Job ${job.number} is closed: there is nothing to price.`);
  if (job.purpose === 'warranty')
    throw new Refused('not-for-sale', 'This is a warranty job: its machine is sold already.');
  if (job.machine.disposition !== 'sell')
    throw new Refused(
      'not-for-sale',
      `This machine's disposition is "${job.machine.disposition}"; change it to "sell" first.`,
    );
  throw new Refused(
    'nothing-to-go-by',
    'There is no comparable of its kind and no cost yet: record a comparable first.',
  );
}

export const priceQueries = [
  query({
    name: 'priceAdvice',
    slow: true,
    summary: 'What to ask for a machine, when to come down, and below what not to sell',
    roles: priceReaders,
    rest: { method: 'GET', path: '/jobs/:id/price' },
    input: z.strictObject({ id }),
    output: PriceAdvice,
    async run(context, { id: jobId }) {
      const advice = (await pricesOf(context, [jobId])).get(jobId);
      if (advice instanceof Refused) throw advice;
      return advice ?? refusePricing(context, jobId);
    },
  }),
  query({
    name: 'offerAdvice',
    slow: true,
    summary: 'What to do about an offer for a machine: accept, counter with what, or refuse',
    roles: priceReaders,
    rest: { method: 'GET', path: '/jobs/:jobId/offer-advice' },
    input: z.strictObject({
      jobId: id,
      amount: amount.meta({ scalar: 'Money', description: 'What is offered, before sales tax on top.' }),
    }),
    output: OfferAdvice,
    async run(context, { jobId, amount: offered }) {
      const value = checkAmount(offered, context.shop.currency, '/amount');
      if (!value.greaterThan(0)) throw new Invalid([{ detail: 'must be above zero', pointer: '/amount' }]);
      const asked = await readPriced(context, [jobId]);
      const refused = asked?.refused.get(jobId);
      if (refused instanceof Refused) throw refused;
      const listing = asked?.listings.get(jobId);
      if (asked && !listing)
        throw new Refused('not-offered', 'This machine is not on offer: record its offer with the ask first.');
      const advice =
        asked &&
        listing &&
        (await context.compute(workerTasks.offerAdvice, {
          market: asked.question.market,
          spacePerDay: asked.question.spacePerDay,
          // The same offer may be on record already; it must not count twice.
          job: { ...at(asked.question.jobs, 0), listing: withoutOffer(listing, value.toNumber()) },
          ask: listing.ask,
          amount: value,
        }));
      return advice ?? refusePricing(context, jobId);
    },
  }),
  bidQuery,
];

/** A listing without the latest offer of an amount on its last day. */
function withoutOffer(listing: ListingRecord, amount: number): ListingRecord {
  const index = listing.offers.findLastIndex((offer) => offer.amount === amount && offer.on === listing.to);
  return index < 0 ? listing : { ...listing, offers: listing.offers.toSpliced(index, 1) };
}

export const resaleRelations = [
  computed({
    on: Job,
    field: 'price',
    slow: true,
    to: PriceAdvice,
    roles: priceReaders,
    description:
      'What to ask for it; null once it is closed, or when it is not for sale, and ' +
      'beside an error of its own where its amounts are out of all reason.',
    async compute(context, jobs) {
      const advice = await pricesOf(
        context,
        jobs.map((job) => job.id as string),
      );
      return jobs.map((job) => advice.get(job.id) ?? null);
    },
  }),
  children({
    on: Offer,
    field: 'askChanges',
    to: AskChange,
    key: 'offerId',
    roles: priceReaders,
    description: 'What was asked from which day on, oldest first.',
    find: (context, ids) =>
      context.tx.askChange.findMany({
        where: { offerId: { in: ids } },
        orderBy: [{ fromDate: 'asc' }, { id: 'asc' }],
      }),
  }),
  children({
    on: Job,
    field: 'buyerOffers',
    to: BuyerOffer,
    key: 'jobId',
    roles: priceReaders,
    description: 'What buyers offered for its machine, oldest first.',
    find: (context, ids) =>
      context.tx.buyerOffer.findMany({
        where: { jobId: { in: ids } },
        orderBy: [{ offeredDate: 'asc' }, { id: 'asc' }],
      }),
  }),
];

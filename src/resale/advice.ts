/** What to ask for machines, when to come down, and what to do about an offer. Pure. */
import { Decimal } from 'decimal.js';
import { EngineError } from '../engine/error.js';
import { at } from '../engine/look-up.js';
import { type CompletionEstimate, roundAmount } from '../engine/money/index.js';
import {
  adviseOnOffer,
  type AskPlan,
  computeReservationPrice,
  estimateFromCost,
  jointAfter,
  type ListingRecord,
  type MachineTraits,
  marginRange,
  outlayFactor,
  planAsk,
  type PriceEstimate,
  probabilitySoldBy,
  type SellingTerms,
  splitPrediction,
  usualBehaviour,
  usualBeliefs,
} from '../engine/price/index.js';
import { addDays } from '../platform/days.js';
import {
  deadlineFor,
  demandOf,
  estimateOf,
  expectedRange,
  historyOf,
  isKnown,
  likelyNet,
  type Market,
  nextSeason,
  seasonalityOf,
  worthNextSeason,
} from './market.js';

export interface AdviceQuestion {
  market: Market;
  jobs: PricedJob[];
  spacePerDay: Decimal;
}

export interface PricedJob {
  jobId: string;
  /** As it is now. */
  machine: MachineTraits & { condition: number };
  /** The condition that it is sold in, by how far its job goes. */
  leavesAs: number;
  /** The time it has been on offer, with the offers that came; null when it does not stand offered. */
  listing: ListingRecord | null;
  /** Its fixed cost is what selling such a machine takes and the job has not been charged with yet. */
  terms: SellingTerms & { fixedCost: Decimal };
  /** How many sold of the kind that is told from. */
  soldHere: number;
  /** From when it may be offered. */
  listFrom: string;
  /** Full cost once it is finished. */
  cost: CompletionEstimate;
  cashCost: Decimal;
  toPay: Decimal;
  /** What is left of the purchase, and how much of that a job before this one bears. */
  purchaseLeft: Decimal;
  borneBefore: Decimal;
  labourMinutes: number;
  remainingMinutes: number;
}

export interface Advices {
  /** By job; none for one that nothing speaks for: no comparable and no cost. */
  advices: Map<string, Advice>;
  /** What keeps a job from being priced whose amounts are out of all reason. */
  validationErrors: Map<string, string>;
}

/** A job that cannot be priced keeps none of the others from it. */
export function advicesOf({ jobs, ...around }: AdviceQuestion): Advices {
  const advices = new Map<string, Advice>();
  const validationErrors = new Map<string, string>();
  for (const job of jobs) {
    try {
      const advice = adviceOf(job, around);
      if (advice) advices.set(job.jobId, advice);
    } catch (error) {
      if (!(error instanceof EngineError)) throw error;
      validationErrors.set(job.jobId, error.message);
    }
  }
  return { advices, validationErrors };
}

type Around = Omit<AdviceQuestion, 'jobs'>;

/** The estimate, the plan to sell and what else could be done; undefined where nothing speaks for a price. */
function sellingOf(job: PricedJob, { market, spacePerDay }: Around) {
  const { machine, terms, listFrom, cost } = job;
  const { currency } = market;
  // The price has to bring back the purchase too, though a job before this one may bear it.
  const fullCost = cost.p50.plus(job.borneBefore);
  const estimateIn = (condition: number): PriceEstimate =>
    isKnown(market, machine.kind)
      ? estimateOf(market, { ...machine, condition }, listFrom)
      : // An estimate is of what buyers hand over, sales tax and all; a markup is on what the shop is to get.
        estimateFromCost({
          fullCost: roundAmount(fullCost.times(outlayFactor(terms.tax)), currency),
          markupPercent: 25,
          on: listFrom,
          seasonality: seasonalityOf(market, machine.kind),
          beliefs: usualBeliefs,
          currency,
        });
  if (!fullCost.greaterThan(0) && !isKnown(market, machine.kind)) return undefined;
  const estimate = estimateIn(job.leavesAs);
  const deadline = deadlineFor(market, machine.kind, listFrom);
  const asIs =
    job.remainingMinutes > 0 && estimate.method === 'comparables'
      ? likelyNet(estimateIn(machine.condition), terms, currency)
      : null;
  const reservation = computeReservationPrice(
    {
      nextSeason: worthNextSeason(likelyNet(estimate, terms, currency), spacePerDay, currency),
      sellAsIs: asIs,
      scrap: new Decimal(0),
    },
    { spent: job.cashCost.plus(job.borneBefore), toFinish: job.toPay },
    terms,
    currency,
  );
  const demand = demandOf(market, machine.kind);
  const values = splitPrediction(estimate.distribution, { ...usualBehaviour, elasticity: demand.elasticity });
  const plan = planAsk({
    estimate,
    listFrom,
    deadline,
    terms,
    holdingCostPerWeek: roundAmount(spacePerDay.times(7), currency),
    unsold: nextSeason(spacePerDay, currency),
    demand,
    // Weeks on offer without a sale, and offers that came, are news of its market.
    ...(job.listing ? { joint: jointAfter(historyOf(market, job.listing, estimate), values, demand) } : {}),
  });
  return { estimate, deadline, reservation, demand, plan };
}

export type Advice = NonNullable<ReturnType<typeof adviceOf>>;

function adviceOf(job: PricedJob, around: Around) {
  const selling = sellingOf(job, around);
  if (!selling) return undefined;
  const { estimate, deadline, reservation, demand, plan } = selling;
  const { currency } = around.market;
  const { jobId, terms, listFrom, cost } = job;
  const margin = marginRange(plan, cost);
  const hours = new Decimal(job.labourMinutes + job.remainingMinutes).div(60);
  return {
    jobId,
    basedOn: estimate.method === 'costPlus' ? ('cost' as const) : ('comparables' as const),
    expected: expectedRange(estimate, terms.tax, currency),
    expectedDate: listFrom,
    ask: plan.ask,
    askBreakdown: plan.breakdown,
    reservationPrice: reservation.reservationPrice,
    reservationReasons: reservation.reasons,
    acceptOffersFrom: at(plan.steps, 0).acceptAtLeast,
    markdowns: plan.steps.slice(1).map((step, index) => ({
      onDate: step.from,
      askPrice: step.ask,
      acceptOffersFrom: step.acceptAtLeast,
      probabilitySoldBefore: at(plan.steps, index).probabilitySold,
    })),
    sellByDate: deadline,
    probabilityOfSale: [4, 8, 13, 26]
      .map((weeks) => addDays(listFrom, 7 * weeks))
      .filter((day) => day < deadline)
      .concat(deadline)
      .map((day) => ({ day, probability: probabilitySoldBy(plan, day) })),
    expectedNet: plan.expectedNet,
    expectedMargin: plan.expectedNet.minus(cost.p50),
    marginRange: { low: margin.p10, likely: margin.p50, high: margin.p90 },
    gainOnPurchase: plan.expectedNet.minus(job.purchaseLeft),
    earningsPerHour: hours.greaterThan(0)
      ? roundAmount(plan.expectedNet.minus(job.cashCost).minus(job.toPay).div(hours), currency)
      : null,
    comparablesUsed: estimate.used.length,
    reasons: [
      ...plan.reasons,
      ...(job.listing ? ['What has come of it since it was offered is counted in'] : []),
      ...(terms.fixedCost.greaterThan(0)
        ? [
            `${terms.fixedCost.toFixed()} ${currency} is left for selling it, the mean of the ${job.soldHere} sold here of the kind`,
          ]
        : []),
      ...demand.reasons,
      ...estimate.reasons,
    ],
  };
}

export interface OfferQuestion extends Around {
  job: PricedJob;
  /** What the machine stands at, and what is offered: agreed prices. */
  ask: Decimal;
  amount: Decimal;
}

export type OfferAdviceFacts = ReturnType<typeof offerAdviceOf>;

/** Whether to accept, refuse or counter an offer; null where nothing speaks for a price. */
export function offerAdviceOf({ job, ask, amount, ...around }: OfferQuestion) {
  const selling = sellingOf(job, around);
  if (!selling) return null;
  const { plan, reservation } = selling;
  const { currency } = around.market;
  const onTop = outlayFactor(job.terms.tax).toNumber();
  const log = (price: Decimal): number => Math.log(price.toNumber() * onTop);
  const advice = adviseOnOffer(plan.situation, plan.policy, 0, log(Decimal.max(ask, amount)), log(amount));
  const money = (value: number): Decimal => roundAmount(new Decimal(value), currency);
  const counterPrice = advice.counter === null ? null : roundCounter(Math.exp(advice.counter) / onTop, ask, currency);
  return {
    jobId: job.jobId,
    amount,
    ask,
    action: amount.greaterThanOrEqualTo(ask) ? ('accept' as const) : advice.action,
    counterPrice: amount.greaterThanOrEqualTo(ask) ? null : counterPrice,
    acceptingLeaves: money(advice.accepting),
    waitingLeaves: money(advice.waiting),
    waitingLeftBefore: money(advice.waitingBefore),
    probabilityCounterTaken: advice.probabilityTaken,
    reservationPrice: reservation.reservationPrice,
    reasons: offerReasons(advice, counterPrice, plan, money),
  };
}

function offerReasons(
  advice: ReturnType<typeof adviseOnOffer>,
  counterPrice: Decimal | null,
  plan: AskPlan,
  money: (value: number) => Decimal,
): string[] {
  const [accepting, waiting, before] = [advice.accepting, advice.waiting, advice.waitingBefore].map((value) =>
    money(value).toFixed(),
  );
  return [
    `Accepting leaves ${accepting} ${plan.currency} after tax and selling; waiting is worth ${waiting}`,
    advice.waiting >= advice.waitingBefore
      ? `Before it came, waiting was worth ${before}: such an offer says that the market is better than thought`
      : `Before it came, waiting was worth ${before}: such an offer says that the market is lower than thought`,
    ...(counterPrice && advice.probabilityTaken !== null && advice.countering !== null
      ? [
          `A counter of ${counterPrice.toFixed()} is taken about ${Math.round(100 * advice.probabilityTaken)} ` +
            `times in a hundred and leaves ${money(advice.countering).toFixed()} on average; a buyer may leave over it`,
        ]
      : []),
  ];
}

/** To a figure people say aloud: about a hundredth of it, not above the ask. */
function roundCounter(price: number, ask: Decimal, currency: string): Decimal {
  const step = new Decimal(10).pow(Math.max(-2, Math.floor(Math.log10(price)) - 1)).div(2);
  return Decimal.min(ask, roundAmount(new Decimal(price).div(step).round().times(step), currency));
}

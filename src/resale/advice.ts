/** What to ask for machines, when to come down and below what not to sell. Pure. */
import { Decimal } from 'decimal.js';
import { EngineError } from '../engine/error.js';
import { type CompletionEstimate, roundAmount } from '../engine/money/index.js';
import {
  estimatePrice,
  floorPrice,
  marginRange,
  outlayFactor,
  planAsk,
  probabilitySoldBy,
  type SellingTerms,
} from '../engine/price/index.js';
import { addDays } from '../platform/days.js';
import {
  buyersOf,
  deadlineFor,
  expectedRange,
  FINISHED_CONDITION,
  isKnown,
  likelyNet,
  type Market,
  seasonOf,
  worthNextSeason,
} from './market.js';

export interface AdviceQuestion {
  market: Market;
  jobs: PricedJob[];
  currency: string;
  today: string;
  spacePerDay: Decimal;
}

export interface PricedJob {
  jobId: string;
  machine: {
    kind: string;
    maker: string;
    model: string;
    condition: number;
    yearEstimate: number | null;
    clearingWidthMillimetres: number | null;
  };
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

export type Advice = NonNullable<ReturnType<typeof adviceOf>>;

function adviceOf(job: PricedJob, { market, currency, today, spacePerDay }: Omit<AdviceQuestion, 'jobs'>) {
  const { jobId, machine, terms, listFrom, cost } = job;
  const season = seasonOf(market, machine.kind);
  const costAtCompletion = cost.p50;
  // The price has to bring back the purchase too, though a job before this one may bear it.
  const fullCost = costAtCompletion.plus(job.borneBefore);
  const hasCost = fullCost.greaterThan(0);
  if (!hasCost && !isKnown(market, machine.kind)) return undefined;
  const estimateIn = (condition: number) =>
    estimatePrice({
      machine: { ...machine, condition },
      comparables: market.comparables,
      on: listFrom,
      today,
      season,
      currency,
      // An estimate is of what buyers hand over, sales tax and all; a markup is on what the shop is to get.
      costPlus: hasCost
        ? { fullCost: roundAmount(fullCost.times(outlayFactor(terms.tax)), currency), markupPercent: 25 }
        : null,
    });
  const estimate = estimateIn(FINISHED_CONDITION);
  const deadline = deadlineFor(market, machine.kind, listFrom);
  const nextSeason = worthNextSeason(likelyNet(estimate, terms, currency), spacePerDay, currency);
  const asIs =
    job.remainingMinutes > 0 && estimate.method === 'comparables'
      ? likelyNet(estimateIn(machine.condition), terms, currency)
      : null;
  const floor = floorPrice(
    { nextSeason, sellAsIs: asIs, scrap: new Decimal(0) },
    { spent: job.cashCost.plus(job.borneBefore), toFinish: job.toPay },
    terms,
    currency,
  );
  const buyers = buyersOf(market, machine.kind);
  const sale = { terms, holdingCostPerWeek: roundAmount(spacePerDay.times(7), currency), valueIfUnsold: nextSeason };
  const plan = planAsk({ ...sale, estimate, season, listFrom, deadline, buyersPerWeek: buyers.buyersPerWeek });
  const margin = marginRange(plan, sale, cost);
  const hours = new Decimal(job.labourMinutes + job.remainingMinutes).div(60);
  return {
    jobId,
    basedOn: estimate.method === 'costPlus' ? ('cost' as const) : ('comparables' as const),
    expected: expectedRange(estimate, terms.tax, currency),
    expectedDate: listFrom,
    ask: plan.ask,
    askMakeUp: plan.makeUp,
    floor: floor.floor,
    floorWhy: floor.reasons.join('; '),
    markdowns: plan.steps.slice(1).map((step, index) => ({
      onDay: step.from,
      askPrice: step.ask,
      probabilitySoldBefore: plan.steps[index]!.probabilitySold,
    })),
    sellBy: deadline,
    probabilityOfSale: [4, 8, 13, 26]
      .map((weeks) => addDays(listFrom, 7 * weeks))
      .filter((day) => day < deadline)
      .concat(deadline)
      .map((day) => ({ day, probability: probabilitySoldBy(plan, day) })),
    expectedNet: plan.expectedNet,
    expectedMargin: plan.expectedNet.minus(costAtCompletion),
    marginRange: { low: margin.p10, likely: margin.p50, high: margin.p90 },
    gainOnPurchase: plan.expectedNet.minus(job.purchaseLeft),
    earningsPerHour: hours.greaterThan(0)
      ? roundAmount(plan.expectedNet.minus(job.cashCost).minus(job.toPay).div(hours), currency)
      : null,
    comparablesUsed: estimate.used.length,
    reasons: [
      ...plan.reasons,
      ...(terms.fixedCost.greaterThan(0)
        ? [
            `${terms.fixedCost.toFixed()} ${currency} is left for selling it, as the shop's own ${job.soldHere} sold of the kind took`,
          ]
        : []),
      buyers.reasons,
      ...estimate.reasons,
    ],
  };
}

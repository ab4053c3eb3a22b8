/** What to ask for machines, when to come down and below what not to sell. Pure. */
import { Decimal } from 'decimal.js';
import { roundAmount } from '../engine/money/index.js';
import { chanceSoldBy, estimatePrice, floorPrice, planAsk, type SellingTerms } from '../engine/price/index.js';
import { addDays } from '../platform/days.js';
import { buyersOf, deadlineFor, FINISHED_CONDITION, isKnown, netRange, seasonOf, worthNextSeason, type Market } from './market.js';

export interface AdviceQuestion {
  market: Market;
  jobs: PricedJob[];
  currency: string;
  today: string;
  spacePerDay: Decimal;
}

export interface PricedJob {
  jobId: string;
  machine: { kind: string; maker: string; model: string; condition: number; yearEstimate: number | null; clearingWidthMillimetres: number | null };
  terms: SellingTerms;
  /** From when it may be offered. */
  listFrom: string;
  /** Likely full cost once it is finished. */
  costAtCompletion: Decimal;
  cashCost: Decimal;
  toPay: Decimal;
  /** What is left of the purchase, and how much of that a job before this one bears. */
  purchaseLeft: Decimal;
  borneBefore: Decimal;
  labourMinutes: number;
  remainingMinutes: number;
}

/** By job; none for one that nothing speaks for: no comparable and no cost. */
export function advicesOf({ jobs, ...around }: AdviceQuestion): Map<string, Advice> {
  return new Map(jobs.flatMap((job) => {
    const advice = adviceOf(job, around);
    return advice ? [[job.jobId, advice] as const] : [];
  }));
}

export type Advice = NonNullable<ReturnType<typeof adviceOf>>;

function adviceOf(job: PricedJob, { market, currency, today, spacePerDay }: Omit<AdviceQuestion, 'jobs'>) {
  const { jobId, machine, terms, listFrom } = job;
  const season = seasonOf(market, machine.kind);
  // The price has to bring back the purchase too, though a job before this one may bear it.
  const fullCost = job.costAtCompletion.plus(job.borneBefore);
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
      costPlus: hasCost ? { fullCost, markupPercent: 25 } : null,
    });
  const estimate = estimateIn(FINISHED_CONDITION);
  const deadline = deadlineFor(market, machine.kind, listFrom);
  const net = netRange(estimate, terms, currency);
  const nextSeason = worthNextSeason(net.likely, spacePerDay, currency);
  const asIs = job.remainingMinutes > 0 && estimate.method === 'comparables' ? netRange(estimateIn(machine.condition), terms, currency).likely : null;
  const floor = floorPrice({ nextSeason, sellAsIs: asIs, scrap: new Decimal(0) }, { spent: job.cashCost.plus(job.borneBefore), toFinish: job.toPay }, terms, currency);
  const buyers = buyersOf(market, machine.kind);
  const plan = planAsk({ estimate, season, listFrom, deadline, terms, holdingCostPerWeek: roundAmount(spacePerDay.times(7), currency), valueIfUnsold: nextSeason, buyersPerWeek: buyers.buyersPerWeek });
  const hours = new Decimal(job.labourMinutes + job.remainingMinutes).div(60);
  return {
    jobId,
    expected: { low: estimate.p10, likely: estimate.p50, high: estimate.p90 },
    ask: plan.ask,
    floor: floor.floor,
    floorWhy: floor.why.join('; '),
    markdowns: plan.steps.slice(1).map((step, index) => ({ onDay: step.from, askPrice: step.ask, chanceSoldBefore: plan.steps[index]!.chanceSold })),
    sellBy: deadline,
    chanceOfSale: [4, 8, 13, 26].map((weeks) => addDays(listFrom, 7 * weeks)).filter((day) => day < deadline).concat(deadline).map((day) => ({ day, chance: chanceSoldBy(plan, day) })),
    expectedNet: plan.expectedNet,
    expectedMargin: net.likely.minus(job.costAtCompletion),
    gainOnPurchase: net.likely.minus(job.purchaseLeft),
    earningsPerHour: hours.greaterThan(0) ? roundAmount(net.likely.minus(job.cashCost).minus(job.toPay).div(hours), currency) : null,
    comparablesUsed: estimate.used.length,
    why: [...plan.why, buyers.why, ...estimate.why],
  };
}

/** The six answers in one reading. */
import { z } from 'zod';
import { jobCosts } from '../../cost/cost.queries.js';
import { lookUp } from '../../engine/look-up.js';
import { snowKinds } from '../../machines/machines.shapes.js';
import { assumptions } from '../../plan/answers/assumptions.js';
import { nextBenchList } from '../../plan/answers/bench-list.queries.js';
import type { JobWait } from '../../plan/answers/job-forecast.js';
import { forecastsOf } from '../../plan/answers/plan.queries.js';
import { currentPlan } from '../../plan/background/current-plan.js';
import { type OperationContext, query } from '../../platform/operation/operation.js';
import type { Row } from '../../platform/operation/row.js';
import type { Advice } from '../../resale/advice.js';
import { bidAdvice } from '../../resale/bid.queries.js';
import { priceAdviceFor } from '../../resale/price.queries.js';
import { readShop } from '../../shop/shop.queries.js';
import { jobsById } from '../../work/work.queries.js';
import { readReadiness } from '../season/readiness.queries.js';
import { Briefing, type BriefingBid } from './briefing.shapes.js';

/** As `readBriefing` gives it. */
export type BriefingRead = Awaited<ReturnType<typeof readBriefing>>;

export async function readBriefing(context: OperationContext) {
  const shop = await readShop(context);
  const plan = await currentPlan(context);
  const made = plan.forecast;
  const forecasts = await forecastsOf(context, plan);
  const jobIds = forecasts.map((one) => one.jobId);
  const jobs = new Map((await jobsById(context, jobIds)).map((job) => [job.id, job]));
  const likelyDays = new Map(forecasts.map((one) => [one.jobId, one.p50Date]));
  const costs = new Map((await jobCosts(context, jobIds, likelyDays)).map((cost) => [cost.jobId, cost]));
  const prices =
    context.role === 'helper' ? new Map<string, Advice>() : await priceAdviceFor(context, jobIds, likelyDays);
  const readiness = await readReadiness(context, prices);
  const bids: Row<typeof BriefingBid>[] = [];
  // Computed from prices, which a helper's key is not shown: neither are the words.
  for (const kind of context.role === 'helper' ? [] : snowKinds) {
    const advice = await bidAdvice(context, { kind }, made.records);
    if (advice)
      bids.push({
        kind,
        highestBid: advice.highestBid,
        expectedPrice: advice.expected.likely,
        reasons: advice.reasons.slice(0, 1),
      });
  }
  return {
    shopName: shop.name,
    currency: shop.currency,
    today: context.today,
    bench: await nextBenchList(context, plan),
    jobs: forecasts.map((one) => {
      const cost = costs.get(one.jobId);
      return {
        jobId: one.jobId,
        number: one.jobNumber,
        title: one.jobTitle,
        status: lookUp(jobs, one.jobId).status,
        p50Date: one.p50Date,
        p80Date: one.p80Date,
        probabilityBeforeSnow: one.probabilityBeforeSnow,
        waitsFor: mostTelling(one.waits),
        cashCost: cost?.statement.cashCost ?? null,
        fullCost: cost?.statement.fullCost ?? null,
        ask: prices.get(one.jobId)?.ask ?? null,
        askBasedOn: prices.get(one.jobId)?.basedOn ?? null,
      };
    }),
    bids,
    capacity: readiness.capacity,
    readyBy: readiness.readyBy,
    firstSnowMedian: readiness.firstSnowMedian,
    readyCount: readiness.readyCount,
    inSeasonCount: readiness.jobs.length,
    bottleneck: readiness.bottleneck,
    notes: [...(readiness.readyBy === null ? readiness.snowReasons : []), ...assumptions(shop, made)],
  };
}

/** A part that is not there first, then what is next to be waited out; other jobs in the way last. */
function mostTelling(waits: readonly JobWait[]): string | null {
  const rank = ({ kind }: JobWait) => (kind === 'part' ? 0 : kind === 'resource' || kind === 'other' ? 2 : 1);
  const [first] = [...waits].sort((a, b) => rank(a) - rank(b) || ((a.until ?? '') < (b.until ?? '') ? -1 : 1));
  return first ? first.what.replace(/^waits (for |until )?/, '') : null;
}

export const briefingQueries = [
  query({
    name: 'briefing',
    slow: true,
    summary:
      'The six answers: what to work on, when each is done, what it cost, what to ' +
      'ask, what to pay for the next, how many more can be ready',
    rest: { method: 'GET', path: '/briefing' },
    input: z.strictObject({}),
    output: Briefing,
    run: readBriefing,
  }),
];

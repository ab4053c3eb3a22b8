/** The six answers in one reading. */
import { z } from 'zod';
import { jobCosts } from '../../cost/cost.queries.js';
import { snowKinds } from '../../machines/machines.shapes.js';
import { type Call, type Presentable, query } from '../../platform/operation/operation.js';
import { bidAdvice } from '../../resale/bid.queries.js';
import { priceAdviceFor } from '../../resale/price.queries.js';
import { readShop } from '../../shop/shop.queries.js';
import { jobsById } from '../../work/work.queries.js';
import { assumptions } from '../../plan/answers/assumptions.js';
import { nextBenchList } from '../../plan/answers/bench-list.queries.js';
import { Briefing } from './briefing.shapes.js';
import { currentPlan } from '../../plan/background/current-plan.js';
import type { JobWait } from '../../plan/answers/job-forecast.js';
import { forecastsOf } from '../../plan/answers/plan.queries.js';
import { readReadiness } from '../readiness/readiness.queries.js';

export async function readBriefing(call: Call): Promise<Presentable> {
  const shop = await readShop(call);
  const plan = await currentPlan(call);
  const made = plan.forecast;
  const forecasts = await forecastsOf(call, plan);
  const jobIds = forecasts.map((one) => one.jobId);
  const jobs = new Map((await jobsById(call, jobIds)).map((job) => [job.id as string, job]));
  const likelyDays = new Map(forecasts.map((one) => [one.jobId, one.p50Day]));
  const costs = new Map((await jobCosts(call, jobIds, likelyDays)).map((cost) => [cost.jobId, cost]));
  const prices =
    call.role === 'helper' ? new Map<string, Presentable>() : await priceAdviceFor(call, jobIds, likelyDays);
  const readiness = await readReadiness(call, prices);
  const bids: Presentable[] = [];
  // Reckoned from prices, which a helper's key is not shown: neither are the words.
  for (const kind of call.role === 'helper' ? [] : snowKinds) {
    const advice = await bidAdvice(call, { kind }, made.records);
    if (advice)
      bids.push({
        kind,
        highestBid: advice.highestBid,
        expectedPrice: advice.expected.likely,
        why: advice.why[0] ?? '',
      });
  }
  return {
    shopName: shop.name,
    currency: shop.currency,
    today: call.today,
    bench: await nextBenchList(call, plan),
    jobs: forecasts.map((one) => {
      const cost = costs.get(one.jobId);
      return {
        jobId: one.jobId,
        number: one.jobNumber,
        title: one.jobTitle,
        state: jobs.get(one.jobId)?.state,
        p50Day: one.p50Day,
        p80Day: one.p80Day,
        chanceBeforeSnow: one.chanceBeforeSnow,
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
    binds: readiness.binds,
    notes: [...(readiness.readyBy === null ? readiness.snowWhy : []), ...assumptions(shop, made.records)],
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
      'The six answers: what to work on, when each is done, what it cost, what to ask, what to pay for the next, how many more can be ready',
    rest: { method: 'GET', path: '/briefing' },
    input: z.strictObject({}),
    output: Briefing,
    run: readBriefing,
  }),
];

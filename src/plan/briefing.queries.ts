/** The six answers in one reading. */
import { snowKinds } from '../intake/intake.shapes.js';
import { z } from 'zod';
import { jobCosts } from '../cost/cost.queries.js';
import { query, type Call, type Presentable } from '../platform/operation/operation.js';
import { bidAdvice } from '../resale/bid.queries.js';
import { priceAdviceFor } from '../resale/price.queries.js';
import { readShop } from '../shop/shop.queries.js';
import { jobsById } from '../work/work.queries.js';
import { benchList } from './bench.js';
import { Briefing } from './briefing.shapes.js';
import { currentPlan } from './current.js';
import { withOdds } from './plan.queries.js';
import type { Forecast } from './planned.js';
import { readReadiness } from './readiness.queries.js';

/** How far ahead the next day with work is looked for. */
const DAYS_AHEAD = 60;

export async function readBriefing(call: Call): Promise<Presentable> {
  const shop = await readShop(call);
  const plan = await currentPlan(call);
  const made = plan.forecast;
  const forecasts = withOdds(made, plan.odds);
  const jobIds = forecasts.map((one) => one.jobId);
  const jobs = new Map((await jobsById(call, jobIds)).map((job) => [job.id as string, job]));
  const costs = new Map((await jobCosts(call, jobIds)).map((cost) => [cost.jobId, cost]));
  const prices = call.role === 'helper' ? new Map<string, Presentable>() : await priceAdviceFor(call, jobIds, new Map(forecasts.map((one) => [one.jobId, one.expectedDay])));
  const readiness = await readReadiness(call, prices);
  const bids: Presentable[] = [];
  // Reckoned from prices, which a helper's key is not shown: neither are the words.
  for (const kind of call.role === 'helper' ? [] : snowKinds) {
    const advice = await bidAdvice(call, { kind }, made.records);
    if (advice) bids.push({ kind, highestBid: advice.highestBid, expectedPrice: advice.expected.likely, why: advice.why[0] ?? '' });
  }
  return {
    shopName: shop.name,
    currency: shop.currency,
    today: call.today,
    bench: nextBenchList(made, call.today),
    jobs: forecasts.map((one) => {
      const cost = costs.get(one.jobId);
      return {
        jobId: one.jobId,
        number: one.jobNumber,
        title: one.jobTitle,
        state: jobs.get(one.jobId)?.state,
        expectedDay: one.expectedDay,
        chanceBeforeSnow: one.chanceBeforeSnow,
        waitsFor: mostTelling(one.waits),
        cashCost: cost?.statement.cashCost ?? null,
        fullCost: cost?.statement.fullCost ?? null,
        ask: prices.get(one.jobId)?.ask ?? null,
      };
    }),
    bids,
    capacity: readiness.capacity,
    readyBy: readiness.readyBy,
    firstSnowMedian: readiness.firstSnowMedian,
    readyCount: readiness.readyCount,
    inSeasonCount: readiness.jobs.length,
    binds: readiness.binds,
  };
}

/** A part that is not there first, then what is next to be waited out; other jobs in the way last. */
function mostTelling(waits: readonly { kind: string; until: string; what: string }[]): string | null {
  const rank = (kind: string) => (kind === 'part' ? 0 : kind === 'resource' || kind === 'other' ? 2 : 1);
  const [first] = [...waits].sort((a, b) => rank(a.kind) - rank(b.kind) || (a.until < b.until ? -1 : 1));
  return first ? first.what.replace(/^waits (for |until )?/, '') : null;
}

/** Today's list, or on a day with nothing to do the next one that has something. */
function nextBenchList(made: Forecast, today: string): Presentable {
  const todays = benchList(made, today);
  if (todays.tasks.length > 0) return todays;
  for (let ahead = 1; ahead <= DAYS_AHEAD; ahead += 1) {
    const list = benchList(made, made.built.local.dayAt(ahead));
    if (list.tasks.length > 0) return { ...list, note: todays.note };
  }
  return todays;
}

export const briefingQueries = [
  query({
    name: 'briefing',
    slow: true,
    summary: 'The six answers: what to work on, when each is done, what it cost, what to ask, what to pay for the next, how many more can be ready',
    rest: { method: 'GET', path: '/briefing' },
    input: z.strictObject({}),
    output: Briefing,
    run: readBriefing,
  }),
];

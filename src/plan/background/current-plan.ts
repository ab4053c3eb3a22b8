/** The plan to answer a question from: the stored one while it fits the records, else one made for the purpose. */
import { createHash } from 'node:crypto';
import type { Call } from '../../platform/operation/operation.js';
import type { PlanAnswer } from '../simulation/compute-plan.js';
import { scheduled } from './schedule-now.js';
import { gatherRecords, withUncertainty } from '../inputs/load-records.js';
import type { PlanOdds } from '../simulation/simulate-plan.js';
import { ENGINE_VERSION, PLAN_SEED, type PlanHead, planHead, type StoredPlan, storedPlan } from './plan-store.js';
import { type Forecast, forecastOf } from '../model/scheduled-records.js';
import type { PlanRecords } from '../model/problem.js';
import { works } from '../simulation/worker-tasks.js';

export interface CurrentPlan {
  forecast: Forecast;
  answer: PlanAnswer;
  odds: PlanOdds;
  computedAt: Date;
  fingerprint: string;
  ageSeconds: number;
  /** Records have changed since, or the day; only ever true where the caller would take that. */
  stale: boolean;
}

/** A plan older than this begins in the past too far to be worked by. The planner renews it sooner. */
export const MOST_AGE_MINUTES = 75;
/**
 * Made while somebody waits: the order of the last plan as it is, so that it tells the same days as the commands do;
 * a better order is looked for in the background.
 */
const ASKED = { schedules: 0, scenarios: 500 };

type Made = Omit<StoredPlan, 'id'> & {
  forecast: Forecast;
  /** The newest stored plan when it was made: itself, or the one it goes on from. */
  planId: string | null;
};

/** The last plan made in this process for a shop, whether stored or not. */
const made = new Map<string, Made>();
const SHOPS_AT_HAND = 50;
const making = new Map<string, Promise<Made>>();

/**
 * For reads. Inside a command that has written something it would still tell what was before; use `forecast` there.
 * @param options.stale true: whatever has been stored last, at once, even where records have changed since
 */
export async function currentPlan(call: Call, options: { stale?: boolean } = {}): Promise<CurrentPlan> {
  const head = await planHead(call);
  const known = made.get(call.shop.id);
  if (known?.planId === head.planId && fits(known, head, call)) return shown(known, call, false);
  const stored = head.planId === null ? null : await storedPlan(call, head.planId);
  if (stored && (options.stale || fits(stored, head, call))) {
    return shown(
      keep(call, {
        ...stored,
        planId: stored.id,
        forecast: await scheduled(call, stored.records, stored.answer.order),
      }),
      call,
      !fits(stored, head, call),
    );
  }
  return shown(keep(call, await madeOnce(call, head, stored)), call, false);
}

/** Several who ask at once after a change wait for one planning. */
function madeOnce(call: Call, head: PlanHead, last: StoredPlan | null): Promise<Made> {
  const key = `${call.shop.id} ${head.revision} ${call.today}`;
  const underWay = making.get(key) ?? makeNow(call, head, last).finally(() => making.delete(key));
  making.set(key, underWay);
  return underWay;
}

async function makeNow(call: Call, head: PlanHead, last: StoredPlan | null): Promise<Made> {
  const records = await withUncertainty(call, await gatherRecords(call));
  const { schedule, ...answer } = await call.compute(works.plan, {
    records,
    last: last?.answer ?? null,
    seed: PLAN_SEED,
    ...ASKED,
  });
  return {
    planId: head.planId,
    computedAt: call.now,
    fingerprint: fingerprintOf(records),
    seed: PLAN_SEED,
    revision: head.revision,
    answer,
    records,
    forecast: forecastOf(records, schedule),
  };
}

/** The chances of a forecast that a command has made, its own writing included. */
export async function oddsNow(call: Call, { records, schedule }: Forecast): Promise<PlanOdds> {
  return call.compute(works.odds, {
    records: await withUncertainty(call, records),
    order: schedule.order,
    seed: PLAN_SEED,
    scenarios: ASKED.scenarios,
  });
}

/** Records are read in an order and written in an order, so the same records are the same text. */
export const fingerprintOf = (records: PlanRecords): string =>
  createHash('sha256').update(ENGINE_VERSION).update(JSON.stringify(records)).digest('hex').slice(0, 32);

function fits(plan: Pick<StoredPlan, 'revision' | 'computedAt' | 'records'>, head: PlanHead, call: Call): boolean {
  const age = call.now.getTime() - plan.computedAt.getTime();
  return (
    plan.revision === head.revision && plan.records.today === call.today && age >= 0 && age <= MOST_AGE_MINUTES * 60_000
  );
}

function keep(call: Call, plan: Made): Made {
  made.delete(call.shop.id);
  made.set(call.shop.id, plan);
  if (made.size > SHOPS_AT_HAND) made.delete(made.keys().next().value!);
  return plan;
}

function shown(plan: Made, call: Call, stale: boolean): CurrentPlan {
  const { forecast, answer, computedAt, fingerprint } = plan;
  return {
    forecast,
    answer,
    odds: answer.odds,
    computedAt,
    fingerprint,
    ageSeconds: Math.max(0, Math.round((call.now.getTime() - computedAt.getTime()) / 1000)),
    stale,
  };
}

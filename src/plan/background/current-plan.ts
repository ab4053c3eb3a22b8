/** The plan to answer a question from: the stored one while it fits the records, else one made for the purpose. */
import { createHash } from 'node:crypto';
import { LRUCache } from 'lru-cache';
import type { OperationContext } from '../../platform/operation/operation.js';
import { gatherRecords, withClocks, withUncertainty } from '../inputs/load-records.js';
import type { PlanRecords } from '../inputs/records.js';
import { type ScheduledRecords, withSchedule } from '../model/scheduled-records.js';
import type { PlanAnswer } from '../simulation/compute-plan.js';
import type { PlanSimulation } from '../simulation/simulate-plan.js';
import { workerTasks } from '../simulation/worker-tasks.js';
import { ENGINE_VERSION, PLAN_SEED, type PlanHead, planHead, type StoredPlan, storedPlan } from './plan-store.js';
import { scheduled } from './schedule-now.js';

export interface CurrentPlan {
  forecast: ScheduledRecords;
  answer: PlanAnswer;
  simulation: PlanSimulation;
  computedAt: Date;
  fingerprint: string;
  ageSeconds: number;
  /** Records have changed since, or the day; only ever true where the caller would take that. */
  stale: boolean;
}

/** A plan older than this begins in the past too far to be worked by. The planner renews it sooner. */
export const MAX_AGE_MINUTES = 75;
/**
 * Made while somebody waits: the order of the last plan as it is, so that it tells the same days as the commands do;
 * a better order is looked for in the background.
 */
const ASKED = { schedules: 0, scenarios: 500 };

type Made = Omit<StoredPlan, 'id'> & {
  forecast: ScheduledRecords;
  /** The newest stored plan when it was made: itself, or the one it goes on from. */
  planId: string | null;
};

/** The last plan made in this process for a shop, whether stored or not. */
const planCache = new LRUCache<string, Made>({ max: 50 });
const inFlight = new Map<string, Promise<Made>>();

/**
 * For reads. Inside a command that has written something it would still tell what was before; use `forecast` there.
 * @param options.stale true: whatever has been stored last, at once, even where records have changed since
 */
export async function currentPlan(context: OperationContext, options: { stale?: boolean } = {}): Promise<CurrentPlan> {
  const head = await planHead(context);
  const known = planCache.get(context.shop.id);
  if (known?.planId === head.planId && fits(known, head, context)) return shown(known, context, false);
  const stored = head.planId === null ? null : await storedPlan(context, head.planId);
  if (stored && (options.stale || fits(stored, head, context))) {
    const records = await withClocks(context, stored.records);
    return shown(
      keep(context, {
        ...stored,
        records,
        planId: stored.id,
        forecast: await scheduled(context, records, stored.answer.order),
      }),
      context,
      !fits(stored, head, context),
    );
  }
  return shown(keep(context, await madeOnce(context, head, stored)), context, false);
}

/** Several who ask at once after a change wait for one planning. */
function madeOnce(context: OperationContext, head: PlanHead, last: StoredPlan | null): Promise<Made> {
  const key = `${context.shop.id} ${head.revision} ${context.today}`;
  const underWay = inFlight.get(key) ?? makeNow(context, head, last).finally(() => inFlight.delete(key));
  inFlight.set(key, underWay);
  return underWay;
}

async function makeNow(context: OperationContext, head: PlanHead, last: StoredPlan | null): Promise<Made> {
  const records = await withUncertainty(context, await gatherRecords(context));
  const { schedule, ...answer } = await context.compute(workerTasks.plan, {
    records,
    last: last?.answer ?? null,
    seed: PLAN_SEED,
    ...ASKED,
  });
  return {
    planId: head.planId,
    computedAt: context.now,
    fingerprint: fingerprintOf(records),
    seed: PLAN_SEED,
    revision: head.revision,
    answer,
    records,
    forecast: withSchedule(records, schedule),
  };
}

/** The chances of a forecast that a command has made, its own writing included. */
export async function simulateNow(
  context: OperationContext,
  { records, schedule }: ScheduledRecords,
): Promise<PlanSimulation> {
  return context.compute(workerTasks.simulation, {
    records: await withUncertainty(context, records),
    order: schedule.order,
    seed: PLAN_SEED,
    scenarios: ASKED.scenarios,
  });
}

/** Records are read in an order and written in an order, so the same records are the same text. */
export const fingerprintOf = (records: PlanRecords): string =>
  createHash('sha256')
    .update(ENGINE_VERSION)
    .update(JSON.stringify({ ...records, clocks: records.clocks.map((clock) => clock.id) }))
    .digest('hex')
    .slice(0, 32);

function fits(
  plan: Pick<StoredPlan, 'revision' | 'computedAt' | 'records'>,
  head: PlanHead,
  context: OperationContext,
): boolean {
  const age = context.now.getTime() - plan.computedAt.getTime();
  return (
    plan.revision === head.revision &&
    plan.records.today === context.today &&
    age >= 0 &&
    age <= MAX_AGE_MINUTES * 60_000
  );
}

function keep(context: OperationContext, plan: Made): Made {
  planCache.set(context.shop.id, plan);
  return plan;
}

function shown(plan: Made, context: OperationContext, stale: boolean): CurrentPlan {
  const { forecast, answer, computedAt, fingerprint } = plan;
  return {
    forecast,
    answer,
    simulation: answer.simulation,
    computedAt,
    fingerprint,
    ageSeconds: Math.max(0, Math.round((context.now.getTime() - computedAt.getTime()) / 1000)),
    stale,
  };
}

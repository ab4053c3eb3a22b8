/**
 * Plans anew in the background when records have changed. The queue is a table that the database itself fills, one row
 * a shop; a planner claims a shop for a while, plans it and writes the plan. Several processes do so side by side: one
 * shop is planned by one at a time, and what a killed one had claimed is taken over when its lease is up.
 */
import { randomUUID } from 'node:crypto';
import { setTimeout as sleep } from 'node:timers/promises';
import { inTransaction, type Performing } from '../platform/operation/perform.js';
import { fingerprintOf } from './current.js';
import { gatherRecords, withUncertainty } from './gather.js';
import { lastPlan, PLAN_SEED, planHead, storePlan } from './plan-store.js';
import { backgroundPlanner, type Planner } from './planner.js';

export interface ReplanSettings {
  schedules: number;
  searchMilliseconds: number;
  scenarios: number;
  /** How long a burst of changes is waited out, from its first. */
  settleMilliseconds: number;
  /** How long a claim holds; a plan that takes longer is given up to whoever claims it next. */
  leaseSeconds: number;
  /** A plan older than this is renewed though nothing changed, since time passes. */
  refreshSeconds: number;
  pollMilliseconds: number;
}

export const REPLAN: ReplanSettings = { schedules: 1500, searchMilliseconds: 5000, scenarios: 2000, settleMilliseconds: 1500, leaseSeconds: 120, refreshSeconds: 3600, pollMilliseconds: 1000 };

/** Claims the shop that has waited longest, plans it, and stores the plan. @returns the shop; null when none waits */
export async function replanNext(performing: Performing, worker: string, settings: ReplanSettings, threads: Planner, signal?: AbortSignal): Promise<string | null> {
  const shopId = await claim(performing, worker, settings);
  if (shopId === null) return null;
  const caller = { shopId, role: 'owner' as const, accessKeyId: null };
  const { revision, records, last, computedAt } = await inTransaction(performing, caller, async (call) => {
    // The count first: a change that is committed while the records are read makes this plan old, never seem new.
    const head = await planHead(call);
    return { revision: head.revision, last: await lastPlan(call), records: await withUncertainty(call, await gatherRecords(call)), computedAt: call.now };
  });
  const { schedules, searchMilliseconds, scenarios } = settings;
  const { schedule: _, ...answer } = await threads.run('plan', { records, last, seed: PLAN_SEED, schedules, searchMilliseconds, scenarios }, signal);
  await performing.database.withShop(shopId, async (tx) => {
    const kept = await tx.$executeRaw`
      update "PlanRequest" set "plannedRevision" = ${revision}, "plannedAt" = clock_timestamp(), "claimedAt" = null, "claimedBy" = null
      where "shopId" = ${shopId}::uuid and "claimedBy" = ${worker}`;
    if (kept === 1) await storePlan(tx, shopId, { computedAt, fingerprint: fingerprintOf(records), seed: PLAN_SEED, revision, answer, records });
  });
  return shopId;
}

async function claim({ database }: Performing, worker: string, settings: ReplanSettings): Promise<string | null> {
  const [claimed] = await database.withoutShop(
    (tx) => tx.$queryRaw<{ shopId: string }[]>`
      select "shopId"::text from claim_plan_request(${worker}, ${settings.settleMilliseconds}::int, ${settings.leaseSeconds}::int, ${settings.refreshSeconds}::int)`,
  );
  return claimed?.shopId ?? null;
}

/** @returns stops it: gives up what is being planned and waits until nothing runs any more */
export function startReplanning(performing: Performing, settings: ReplanSettings = REPLAN): () => Promise<void> {
  const worker = randomUUID();
  const threads = backgroundPlanner();
  const ending = new AbortController();
  const run = async (): Promise<void> => {
    while (!ending.signal.aborted) {
      let planned: string | null = null;
      try {
        planned = await replanNext(performing, worker, settings, threads, ending.signal);
      } catch (error) {
        // The claim stands until its lease is up, so that a shop that cannot be planned is not tried without pause.
        if (!ending.signal.aborted) performing.reportFault(error, 'planning');
      }
      if (planned === null) await sleep(settings.pollMilliseconds, undefined, { signal: ending.signal, ref: false }).catch(() => {});
    }
  };
  const running = run();
  return async () => {
    ending.abort();
    await running;
    await threads.close();
  };
}

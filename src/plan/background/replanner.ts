/**
 * Plans anew in the background when records have changed. The queue is a table that the database itself fills, one row
 * a shop; a planner claims a shop for a while, plans it and writes the plan. Several processes do so side by side: one
 * shop is planned by one at a time, and what a killed one had claimed is taken over when its lease is up.
 */
import { randomUUID } from 'node:crypto';
import { setTimeout as sleep } from 'node:timers/promises';
import { EngineError } from '../../engine/error.js';
import type { Transaction } from '../../platform/database/database.js';
import { DomainError } from '../../platform/errors.js';
import { lockChanges } from '../../platform/events/change-lock.js';
import { type AppContext, readInTransaction } from '../../platform/operation/execute.js';
import type { Progress } from '../../platform/workers/worker-task.js';
import { gatherRecords, withUncertainty } from '../inputs/load-records.js';
import { workerTasks } from '../simulation/worker-tasks.js';
import { fingerprintOf } from './current-plan.js';
import { ENGINE_VERSION, lastPlan, PLAN_SEED, planHead, storePlan } from './plan-store.js';
import { REPLAN, type ReplanSettings } from './replan-settings.js';

/** Claims the shop that has waited longest, plans it, and stores the plan. @returns the shop; null when none waits */
export async function replanNext(
  appContext: AppContext,
  worker: string,
  settings: ReplanSettings,
  signal?: AbortSignal,
): Promise<string | null> {
  const shopId = await claim(appContext, worker, settings);
  if (shopId === null) return null;
  const claimed = new Claim(appContext, shopId, worker, settings, signal);
  try {
    await plan(appContext, settings, claimed);
  } catch (error) {
    // Another has it now, and will say how it went.
    if (claimed.lost) return shopId;
    await (signal?.aborted ? claimed.release() : claimed.failed(error));
    throw error;
  }
  return shopId;
}

async function plan(appContext: AppContext, settings: ReplanSettings, claimed: Claim): Promise<void> {
  const { shopId, signal } = claimed;
  const caller = { shopId, role: 'owner' as const, accessKeyId: null };
  const { revision, records, last, computedAt } = await readInTransaction(appContext, caller, async (context) => {
    // The count first: a change that is committed while the records are read makes this plan old, never seem new.
    const head = await planHead(context);
    return {
      revision: head.revision,
      last: await lastPlan(context),
      records: await withUncertainty(context, await gatherRecords(context)),
      computedAt: context.now,
    };
  });
  const { schedules, scenarios } = settings;
  const question = { records, last, seed: PLAN_SEED, schedules, scenarios };
  const { schedule: _, ...answer } = await appContext.threads.run(workerTasks.plan, question, {
    signal,
    onProgress: (progress) => claimed.heard(progress),
  });
  await claimed.settle(revision, (tx) =>
    storePlan(tx, shopId, {
      computedAt,
      fingerprint: fingerprintOf(records),
      seed: PLAN_SEED,
      revision,
      answer,
      records,
    }),
  );
}

/** One planner's hold on one shop: renewed with each word of progress, so that it may be short and the plan may be long. */
class Claim {
  /** It was given to another meanwhile. */
  lost = false;
  readonly signal: AbortSignal;
  private readonly giveUp = new AbortController();
  private toldAt = -Infinity;
  private telling: Promise<void> = Promise.resolve();

  constructor(
    private readonly appContext: AppContext,
    readonly shopId: string,
    private readonly worker: string,
    private readonly settings: ReplanSettings,
    ending?: AbortSignal,
  ) {
    this.signal = ending ? AbortSignal.any([ending, this.giveUp.signal]) : this.giveUp.signal;
  }

  /** Writes down how far the planning is, now and then. */
  heard({ stage, share }: Progress): void {
    const now = performance.now();
    if (now - this.toldAt < this.settings.progressMilliseconds) return;
    this.toldAt = now;
    this.telling = this.telling
      .then(() =>
        this.write(
          (tx) => tx.$executeRaw`
        update "PlanRequest" set stage = ${stage}, "stageShare" = ${Math.min(1, share)}, "claimedAt" = clock_timestamp()
        where "shopId" = ${this.shopId}::uuid and "claimedBy" = ${this.worker}`,
        ),
      )
      .then((kept) => {
        if (kept === 0) this.lose();
      })
      // A database out of reach is told of when the plan is to be stored.
      .catch(() => {});
  }

  /** Ends it: the plan is stored if the hold still stood, else dropped. */
  async settle(revision: number, store: (tx: Transaction) => Promise<void>): Promise<void> {
    await this.telling;
    await this.write(async (tx) => {
      await lockChanges(tx, this.shopId);
      const kept = await tx.$executeRaw`
        update "PlanRequest" set "plannedRevision" = ${revision}, "plannedAt" = clock_timestamp(), "claimedAt" = null, "claimedBy" = null,
          "planningSince" = null, stage = null, "stageShare" = null, fault = null, "faultAt" = null
        where "shopId" = ${this.shopId}::uuid and "claimedBy" = ${this.worker}`;
      if (kept === 1) await store(tx);
    });
  }

  /** Leaves the shop to whoever comes next. */
  async release(): Promise<void> {
    await this.telling;
    await this.write(
      (tx) => tx.$executeRaw`
      update "PlanRequest" set "claimedAt" = null, "claimedBy" = null, "planningSince" = null, stage = null, "stageShare" = null
      where "shopId" = ${this.shopId}::uuid and "claimedBy" = ${this.worker}`,
    );
  }

  /**
   * Says why there is no plan. The hold stays until its lease is up, so that a shop that cannot be planned is not tried
   * without pause.
   */
  async failed(error: unknown): Promise<void> {
    await this.telling;
    const fault =
      error instanceof EngineError || error instanceof DomainError
        ? error.message
        : 'Something went wrong here; it has been written to the log.';
    await this.write(
      (tx) => tx.$executeRaw`
      update "PlanRequest" set fault = ${fault}, "faultAt" = clock_timestamp(), "planningSince" = null, stage = null, "stageShare" = null
      where "shopId" = ${this.shopId}::uuid and "claimedBy" = ${this.worker}`,
    ).catch(() => {
      // The error itself is what is reported.
    });
  }

  private lose(): void {
    this.lost = true;
    this.giveUp.abort();
  }

  private write<T>(work: (tx: Transaction) => Promise<T>): Promise<T> {
    return this.appContext.database.withShop(this.shopId, work);
  }
}

async function claim({ database }: AppContext, worker: string, settings: ReplanSettings): Promise<string | null> {
  const [claimed] = await database.withoutShop(
    (tx) => tx.$queryRaw<{ shopId: string }[]>`
      select "shopId"::text
        from claim_plan_request(${worker}, ${ENGINE_VERSION}, ${settings.settleMilliseconds}::int,
        ${settings.leaseSeconds}::int, ${settings.refreshSeconds}::int)`,
  );
  return claimed?.shopId ?? null;
}

/** Plans every shop whose records have changed, so that what is told first is what holds; one that cannot be planned waits. */
export async function settlePlans(appContext: AppContext): Promise<void> {
  const worker = randomUUID();
  const planned = new Set<string>();
  try {
    for (;;) {
      const shopId = await replanNext(appContext, worker, { ...REPLAN, settleMilliseconds: 0 });
      if (shopId === null || planned.has(shopId)) return;
      planned.add(shopId);
    }
  } catch (error) {
    appContext.reportFault(error, 'planning');
  }
}

/** @returns stops it: gives up what is being planned and waits until nothing runs any more. The threads are the giver's. */
export function startReplanning(appContext: AppContext, settings: ReplanSettings = REPLAN): () => Promise<void> {
  const worker = randomUUID();
  const ending = new AbortController();
  const run = async (): Promise<void> => {
    while (!ending.signal.aborted) {
      let planned: string | null = null;
      try {
        planned = await replanNext(appContext, worker, settings, ending.signal);
      } catch (error) {
        if (!ending.signal.aborted) appContext.reportFault(error, 'planning');
      }
      if (planned === null)
        await sleep(settings.pollMilliseconds, undefined, { signal: ending.signal, ref: false }).catch(() => {});
    }
  };
  const running = run();
  return async () => {
    ending.abort();
    await running;
  };
}

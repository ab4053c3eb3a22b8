/** The plan as it is kept: the newest row of a shop, read once a process, and written by the planner. */
import { LRUCache } from 'lru-cache';
import { required } from '../../engine/look-up.js';
import type { Prisma } from '../../platform/database/client/client.js';
import type { Transaction } from '../../platform/database/database.js';
import { PLANNED } from '../../platform/events/changes.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import type { PlanRecords } from '../inputs/records.js';
import type { LastPlan, PlanAnswer } from '../simulation/compute-plan.js';

/** Named in every plan: a plan that another engine made is not gone on from. */
export const ENGINE_VERSION = '6';
/** The same in every plan, so that chances move with the records and not with the dice. */
export const PLAN_SEED = 20_260_401;
/** So many plans of a shop are kept, to see how it came to the last. */
const PLANS_KEPT = 10;

export interface StoredPlan {
  id: string;
  computedAt: Date;
  fingerprint: string;
  seed: number;
  /** What the shop's request counted when the records were read. */
  revision: number;
  answer: PlanAnswer;
  /** What it was made from; what the chances were drawn from is left out. */
  records: PlanRecords;
}

export interface PlanHead {
  /** How often the shop's records have changed, commits only. */
  revision: number;
  planId: string | null;
}

export async function planHead(context: OperationContext): Promise<PlanHead> {
  const [row] = await context.tx.$queryRaw<PlanHead[]>`
    select coalesce((select revision from "PlanRequest" where "shopId" = ${context.shop.id}::uuid), 0) as revision,
      (select id::text from "Plan" where "shopId" = ${context.shop.id}::uuid and "engineVersion" = ${ENGINE_VERSION}
        order by "computedAt" desc, id desc limit 1) as "planId"`;
  return required(row, 'row of a query without from');
}

/** Rows never change, so what has been read of them stays right; the newest of a few shops are kept. */
const storedPlanCache = new LRUCache<string, StoredPlan>({ max: 50 });

export async function storedPlan(context: OperationContext, planId: string): Promise<StoredPlan | null> {
  const known = storedPlanCache.get(context.shop.id);
  if (known?.id === planId) return known;
  const row = await context.tx.plan.findFirst({ where: { id: planId } });
  if (!row) return null;
  // Written by `storePlan` alone, and read only by the engine version that wrote it.
  const { records, ...answer } = row.content as unknown as PlanAnswer & { records: PlanRecords };
  const plan: StoredPlan = {
    id: row.id,
    computedAt: row.computedAt,
    fingerprint: row.fingerprint,
    seed: row.seed,
    revision: row.revision,
    answer,
    records: revived(records),
  };
  storedPlanCache.set(context.shop.id, plan);
  return plan;
}

/** The order and starts of the newest plan, to go on from. */
export async function lastPlan(context: OperationContext): Promise<LastPlan | null> {
  const { planId } = await planHead(context);
  return (planId && (await storedPlan(context, planId))?.answer) || null;
}

/** Tables are megabytes, and come out of the weather again. */
const withoutTables = ({ id, sheet, place }: PlanRecords['clocks'][number]) => ({ id, sheet, place });

/** Writes a plan and forgets the oldest. In the shop's own transaction. */
export async function storePlan(tx: Transaction, shopId: string, plan: Omit<StoredPlan, 'id'>): Promise<void> {
  const { records, answer, ...columns } = plan;
  // Plain data throughout; an interface has no index signature, which Prisma's JSON type asks for.
  const content = {
    ...answer,
    records: { ...records, weatherYears: [], clocks: records.clocks.map(withoutTables) },
  } as unknown as Prisma.InputJsonValue;
  await tx.plan.deleteMany({ where: { shopId, fingerprint: plan.fingerprint } });
  await tx.plan.create({ data: { shopId, engineVersion: ENGINE_VERSION, content, ...columns } });
  await tx.auditEntry.create({ data: { shopId, operation: PLANNED } });
  const old = await tx.plan.findMany({
    where: { shopId },
    orderBy: [{ computedAt: 'desc' }, { id: 'desc' }],
    skip: PLANS_KEPT,
    select: { id: true },
  });
  if (old.length > 0) await tx.plan.deleteMany({ where: { id: { in: old.map((one) => one.id) } } });
}

/** JSON has no moments; these are the ones that records hold. */
function revived(records: PlanRecords): PlanRecords {
  const moment = (value: unknown): Date => new Date(value as string);
  const perhaps = (value: unknown): Date | null => (value === null ? null : moment(value));
  return {
    ...records,
    now: moment(records.now),
    tasks: records.tasks.map((task) => ({
      ...task,
      startedAt: perhaps(task.startedAt),
      finishedAt: perhaps(task.finishedAt),
      paintReadyAt: perhaps(task.paintReadyAt),
    })),
  };
}

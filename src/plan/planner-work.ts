/** The computations that a thread may be given: each pure, with plain data on both sides. */
import { computePlan } from './compute.js';
import { capacityOf } from './levers.js';
import { oddsOfOrder } from './odds.js';
import { compareWhatIf } from './what-if.js';

export const planningWork = { plan: computePlan, odds: oddsOfOrder, capacity: capacityOf, whatIf: compareWhatIf };

export type PlanningWork = typeof planningWork;
export type WorkName = keyof PlanningWork;
export type Question<N extends WorkName> = Parameters<PlanningWork[N]>[0];
export type Answer<N extends WorkName> = ReturnType<PlanningWork[N]>;

/** One planning as it is sent to a thread, and what comes back. */
export interface WorkRequest {
  name: WorkName;
  question: unknown;
}
export type WorkReply = { answer: unknown } | { fault: { code: string | null; message: string; path: string; stack: string | undefined } };

export function doWork({ name, question }: WorkRequest): unknown {
  return (planningWork[name] as (question: unknown) => unknown)(question);
}

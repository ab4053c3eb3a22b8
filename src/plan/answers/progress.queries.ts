/** How the background's planning goes: whether the kept plan fits the records, and how far the next one is. */
import { z } from 'zod';
import { type OperationContext, query } from '../../platform/operation/operation.js';
import type { Row } from '../../platform/operation/row.js';
import { choice, instant, shape } from '../../platform/shapes.js';
import { ENGINE_VERSION } from '../background/plan-store.js';
import { REPLAN } from '../background/replan-settings.js';
import { PLAN_STAGES } from '../simulation/compute-plan.js';

const PlanRenewal = shape(
  'PlanRenewal',
  {
    since: instant,
    stage: choice('PlanStage', ['reading', ...PLAN_STAGES]).meta({
      description: 'Reading the records, searching for a good order, playing it through for the chances.',
    }),
    share: z.number().meta({ description: 'Of the stage, 0 to 1.' }),
  },
  'A planning that is under way.',
);
const PlanFault = shape('PlanFault', { at: instant, detail: z.string() }, 'Why the last planning came to nothing.');
export const PlanProgress = shape(
  'PlanProgress',
  {
    upToDate: z.boolean().meta({ description: 'The kept plan was made from the records as they are.' }),
    updatedAt: instant.nullable().meta({ description: 'Since when changes wait to be planned; null when none do.' }),
    plannedAt: instant.nullable().meta({ description: 'When the kept plan was stored.' }),
    renewal: PlanRenewal.nullable(),
    fault: PlanFault.nullable(),
  },
  'How the planning in the background goes. Ask again each second or so while `renewal` is there.',
);

interface Counts {
  upToDate: boolean;
  updatedAt: Date | null;
  plannedAt: Date | null;
  since: Date | null;
  stage: z.output<typeof PlanRenewal>['stage'] | null;
  share: number | null;
  fault: string | null;
  faultAt: Date | null;
}

/** One statement. A claim that has not been heard of within its lease is a killed planner's: nothing is under way then. */
async function readProgress(context: OperationContext): Promise<Row<typeof PlanProgress>> {
  const [row] = await context.tx.$queryRaw<Counts[]>`
    select "plannedRevision" >= revision and
      exists (select from "Plan" where "shopId" = ${context.shop.id}::uuid and "engineVersion" = ${ENGINE_VERSION})
      as "upToDate",
      case when "plannedRevision" < revision then "requestedAt" end as "updatedAt", "plannedAt",
      case when "claimedAt" > clock_timestamp() - ${REPLAN.leaseSeconds}::int * interval '1 second' then "planningSince" end as since,
      stage, "stageShare" as share, fault, "faultAt"
    from "PlanRequest" where "shopId" = ${context.shop.id}::uuid`;
  if (!row) return { upToDate: false, updatedAt: null, plannedAt: null, renewal: null, fault: null };
  const { since, stage, share, fault, faultAt, ...rest } = row;
  return {
    ...rest,
    renewal: since && stage && share !== null ? { since, stage, share } : null,
    fault: fault && faultAt ? { at: faultAt, detail: fault } : null,
  };
}

export const progressQueries = [
  query({
    name: 'planProgress',
    summary: 'How the planning in the background goes: what waits to be planned, and how far it is',
    rest: { method: 'GET', path: '/plan/progress' },
    input: z.strictObject({}),
    output: PlanProgress,
    run: readProgress,
  }),
];

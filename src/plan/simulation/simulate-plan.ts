/** What a simulation says of a plan, in the shop's words: days, chances, what decides. Pure; plain data throughout. */
import { type Order, type ScheduledRecords as Simulated, simulate } from '../../engine/schedule/index.js';
import type { PlanRecords } from '../inputs/records.js';
import type { LocalMinutes } from '../inputs/shop-calendar.js';
import { isCrew } from '../model/staff.js';
import { type Drawing, READY, READY_WITH_A_WEEK, simulationOf } from '../model/uncertainty.js';

/** Stands in the engine for "not before the horizon". */
const NEVER = 2 ** 30;

export interface JobSimulation {
  jobId: string;
  /** The day by which it is finished with that chance; null when not within the horizon. */
  p10Date: string | null;
  p50Date: string | null;
  p80Date: string | null;
  p95Date: string | null;
  probabilityByDue: number | null;
  /** Finished before the first snow less the margin; null when nothing is known of the snow, or it is not for it. */
  probabilityReady: number | null;
  /** How much that chance would rise if it were finished a week sooner. */
  readinessGainPerWeek: number | null;
  /** The tasks that decided its end, with the share of scenarios in which they did; in order of start. */
  chain: { taskId: string; share: number }[];
}

export interface PlanSimulation {
  scenarios: number;
  seed: number;
  jobs: JobSimulation[];
  /** Mean share of what is open in use until the last task ends, and how often it decided the start of a task. */
  resources: { resource: string; load: number; bindingShare: number }[];
  /** By week from today: how many of the jobs for the snow are likely finished by the end of that day. */
  finishedBy: { day: string; expected: number }[];
}

const WEEKS_SHOWN = 52;
/** A task that decides the end in fewer cases than this is not in the way. */
const SHARE_WORTH_TELLING = 0.05;

export interface SimulationQuestion {
  records: PlanRecords;
  order: Order;
  scenarios: number;
  seed: number;
}

export const simulateOrder = ({ records, order, scenarios, seed }: SimulationQuestion): PlanSimulation =>
  simulatePlan(records, order, { scenarios, seed });

export function simulatePlan(records: PlanRecords, order: Order, drawing: Drawing): PlanSimulation {
  const { input, built } = simulationOf(records, order, drawing);
  return summarizeSimulation(records, built.local, simulate(input));
}

export function summarizeSimulation(records: PlanRecords, local: LocalMinutes, simulated: Simulated): PlanSimulation {
  const { scenarios, seed } = simulated;
  const jobs = new Map(records.jobs.map((job) => [job.id, job]));
  const day = (minutes: number | null): string | null => (minutes === null ? null : local.dayOf(minutes));
  const share = (value: number): number => Math.round(value * 10_000) / 10_000;
  const simulation = simulated.jobs.flatMap((one): JobSimulation[] => {
    const job = jobs.get(one.id);
    if (!job) return [];
    const readyBy = (deadline: string) =>
      one.readiness.find((entry) => entry.deadlineId === deadline)?.probability ?? null;
    const probabilityReady = job.forSnow ? readyBy(READY) : null;
    const withAWeek = readyBy(READY_WITH_A_WEEK);
    return [
      {
        jobId: job.id,
        p10Date: day(one.p10Minutes),
        p50Date: day(one.p50Minutes),
        p80Date: day(one.p80Minutes),
        p95Date: day(one.p95Minutes),
        probabilityByDue:
          job.dueDate === null ? null : share(countBefore(one.finishMinutes, local.endOfDay(job.dueDate)) / scenarios),
        probabilityReady: probabilityReady === null ? null : share(probabilityReady),
        readinessGainPerWeek:
          probabilityReady === null || withAWeek === null ? null : share(withAWeek - probabilityReady),
        chain: one.chain
          .filter((link) => link.share >= SHARE_WORTH_TELLING)
          .map((link) => ({ taskId: link.taskId, share: share(link.share) })),
      },
    ];
  });
  const forSnow = simulated.jobs.filter((one) => jobs.get(one.id)?.forSnow);
  return {
    scenarios,
    seed,
    jobs: simulation,
    resources: simulated.resources
      .filter((one) => !isCrew(one.id))
      .map((one) => ({
        resource: one.id,
        load: share(one.load),
        bindingShare: share(one.bindingShare),
      })),
    finishedBy: Array.from({ length: WEEKS_SHOWN + 1 }, (_, week) => ({
      day: local.dayAt(7 * week),
      expected: share(
        forSnow.reduce((sum, one) => sum + countBefore(one.finishMinutes, local.midnight(7 * week + 1)) / scenarios, 0),
      ),
    })),
  };
}

function countBefore(finishes: Int32Array, minute: number): number {
  let count = 0;
  for (const finish of finishes) if (finish < minute && finish < NEVER) count += 1;
  return count;
}

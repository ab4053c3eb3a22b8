/** An alternative beside the plan: the same order, the same luck in every scenario, one thing changed. Pure. */
import { compareSchedules, type Order, simulate } from '../../engine/schedule/index.js';
import type { PlanRecords } from '../inputs/records.js';
import { type Alternative, alternative } from '../model/alternatives.js';
import { completionsOf, scheduleRecords } from '../model/scheduled-records.js';
import { simulationOf } from '../model/uncertainty.js';
import { type JobSimulation, summarizeSimulation } from './simulate-plan.js';

export interface WhatIfQuestion {
  records: PlanRecords;
  order: Order;
  change: Alternative;
  scenarios: number;
  seed: number;
}

export interface JobWhatIf {
  jobId: string;
  expectedBefore: string | null;
  expectedAfter: string | null;
  before: JobSimulation;
  after: JobSimulation;
  /** Mean over the scenarios; negative is sooner. */
  meanDays: number | null;
  /** Shares of the scenarios in which it ends sooner, or later. */
  probabilitySooner: number;
  probabilityLater: number;
}

export interface WhatIfAnswer {
  scenarios: number;
  jobs: JobWhatIf[];
  /** The sums of the chances to be ready for the snow, over all jobs of each plan; null where none is known. */
  expectedReadyBefore: number | null;
  expectedReadyAfter: number | null;
}

export function compareWhatIf({ records, order, change, scenarios, seed }: WhatIfQuestion): WhatIfAnswer {
  const one = planOf(records, order, { scenarios, seed });
  const other = planOf(alternative(records, change), order, { scenarios, seed });
  const differences = new Map(
    compareSchedules(one.simulated, other.simulated).map((difference) => [difference.id, difference]),
  );
  const after = new Map(other.simulation.jobs.map((job) => [job.jobId, job]));
  const ready = (jobs: readonly JobSimulation[]): number | null =>
    jobs.reduce<number | null>(
      (sum, job) => (job.probabilityReady === null ? sum : (sum ?? 0) + job.probabilityReady),
      null,
    );
  return {
    scenarios,
    jobs: one.simulation.jobs.flatMap((before): JobWhatIf[] => {
      const now = after.get(before.jobId);
      const difference = differences.get(before.jobId);
      if (!now || !difference) return [];
      return [
        {
          jobId: before.jobId,
          expectedBefore: one.completions.get(before.jobId)?.day ?? null,
          expectedAfter: other.completions.get(before.jobId)?.day ?? null,
          before,
          after: now,
          meanDays: difference.meanMinutes === null ? null : Math.round(difference.meanMinutes / 144) / 10,
          probabilitySooner: difference.earlierShare,
          probabilityLater: difference.probabilityLater,
        },
      ];
    }),
    expectedReadyBefore: ready(one.simulation.jobs),
    expectedReadyAfter: ready(other.simulation.jobs),
  };
}

function planOf(records: PlanRecords, order: Order, drawing: { scenarios: number; seed: number }) {
  const { input, built } = simulationOf(records, order, drawing);
  const simulated = simulate(input);
  return {
    simulated,
    simulation: summarizeSimulation(records, built.local, simulated),
    completions: completionsOf(scheduleRecords(records, order)),
  };
}

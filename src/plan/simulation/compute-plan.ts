/** One planning, from records to an order and its odds. Plain data on both sides, so that a thread can do it. */
import { boundOf, makeSchedule, type Order, type Schedule, searchSchedule } from '../../engine/schedule/index.js';
import type { Report } from '../../platform/workers/worker-task.js';
import { type PlanRecords } from '../inputs/records.js';
import { buildProblem } from '../model/problem.js';
import { type PlanQuality, qualityOf } from './quality.js';
import { type PlanSimulation, simulatePlan } from './simulate-plan.js';

export interface PlanQuestion {
  records: PlanRecords;
  /** The last plan's order and starts (minutes since 1970, by task), to stay near. */
  last: LastPlan | null;
  seed: number;
  /** Schedules to try for a better order; 0 keeps the last plan's, or the first that comes to mind. */
  schedules: number;
  scenarios: number;
}

export interface LastPlan {
  order: Order;
  starts: Record<string, number>;
}

/** What is kept of a planning: from the order the schedule can be made again. */
export interface PlanAnswer extends LastPlan {
  simulation: PlanSimulation;
  search: { schedules: number; provenOptimal: boolean };
  quality: PlanQuality;
}

/** Half a day late in all is no reason to turn the plan over. */
const TARDINESS_TOLERANCE_MINUTES = 720;
/** What one task moved by a day has to save, where a day's delay of a machine costs one. A judgement. */
const LOSS_PER_MOVED_DAY = 0.1;

/** The stages of a planning, in order, as its progress names them. */
export const PLAN_STAGES = ['searching', 'simulating'] as const;

/** @param report told how far the search and the run-throughs are */
export function computePlan(question: PlanQuestion, report: Report = () => {}): PlanAnswer & { schedule: Schedule } {
  const { records, last, seed, schedules, scenarios } = question;
  const { problem, local } = buildProblem(records);
  const tried = schedules > 0 && records.tasks.some((task) => !task.finishedAt);
  const searched = tried
    ? searchSchedule(problem, {
        seed,
        schedules,
        partial: true,
        ...(last ? { order: last.order, stability: stabilityOf(last) } : {}),
        onProgress: (progress) => report({ stage: PLAN_STAGES[0], share: progress.schedules / schedules }),
      })
    : null;
  const schedule =
    searched?.schedule ?? makeSchedule(problem, { partial: true, ...(last ? { order: last.order } : {}) });
  const simulation = simulatePlan(records, schedule.order, {
    scenarios,
    seed,
    onProgress: (done) => report({ stage: PLAN_STAGES[1], share: done / scenarios }),
  });
  return {
    order: schedule.order,
    starts: Object.fromEntries(
      schedule.tasks.filter((task) => !task.fixed).map((task) => [task.id, local.toEpochMinute(task.startMinutes)]),
    ),
    simulation,
    schedule,
    search: { schedules: searched?.schedules ?? 0, provenOptimal: searched?.provenOptimal ?? false },
    quality: qualityOf(schedule, searched?.lowerBound ?? boundOf(problem), local),
  };

  function stabilityOf({ starts }: LastPlan) {
    const startMinutes = Object.fromEntries(
      Object.entries(starts).map(([id, minute]) => [id, local.ofEpochMinute(minute)]),
    );
    return {
      startMinutes,
      tardinessTolerance: TARDINESS_TOLERANCE_MINUTES,
      lossPerMovedMinute: LOSS_PER_MOVED_DAY / 1440,
    };
  }
}

/** One planning, from records to an order and its odds. Plain data on both sides, so that a thread can do it. */
import { EngineError } from '../engine/error.js';
import { makeSchedule, searchSchedule, type Order, type Schedule } from '../engine/schedule/index.js';
import { oddsOf, type PlanOdds } from './odds.js';
import { buildProblem, type PlanRecords } from './problem.js';

export interface PlanQuestion {
  records: PlanRecords;
  /** The last plan's order and starts (minutes since 1970, by task), to stay near. */
  last: LastPlan | null;
  seed: number;
  /** Schedules to try for a better order; 0 keeps the last plan's, or the first that comes to mind. */
  schedules: number;
  /** The search ends after so long at the latest; the answer then depends on the machine. */
  searchMilliseconds?: number;
  scenarios: number;
}

export interface LastPlan {
  order: Order;
  starts: Record<string, number>;
}

/** What is kept of a planning: from the order the schedule can be made again. */
export interface PlanAnswer extends LastPlan {
  odds: PlanOdds;
  search: { schedules: number; provenOptimal: boolean };
}

/** Half a day late in all, or half of one hundredth of a machine's chance, is no reason to turn the plan over. */
const TARDINESS_TOLERANCE_MINUTES = 720;
const VALUE_TOLERANCE = 5;
const MAKESPAN_PER_MOVED_MINUTE = 0.1;

/** @param proceed asked now and then; false gives the planning up. @throws EngineError `cancelled` */
export function computePlan(question: PlanQuestion, proceed: () => boolean = () => true): PlanAnswer & { schedule: Schedule } {
  const { records, last, seed, schedules, searchMilliseconds, scenarios } = question;
  const { problem, local } = buildProblem(records);
  const tried = schedules > 0 && records.tasks.some((task) => !task.finishedAt);
  const searched = tried
    ? searchSchedule(problem, {
        seed,
        schedules,
        partial: true,
        ...(searchMilliseconds === undefined ? {} : { milliseconds: searchMilliseconds, clock: () => performance.now() }),
        ...(last ? { order: last.order, stability: stabilityOf(last) } : {}),
        onProgress: () => proceed(),
      })
    : null;
  if (searched?.stopped === 'cancelled') throw new EngineError('cancelled', 'The planning was given up');
  const schedule = searched?.schedule ?? makeSchedule(problem, { partial: true, ...(last ? { order: last.order } : {}) });
  const odds = oddsOf(records, schedule.order, { scenarios, seed, onProgress: () => proceed() });
  return {
    order: schedule.order,
    starts: Object.fromEntries(schedule.tasks.filter((task) => !task.fixed).map((task) => [task.id, local.toEpochMinute(task.startMinutes)])),
    odds,
    schedule,
    search: { schedules: searched?.schedules ?? 0, provenOptimal: searched?.provenOptimal ?? false },
  };

  function stabilityOf({ starts }: LastPlan) {
    const startMinutes = Object.fromEntries(Object.entries(starts).map(([id, minute]) => [id, local.ofEpochMinute(minute)]));
    return { startMinutes, tardinessTolerance: TARDINESS_TOLERANCE_MINUTES, valueTolerance: VALUE_TOLERANCE, makespanPerMovedMinute: MAKESPAN_PER_MOVED_MINUTE };
  }
}

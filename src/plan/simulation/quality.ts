/** How good a plan is, as far as that can be proven: beside what no order of work could better. Pure. */
import { boundOf, type LowerBound, type Schedule } from '../../engine/schedule/index.js';
import { type PlanRecords } from '../inputs/records.js';
import type { LocalMinutes } from '../inputs/shop-calendar.js';
import { buildProblem } from '../model/problem.js';

export interface PlanQuality {
  /** Days that jobs end after their due days, in all. */
  daysLate: number;
  /** No order of work could bring that below this. */
  daysLateAtLeast: number;
  /**
   * By job: no order of work could have it finished before this day, though nothing else stood in its way; null beyond
   * the horizon.
   */
  earliestDates: Record<string, string | null>;
}

/** By likely hours and median arrivals, as the schedule. @param bound of the same problem */
export function qualityOf({ cost }: Pick<Schedule, 'cost'>, bound: LowerBound, local: LocalMinutes): PlanQuality {
  const days = (minutes: number): number => Math.round(minutes / 144) / 10;
  return {
    daysLate: days(cost.weightedTardiness),
    daysLateAtLeast: days(bound.weightedTardiness),
    earliestDates: daysOf(bound, local),
  };
}

const daysOf = ({ jobs }: LowerBound, local: LocalMinutes): PlanQuality['earliestDates'] =>
  Object.fromEntries(
    jobs.map(({ id, finishMinutes }) => [id, finishMinutes === null ? null : local.dayOf(finishMinutes)]),
  );

/** The earliest days alone. */
export function earliestDaysOf(records: PlanRecords): PlanQuality['earliestDates'] {
  const { problem, local } = buildProblem(records);
  return daysOf(boundOf(problem), local);
}

/** @param provenOptimal no schedule can be better */
export function qualityWords({ daysLate, daysLateAtLeast }: PlanQuality, provenOptimal: boolean): string {
  if (provenOptimal) return 'no order of work could do better';
  if (daysLate === 0) return 'no job ends after its due day';
  const late = `the jobs end ${daysLate} days after their due days in all`;
  if (daysLate === daysLateAtLeast) return `${late}, and no order of work could bring that down`;
  return daysLateAtLeast === 0 ? late : `${late}; no order of work could bring that below ${daysLateAtLeast}`;
}

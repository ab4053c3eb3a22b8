/** The plan's records as a simulation: what may take longer, come later, or be spoilt by the weather. Pure. */
import { at } from '../../engine/look-up.js';
import type { Arrival, Deadline, Order, SimulationInput } from '../../engine/schedule/index.js';
import { type PlanRecords } from '../inputs/records.js';
import type { LocalMinutes } from '../inputs/shop-calendar.js';
import { lastReadyMinute } from '../inputs/what-counts-as-ready.js';
import { foundLengths } from './found-work.js';
import { likelyArrivals, likelyLengths } from './likely-work.js';
import { buildProblem, type BuiltProblem, localTable, paintWeatherOf } from './problem.js';
import { staffSamples } from './staff.js';
import { lengthsOf, sharedLuckOf } from './task-lengths.js';

/** Finished in time for the first snow, less the shop's margin. */
export const READY = 'ready';
/** The same with the first snow a week later: what a week won on the job would bring. */
export const READY_WITH_A_WEEK = 'readyWithAWeek';
export const WEEK_MINUTES = 7 * 1440;

export interface Drawing {
  scenarios: number;
  /** The same seed gives every task, part and winter the same luck, whatever else is changed. */
  seed: number;
  /** Told now and then how many are done. */
  onProgress?: (done: number) => void;
}

/** @param order the plan's, replayed in every scenario */
export function simulationOf(
  records: PlanRecords,
  order: Order,
  drawing: Drawing,
): { input: SimulationInput; built: BuiltProblem } {
  const built = buildProblem(records, { awaited: false });
  const { local } = built;
  const input: SimulationInput = {
    problem: built.problem,
    order,
    scenarios: drawing.scenarios,
    seed: drawing.seed,
    lengths: { ...lengthsOf(records), ...foundLengths(records), ...likelyLengths(records) },
    luck: sharedLuckOf(records),
    calendars: staffSamples(records, local, built.problem.nowMinutes ?? 0),
    arrivals: [...arrivalsOf(records, local), ...likelyArrivals(records, local)],
    weatherYears: records.weatherYears.map(({ windows }) => [paintWeatherOf(windows, local)]),
    ...(records.clocks.length > 0 && records.weatherYears.length > 0
      ? {
          clockYears: records.weatherYears.map((_, year) =>
            records.clocks.map((clock) => localTable(at(clock.years, year), local)),
          ),
        }
      : {}),
    deadlines: deadlinesOf(records, local),
    ...(drawing.onProgress ? { onProgress: drawing.onProgress } : {}),
  };
  return { input, built };
}

function arrivalsOf(records: PlanRecords, local: LocalMinutes): Arrival[] {
  return records.tasks.flatMap((task) =>
    task.startedAt || task.finishedAt
      ? []
      : task.awaited.map((part): Arrival => ({
          id: part.parcel,
          taskIds: [task.id],
          minutes: part.arrivalOffsets.map((offset) => local.midnight(offset)),
        })),
  );
}

function deadlinesOf({ season, weatherYears }: PlanRecords, local: LocalMinutes): Deadline[] {
  if (!season) return [];
  const byWeatherYear = weatherYears.length > 0;
  const days = byWeatherYear ? weatherYears.map((year) => year.firstSnowDate) : season.firstSnowDates;
  if (days.length === 0) return [];
  const minutes = days.map((day) => lastReadyMinute(day, season, local));
  // One name for both where they are drawn by themselves: the same winter answers both.
  return [
    { id: READY, minutes, byWeatherYear },
    ...(byWeatherYear
      ? [{ id: READY_WITH_A_WEEK, minutes: minutes.map((one) => one + WEEK_MINUTES), byWeatherYear }]
      : []),
  ];
}

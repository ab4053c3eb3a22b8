/** How many more machines fit, and what a few changes that a shop can make would do to that. Pure. */
import { at } from '../../engine/look-up.js';
import type { Order } from '../../engine/schedule/index.js';
import type { PlanRecords } from '../inputs/records.js';
import { withAllParts, withLongerDays, withPaintEveryDay, withPlace } from '../model/alternatives.js';
import {
  countAt,
  type Effort,
  type FitAnswer,
  type FitQuestion,
  lastIntakeDates,
  machinesThatFit,
  type RouteStep,
} from './capacity.js';

export interface CapacityQuestion {
  records: PlanRecords;
  /** The plan's. */
  order: Order | null;
  /** One of each kind of machine; the changes are tried with the first. */
  routes: RouteStep[][];
  /** The local day by which they must be finished. */
  by: string;
}

/** Chances at which a number is told, the one that most is planned by first. */
export const LEVELS = [0.8, 0.5, 0.95] as const;
/** The one at which one number stands for all. */
const USUAL_LEVEL = LEVELS[0];

export interface Fit extends FitAnswer {
  /** At the usual chance. */
  count: number;
  /** When the last of those that fit is scheduled to be finished, and the first that does not. */
  lastDate: string | null;
  nextDay: string | null;
}

export interface CapacityAnswer {
  fits: Fit[];
  scenarios: ScenarioAnswer[];
}

export interface ScenarioAnswer {
  change: string;
  /** What it would loosen. */
  bottleneck: string;
  moreThatFit: number;
  additionalMachines: number;
}

/** Counted in schedules and futures, so that the same records give the same answer on any machine. */
export const CAPACITY_EFFORT: Effort = { schedules: 60, scenarios: 100, seed: 1 };
/** A change is judged by its schedules alone, beside those without it: both leave luck out. */
const CHANGE_EFFORT: Effort = { schedules: 30, scenarios: 0, seed: 1 };

export function fitOf(question: Omit<FitQuestion, 'effort'>): Fit {
  const answer = machinesThatFit({ ...question, effort: CAPACITY_EFFORT });
  const count = countAt(answer, USUAL_LEVEL);
  return {
    ...answer,
    count,
    lastDate: answer.finishDates[count - 1] ?? null,
    nextDay: answer.finishDates[count] ?? null,
  };
}

export function capacityOf({ records, order, routes, by }: CapacityQuestion): CapacityAnswer {
  const fits = routes.map((route) => fitOf({ records, order, routes: [route], by }));
  const [first] = routes;
  if (!first) return { fits, scenarios: [] };
  const bySchedule = (changed: PlanRecords, from = 1): number =>
    countAt(machinesThatFit({ records: changed, order, routes: [first], by, from, effort: CHANGE_EFFORT }), 1);
  const unchanged = bySchedule(records);
  const scenarios = changes(records).map(({ change, bottleneck, records: changed }) => {
    // None of them takes anything away: where the list happens to use more means worse, they could be left unused.
    const additionalMachines = Math.max(0, bySchedule(changed, unchanged + 1) - unchanged);
    return { change, bottleneck, moreThatFit: at(fits, 0).count + additionalMachines, additionalMachines };
  });
  return { fits, scenarios };
}

/** By number of machines: the last day to take each in, at each level; and how many at each. */
export interface DetailedFit extends Fit {
  levels: { probability: number; count: number; lastIntakeDates: string[] }[];
}

/** As `fitOf`, with the last day to take each machine in at each level. */
export function detailedFitOf(question: Omit<FitQuestion, 'effort'>): DetailedFit {
  const fit = fitOf(question);
  const dates = lastIntakeDates({ ...question, effort: CAPACITY_EFFORT }, LEVELS);
  return {
    ...fit,
    levels: LEVELS.map((probability, k) => ({
      probability,
      count: countAt(fit, probability),
      // Dates are looked for machine by machine; a number found from a plan for more has none of its own.
      lastIntakeDates: at(dates, k).slice(0, countAt(fit, probability)),
    })).sort((a, b) => a.probability - b.probability),
  };
}

const changes = (records: PlanRecords): { change: string; bottleneck: string; records: PlanRecords }[] => [
  { change: 'one more hour a day', bottleneck: 'hours of work', records: withLongerDays(records, 60) },
  { change: 'another bench', bottleneck: 'the bench', records: withPlace(records, 'bench', 1) },
  { change: 'another spray area', bottleneck: 'the spray area', records: withPlace(records, 'sprayArea', 1) },
  {
    change: 'two more places on the cure rack',
    bottleneck: 'the cure rack',
    records: withPlace(records, 'cureRack', 2),
  },
  { change: 'a heated spray area', bottleneck: 'paint weather', records: withPaintEveryDay(records) },
  { change: 'all awaited parts on hand', bottleneck: 'parts', records: withAllParts(records) },
];

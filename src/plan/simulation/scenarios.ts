/** How many more machines fit, and what a few changes that a shop can make would do to that. Pure. */
import { at } from '../../engine/look-up.js';
import type { PlanRecords } from '../inputs/records.js';
import { withAllParts, withLongerDays, withPaintEveryDay, withPlace } from '../model/alternatives.js';
import { moreThatFit, type RouteStep } from './capacity.js';

export interface CapacityQuestion {
  records: PlanRecords;
  /** One of each kind of machine; the changes are tried with the first. */
  routes: RouteStep[][];
  /** The local day by which they must be finished. */
  by: string;
}

export interface CapacityAnswer {
  fits: { count: number; lastDate: string | null; nextDay: string | null }[];
  scenarios: ScenarioAnswer[];
}

export interface ScenarioAnswer {
  change: string;
  /** What it would loosen. */
  bottleneck: string;
  moreThatFit: number;
  additionalMachines: number;
}

export function capacityOf({ records, routes, by }: CapacityQuestion): CapacityAnswer {
  const fits = routes.map((route) => moreThatFit({ records, route, by }));
  const [first] = routes;
  if (!first) return { fits, scenarios: [] };
  const scenarios = changes(records).map(({ change, bottleneck, records: changed }) => {
    // None of them takes anything away: where the list happens to use more means worse, they could be left unused.
    const count = Math.max(at(fits, 0).count, moreThatFit({ records: changed, route: first, by }).count);
    return { change, bottleneck, moreThatFit: count, additionalMachines: count - at(fits, 0).count };
  });
  return { fits, scenarios };
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

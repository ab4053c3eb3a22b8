import { EngineError } from '../../error.js';
import { required } from '../../look-up.js';
import { Random } from '../../statistics/random.js';
import { firstList, listFromIds } from '../generation/priority-list.js';
import { buildSchedule, firstWindowLinks, type Order, type Schedule } from '../generation/schedule.js';
import { type LowerBound, lowerBound } from '../problem/bounds.js';
import { compile, type Compiled } from '../problem/compile.js';
import type { Problem } from '../problem/problem.js';
import { Evolution } from './evolution.js';
import type { Model, Rank } from './model.js';
import { asPlain, PlainModel } from './plain-model.js';
import { ShopModel, type Stability } from './shop-model.js';

export interface SearchOptions {
  seed: number;
  /** Schedules to generate at most; every pass of a justification counts, and exact search as what takes as long. */
  schedules: number;
  /** Milliseconds to use at most; needs `clock`. The answer then depends on the machine. */
  milliseconds?: number;
  /** Milliseconds now (`performance.now`); the engine has no clock of its own. */
  clock?: () => number;
  /** The current plan's order, to go on from. */
  order?: Partial<Order>;
  /** Keeps the plan near an earlier one. */
  stability?: Stability;
  /** Called every few hundred schedules; return false to stop with the best found so far. */
  onProgress?: (progress: { schedules: number; best: Rank }) => boolean | void;
  /** As in `makeSchedule`. */
  partial?: boolean;
}

export interface SearchResult {
  schedule: Schedule;
  schedules: number;
  lowerBound: LowerBound;
  /** The schedule reaches its lower bounds, or the makespan its bound, so nothing better exists. */
  provenOptimal: boolean;
  stopped: 'optimal' | 'schedules' | 'milliseconds' | 'cancelled';
}

/** Schedules between looks at the clock. */
const SLICE = 300;

/**
 * Searches for a good schedule: fewest tasks without a place, then least weighted tardiness, then least value lost, then
 * least makespan. Same problem, seed, order and number of schedules: same answer.
 * @throws EngineError as `makeSchedule`; `no-clock` when milliseconds are given without a clock.
 */
export function searchSchedule(problem: Problem, options: SearchOptions): SearchResult {
  if (options.milliseconds !== undefined && !options.clock) {
    throw new EngineError('no-clock', 'A budget in milliseconds needs a clock', 'clock');
  }
  const compiled = compile(problem);
  const bound = lowerBound(compiled);
  const given = startingLists(compiled, options.order);
  if (compiled.free.length === 0) {
    return {
      schedule: buildSchedule(compiled, compiled.free, null, options),
      schedules: 0,
      lowerBound: bound,
      provenOptimal: true,
      stopped: 'optimal',
    };
  }
  const plain = options.stability ? null : asPlain(compiled);
  const models: Model[] = plain
    ? [new PlainModel(plain), PlainModel.mirrored(plain)]
    : [new ShopModel(compiled, options.stability ?? null)];
  const evolution = new Evolution(models, new Random(options.seed), given);
  const stopped = runWithin(evolution, options);
  const best = required(evolution.best, 'best schedule');
  return {
    schedule: buildSchedule(compiled, best.list, best.firstWindow, options),
    schedules: evolution.schedules,
    lowerBound: evolution.solved && plain ? boundOfOptimum(bound, best.rank[0]!) : bound,
    provenOptimal: evolution.solved,
    stopped,
  };
}

/** What is optimal is its own bound. */
function boundOfOptimum(bound: LowerBound, makespanMinutes: number): LowerBound {
  return bound.makespanMinutes >= makespanMinutes ? bound : { ...bound, makespanMinutes, by: { kind: 'refutation' } };
}

function runWithin(evolution: Evolution, options: SearchOptions): SearchResult['stopped'] {
  const begun = options.clock?.() ?? 0;
  const total = Math.max(options.schedules, evolution.perStep);
  for (let upTo = evolution.perStep; ; upTo = Math.min(total, evolution.schedules + SLICE)) {
    evolution.run(upTo);
    if (evolution.solved) return 'optimal';
    if (evolution.schedules + evolution.perStep > total) return 'schedules';
    if (options.milliseconds !== undefined && (options.clock?.() ?? 0) - begun >= options.milliseconds)
      return 'milliseconds';
    if (
      options.onProgress?.({ schedules: evolution.schedules, best: required(evolution.best, 'best schedule').rank }) ===
      false
    )
      return 'cancelled';
  }
}

function startingLists(
  compiled: Compiled,
  order: Partial<Order> | undefined,
): { list: Int32Array; firstWindow: Uint8Array | null }[] {
  const links = compiled.linkTask.length;
  const lists: { list: Int32Array; firstWindow: Uint8Array | null }[] = [];
  const given = order?.taskIds ? listFromIds(compiled, order.taskIds) : null;
  if (given) lists.push({ list: given, firstWindow: firstWindowLinks(compiled, order?.firstWindow ?? []) });
  lists.push({ list: firstList(compiled), firstWindow: new Uint8Array(links) });
  if (compiled.forbiddenStart.length > 0)
    lists.push({ list: given ?? firstList(compiled), firstWindow: new Uint8Array(links).fill(1) });
  return lists;
}

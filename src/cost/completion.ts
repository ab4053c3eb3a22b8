/**
 * What a job will cost in the end: from its tasks and parts once it has findings, from the shop's own jobs of the kind
 * before. Pure.
 */
import { Decimal } from 'decimal.js';
import { labourValue, type RemainingCost, roundAmount, spaceCost } from '../engine/money/index.js';
import { learnEffort, type Spread } from '../engine/price/index.js';
import type { MachineEffort } from './experience.queries.js';
import { hoursEstimateToComplete, type RemainingTask } from './remaining.queries.js';

/** So many own machines of the kind say more of a new one than a route without findings does. */
const ENOUGH_HISTORY = 2;
/** Without a simulation: seldom sooner than scheduled, often later, up to half as long again. A judgement, no source. */
const LATE = 1.5;

export interface ToCompleteQuestion {
  currency: string;
  today: string;
  hourlyValue: Decimal;
  spacePerDay: Decimal;
  tasks: readonly RemainingTask[];
  /** Nothing has been found on it and no part is asked for yet. */
  isUnseen: boolean;
  history: readonly MachineEffort[];
  workedMinutes: number;
  /** Parts and consumables charged so far. */
  spent: Decimal;
  parts: { cost: Decimal; committed: Decimal; unpriced: readonly string[] };
  coats: (RemainingCost & { reasons: string }) | null;
  /** What was found and not decided on, counted by its probability. */
  likelyWork: LikelyWorkCost | null;
  /** The day by which it is likely finished, and the days until then; null where none is in sight. */
  day: string | null;
  waitDays: number;
  /** The days until it is finished at the soonest and at the latest that the plan's simulation has; null without one. */
  simulatedDays: { soonest: number; latest: number | null } | null;
}

export interface LikelyWorkCost {
  labour: RemainingCost & { likely: Decimal };
  parts: RemainingCost & { likely: Decimal };
  reasons: string[];
}

export interface ToComplete {
  items: RemainingCost[];
  likely: { labour: Decimal; parts: Decimal; paint: Decimal; space: Decimal };
  committed: Decimal;
  reasons: string[];
}

export function toComplete(question: ToCompleteQuestion): ToComplete {
  const { currency, hourlyValue, spacePerDay, tasks, waitDays, day, parts } = question;
  const spaceFor = (days: number): Decimal => spaceCost(days, spacePerDay, currency);
  const simulated = question.simulatedDays;
  const space = {
    what: 'space',
    low: spaceFor(Math.min(waitDays, simulated?.soonest ?? waitDays)),
    likely: spaceFor(waitDays),
    high: spaceFor(Math.max(waitDays, simulated?.latest ?? waitDays * LATE)),
  };
  const spaceReasons = [
    ...(waitDays > 0 ? [`${waitDays} days of space are still to come, until it is finished about ${day}`] : []),
    ...(tasks.length > 0 && day === null
      ? ['space to come is not counted: no day is in sight on which it will be finished']
      : []),
  ];
  // Work that has begun says more of the hours to come than other machines do.
  const fromHistory =
    tasks.length > 0 && question.isUnseen && question.workedMinutes === 0 && question.history.length >= ENOUGH_HISTORY;
  if (fromHistory) {
    const { hours, cash } = fromOwnJobs(question);
    return {
      items: [hours, cash, space],
      likely: { labour: hours.likely, parts: cash.likely, paint: new Decimal(0), space: space.likely },
      committed: new Decimal(0),
      reasons: [
        `nothing has been found on it yet: hours, parts, paint and consumables ` +
          `are those of ${question.history.length} own sold of the kind`,
        ...spaceReasons,
      ],
    };
  }
  const hours = tasks.map((task) => hoursEstimateToComplete(task, hourlyValue, currency));
  const cost = roundAmount(parts.cost, currency);
  const found = question.likelyWork;
  return {
    items: [
      ...(found ? [found.labour, found.parts] : []),
      ...hours,
      { what: 'parts', low: cost, likely: cost, high: cost },
      ...(question.coats ? [question.coats] : []),
      space,
    ],
    likely: {
      labour: Decimal.sum(found?.labour.likely ?? 0, ...hours.map((one) => one.likely)),
      parts: cost.plus(found?.parts.likely ?? 0),
      paint: question.coats ? new Decimal(question.coats.likely) : new Decimal(0),
      space: space.likely,
    },
    committed: roundAmount(parts.committed, currency),
    reasons: [
      ...spaceReasons,
      ...(found?.reasons ?? []),
      ...(question.coats ? [question.coats.reasons] : []),
      ...(parts.unpriced.length > 0
        ? [`parts without a known price are not counted: ${parts.unpriced.join(', ')}`]
        : []),
    ],
  };
}

type Three = Record<'low' | 'likely' | 'high', Decimal> & { what: string };

function fromOwnJobs({ tasks, history, spent, currency, hourlyValue }: ToCompleteQuestion): {
  hours: Three;
  cash: Three;
} {
  const planned = tasks.reduce((sum, task) => sum + task.likely, 0);
  const mean = history.reduce((sum, machine) => sum + machine.cash, 0) / history.length;
  const { cash, minutes } = learnEffort(
    history.map((machine) => ({ ...machine, faults: [] })),
    { cash: mean, minutes: planned, faults: [] },
    [],
  );
  const three = (what: string, spread: Spread, toAmount: (value: number) => Decimal): Three => ({
    what,
    low: toAmount(quantile(spread, -2)),
    likely: toAmount(quantile(spread, 0)),
    high: toAmount(quantile(spread, 2)),
  });
  return {
    hours: three('hours', minutes, (value) => labourValue(Math.round(value), hourlyValue, currency)),
    cash: three('parts, paint and consumables', cash, (value) =>
      roundAmount(Decimal.max(0, new Decimal(value).minus(spent)), currency),
    ),
  };
}

/** Of the log-normal distribution of a mean and deviation, so many standard deviations from its median. */
function quantile({ mean, deviation }: Spread, z: number): number {
  if (mean <= 0) return 0;
  const s = Math.sqrt(Math.log1p((deviation / mean) ** 2));
  return mean * Math.exp(s * z - (s * s) / 2);
}

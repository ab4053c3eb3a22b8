/** What is scarce, and what changing it would be worth: the plan played through with each change beside itself. Pure. */
import { at, lookUp } from '../../engine/look-up.js';
import { NEVER } from '../../engine/schedule/index.js';
import { type Difference, difference, mean } from '../../engine/selection/index.js';
import type { PlaceKind, PlanRecords } from '../../plan/inputs/records.js';
import {
  withAllParts,
  withDayOffLess,
  withHeatedRack,
  withHelper,
  withLongerDays,
  withMinutesMoreAWeek,
  withPaintEveryDay,
  withPartsLater,
  withPlace,
} from '../../plan/model/alternatives.js';
import type { Report } from '../../platform/workers/worker-task.js';
import { type Choice, type ChoiceOutcome, Scorer, type ScoringQuestion } from '../value/scorer.js';

export const scarceThings = ['hours', 'bench', 'sprayArea', 'cureRack', 'paintWeather', 'parts'] as const;
export type ScarceThing = (typeof scarceThings)[number];

export interface LeversQuestion {
  scoring: ScoringQuestion;
  /** Machines taken as bought; the rest of the candidates are left out. */
  bought: string[];
  helperWeeks: number;
  heatedCelsius: number;
  first: number;
  told: number;
}

export interface ScarcityAnswer {
  thing: ScarceThing;
  /** Share of futures in which more of it than anybody needs would finish some machine a day or more sooner. */
  decidedShare: number;
  /** What that would add in all. */
  worth: Difference;
}

export interface LeverAnswer {
  code: LeverCode;
  thing: ScarceThing;
  /** What of it the change depends on: a day, a number of parts. */
  detail: string | null;
  gain: Difference;
  readyGain: Difference;
  /** Machines of which each comes sooner, in the mean over futures. */
  daysSooner: number;
}

export const leverCodes = [
  'hourMoreAWeek',
  'helper',
  'dayOffLess',
  'anotherBench',
  'anotherSprayArea',
  'secondRack',
  'heatedSprayArea',
  'heatedRack',
  'orderPartsToday',
] as const;
export type LeverCode = (typeof leverCodes)[number];

export interface LeversAnswer {
  margin: number;
  expectedReady: number;
  scarcity: ScarcityAnswer[];
  levers: LeverAnswer[];
}

const PLENTY = 20;
/** Ordering today is compared with ordering so many days from now. */
export const ORDER_DELAY_DAYS = 7;
const DAY = 1440;

interface Change {
  records: PlanRecords;
  detail?: string;
  /** The change is what is planned already; beside it stands what is lost without it. */
  isReverse?: boolean;
}

export function computeLevers(question: LeversQuestion, report: Report = () => {}): LeversAnswer {
  const { records } = question.scoring;
  const base = new Played(question, records);
  const changes = changesOf(question);
  const relaxed = relaxations(records);
  const steps = changes.length + relaxed.length;
  const levers = changes.map(([code, thing, change], k): LeverAnswer => {
    report({ stage: 'comparing', share: k / steps });
    const other = new Played(question, change.records);
    const [more, less] = change.isReverse ? [base, other] : [other, base];
    return { code, thing, detail: change.detail ?? null, ...betterOf(more, less) };
  });
  const scarcity = relaxed.map(([thing, changed], k): ScarcityAnswer => {
    report({ stage: 'comparing', share: (changes.length + k) / steps });
    const other = new Played(question, changed);
    const sooner = shareSooner(base.outcome, other.outcome);
    return { thing, decidedShare: sooner, worth: betterOf(other, base).gain };
  });
  return {
    margin: mean(base.outcome.margin),
    expectedReady: mean(base.outcome.ready),
    scarcity,
    levers,
  };
}

/** A shop as it is or as it could be, worked in the better of the plan's order and the one by worth. */
class Played {
  readonly outcome: ChoiceOutcome;

  constructor({ scoring, bought, first, told }: LeversQuestion, records: PlanRecords) {
    const scorer = new Scorer({ ...scoring, records });
    const choices = (['plan', 'worth'] as const).map((sequence): Choice => ({ bought, treatments: {}, sequence }));
    const best = choices
      .map((choice) => ({ choice, value: mean(scorer.margins(choice, 0, first)) }))
      .reduce((a, b) => (b.value > a.value ? b : a));
    // Told from futures that did not decide the order.
    this.outcome = scorer.outcome(best.choice, first, first + told);
  }
}

/** What there is more of can be left unused, so it never loses: where its order leaves less, the old one stands. */
function betterOf(more: Played, less: Played): Pick<LeverAnswer, 'gain' | 'readyGain' | 'daysSooner'> {
  const gain = difference(more.outcome.margin, less.outcome.margin);
  const none = { mean: 0, standardError: 0 };
  if (gain.mean <= 0) return { gain: none, readyGain: none, daysSooner: 0 };
  const ready = difference(more.outcome.ready, less.outcome.ready);
  return {
    gain,
    readyGain: ready.mean > 0 ? ready : none,
    daysSooner: Math.max(0, meanDaysSooner(less.outcome, more.outcome)),
  };
}

function meanDaysSooner(before: ChoiceOutcome, after: ChoiceOutcome): number {
  let sum = 0;
  let count = 0;
  for (const [id, machine] of before.machines) {
    const other = lookUp(after.machines, id).finish;
    for (let k = 0; k < other.length; k++)
      if (at(machine.finish, k) < NEVER && at(other, k) < NEVER) sum += at(machine.finish, k) - at(other, k);
    count += other.length;
  }
  return count === 0 ? 0 : sum / count / DAY;
}

function shareSooner(before: ChoiceOutcome, after: ChoiceOutcome): number {
  const machines = [...before.machines.values()];
  const futures = before.margin.length;
  let decided = 0;
  for (let k = 0; k < futures; k++)
    if (machines.some(({ jobId, finish }) => at(lookUp(after.machines, jobId).finish, k) <= at(finish, k) - DAY))
      decided += 1;
  return futures === 0 ? 0 : decided / futures;
}

type Listed = [LeverCode, ScarceThing, Change];

/** Only what the shop has of: who sprays nowhere is told nothing of a second spray area. */
function changesOf({ scoring, helperWeeks, heatedCelsius }: LeversQuestion): Listed[] {
  const { records } = scoring;
  const rack = records.places.find((place) => place.kind === 'cureRack')?.capacity ?? 1;
  const off = withDayOffLess(records);
  const unordered = records.tasks.flatMap((task) => task.awaited).filter((part) => !part.ordered);
  const paints = records.tasks.some((task) => task.needsPaintWeather && !task.finishedAt);
  const when = (holds: boolean, listed: () => Listed[]): Listed[] => (holds ? listed() : []);
  const has = (kind: PlaceKind): boolean => records.places.some((place) => place.kind === kind);
  const heated = { records: withHeatedRack(records, heatedCelsius), detail: String(heatedCelsius) };
  const late = {
    records: withPartsLater(records, ORDER_DELAY_DAYS),
    detail: String(unordered.length),
    isReverse: true,
  };
  return [
    ['hourMoreAWeek', 'hours', { records: withMinutesMoreAWeek(records, 60) }],
    ['helper', 'hours', { records: withHelper(records, helperWeeks), detail: String(helperWeeks) }],
    ...(off ? [['dayOffLess', 'hours', { records: off.records, detail: off.date }] as Listed] : []),
    ...when(has('bench'), () => [['anotherBench', 'bench', { records: withPlace(records, 'bench', 1) }]]),
    ...when(has('sprayArea'), () => [
      ['anotherSprayArea', 'sprayArea', { records: withPlace(records, 'sprayArea', 1) }],
    ]),
    ...when(has('cureRack'), () => [['secondRack', 'cureRack', { records: withPlace(records, 'cureRack', rack) }]]),
    ...when(paints, () => [
      ['heatedSprayArea', 'paintWeather', { records: withPaintEveryDay(records) }],
      ['heatedRack', 'paintWeather', heated],
    ]),
    ...when(unordered.length > 0, () => [['orderPartsToday', 'parts', late]]),
  ];
}

/** More of each than anybody needs. */
const relaxations = (records: PlanRecords): [ScarceThing, PlanRecords][] => [
  ['hours', withHelper(withHelper(withLongerDays(records, 120), 70), 70)],
  ['bench', withPlace(records, 'bench', PLENTY)],
  ['sprayArea', withPlace(records, 'sprayArea', PLENTY)],
  ['cureRack', withPlace(records, 'cureRack', PLENTY)],
  ['paintWeather', withPaintEveryDay(records)],
  ['parts', withAllParts(records)],
];

/** What is told of a choice: its machines, its jobs, the order of work, the money. Pure. */
import { at, lookUp, required } from '../../engine/look-up.js';
import { NEVER } from '../../engine/schedule/index.js';
import { type Difference, difference, mean, quantileOf } from '../../engine/selection/index.js';
import type { Treatment } from '../value/machine-value.js';
import { type Choice, type ChoiceOutcome, type Scorer, UNCHANGED } from '../value/scorer.js';
import { CASH_QUANTILE, type ChooseQuestion } from './choice-search.js';
import { minuteAt, shareOf } from './shares.js';

export interface ChoiceOption {
  choice: Choice;
  margin: number;
  /** Over buying nothing and changing nothing. */
  gain: Difference;
  probabilityWorse: number;
}

export interface MachineAnswer {
  jobId: string;
  isBought: boolean;
  /** What having it in the chosen set adds, or would add. */
  gain: Difference;
  expectedProceeds: number;
  expectedMargin: number;
  probabilityOfLoss: number;
  /** Minutes from today's midnight; null where not within the plan's reach. */
  startMinutes: number | null;
  p50Minutes: number | null;
  p80Minutes: number | null;
  probabilityReady: number | null;
}

export interface JobAnswer {
  jobId: string;
  treatment: Treatment;
  gain: Difference | null;
  p50Before: number | null;
  p50After: number | null;
  probabilityReadyBefore: number | null;
  probabilityReadyAfter: number | null;
}

export interface ChoiceFigures {
  machines: MachineAnswer[];
  jobs: JobAnswer[];
  /** Jobs and machines in the order their work begins. */
  orderOfWork: { jobId: string; startMinutes: number; p50Minutes: number | null }[];
  expectedMargin: number;
  probabilityOfLoss: number | null;
  cashNeeded: { likely: number; high: number };
  expectedReady: number | null;
  expectedReadyUnchanged: number | null;
}

export function answerOf(
  scorer: Scorer,
  { candidateIds, records, sizes }: ChooseQuestion,
  { choice }: ChoiceOption,
  outcomeOf: (choice: Choice) => ChoiceOutcome,
): ChoiceFigures {
  const outcome = outcomeOf(choice);
  const unchanged = outcomeOf(UNCHANGED);
  const deadline = scorer.deadline();
  const forSnow = new Set(records.jobs.filter((job) => job.forSnow).map((job) => job.id));
  const bought = new Set(choice.bought);
  const ready = (finish: Float64Array | undefined): number | null =>
    !deadline || !finish
      ? null
      : shareOf(finish, (minute, k) => minute < NEVER && minute <= at(deadline, sizes.race + k));
  const machines = candidateIds.map((jobId): MachineAnswer => {
    const isBought = bought.has(jobId);
    const other = {
      ...choice,
      bought: isBought ? choice.bought.filter((id) => id !== jobId) : [...choice.bought, jobId].sort(),
      sequence: typeof choice.sequence === 'string' || isBought ? choice.sequence : [...choice.sequence, jobId],
    };
    const without = outcomeOf(other);
    const own = lookUp((isBought ? outcome : without).machines, jobId);
    return {
      jobId,
      isBought,
      gain: isBought ? difference(outcome.margin, without.margin) : difference(without.margin, outcome.margin),
      expectedProceeds: mean(own.proceeds),
      expectedMargin: mean(own.margin),
      probabilityOfLoss: shareOf(own.cashMargin, (value) => value < 0),
      startMinutes: minuteAt(own.start, 0.5),
      p50Minutes: minuteAt(own.finish, 0.5),
      p80Minutes: minuteAt(own.finish, 0.8),
      probabilityReady: forSnow.has(jobId) ? ready(own.finish) : null,
    };
  });
  const { race, told } = sizes;
  const [finishBefore, finishAfter] = [UNCHANGED, choice].map((one) => scorer.finishes(one, race, race + told)) as [
    Map<string, Float64Array>,
    Map<string, Float64Array>,
  ];
  const jobs = scorer.openIds.map((jobId): JobAnswer => {
    const treatment = choice.treatments[jobId] ?? 'asPlanned';
    const before = finishBefore.get(jobId);
    const after = finishAfter.get(jobId);
    const isForSnow = forSnow.has(jobId);
    const { [jobId]: _, ...others } = choice.treatments;
    return {
      jobId,
      treatment,
      gain:
        treatment === 'asPlanned'
          ? null
          : difference(outcome.margin, outcomeOf({ ...choice, treatments: others }).margin),
      p50Before: before ? minuteAt(before, 0.5) : null,
      p50After: after ? minuteAt(after, 0.5) : null,
      probabilityReadyBefore: isForSnow ? ready(before) : null,
      probabilityReadyAfter: isForSnow ? ready(after) : null,
    };
  });
  const worked = new Set(scorer.groupsOf(choice).flat());
  const orderOfWork = [...outcome.machines.values()]
    .filter(
      ({ jobId, start }) =>
        worked.has(jobId) && minuteAt(start, 0.5) !== null && scorer.machine(jobId)?.isFinished === false,
    )
    .map(({ jobId, start, finish }) => ({
      jobId,
      startMinutes: required(minuteAt(start, 0.5), 'a start of what is worked on'),
      p50Minutes: minuteAt(finish, 0.5),
    }))
    .sort((a, b) => a.startMinutes - b.startMinutes || (a.p50Minutes ?? Infinity) - (b.p50Minutes ?? Infinity));
  const own = choice.bought.map((id) => lookUp(outcome.machines, id));
  const isSnowKnown = deadline !== null && forSnow.size > 0;
  return {
    machines,
    jobs,
    orderOfWork,
    expectedMargin: mean(outcome.margin),
    probabilityOfLoss:
      own.length === 0
        ? null
        : shareOf(outcome.margin, (_, s) => own.reduce((sum, one) => sum + at(one.cashMargin, s), 0) < 0),
    cashNeeded: { likely: quantileOf(outcome.cashNeeded, 0.5), high: quantileOf(outcome.cashNeeded, CASH_QUANTILE) },
    expectedReady: isSnowKnown ? mean(outcome.ready) : null,
    expectedReadyUnchanged: isSnowKnown ? mean(unchanged.ready) : null,
  };
}

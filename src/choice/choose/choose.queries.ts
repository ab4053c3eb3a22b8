/** Which of several machines seen for sale to buy, beside the open jobs. */
import { Decimal } from 'decimal.js';
import type { z } from 'zod';
import { lookUp } from '../../engine/look-up.js';
import { roundAmount } from '../../engine/money/index.js';
import { PLAN_SEED } from '../../plan/background/plan-store.js';
import { Invalid } from '../../platform/errors.js';
import { checkAmount } from '../../platform/money.js';
import { type OperationContext, priceReaders, query } from '../../platform/operation/operation.js';
import { workerTasks } from '../worker-tasks.js';
import { CHOICE_FUTURES } from './choice-search.js';
import { changeWords, choiceWords, machineReasons } from './choice-words.js';
import type { ChooseAnswer } from './choose.js';
import { ChoiceQuestion, PurchaseChoice } from './choose.shapes.js';
import { type ReadChoice, readChoice } from './read-choice.js';

type Asked = z.output<typeof ChoiceQuestion>;

/** Which to buy of those given. */
export async function purchaseChoice(context: OperationContext, asked: Asked) {
  const given = asked.candidates ?? [];
  if (given.length === 0) throw new Invalid([{ detail: 'name at least one machine', pointer: '/candidates' }]);
  const read = await readChoice(context, given, { hoursAWeek: asked.hoursAWeek ?? null });
  const { currency } = context.shop;
  const answer = await context.compute(
    workerTasks.choose,
    {
      ...read.scoring,
      floorSpace: read.floorSpace,
      limits: {
        maxCash: asked.maxCash ? checkAmount(asked.maxCash, currency, '/maxCash').toNumber() : null,
        maxMachines: asked.maxMachines ?? null,
        maxFloorSpace: asked.freeFloorSquareMetres ?? null,
      },
      changesJobs: asked.changesJobs ?? true,
      sizes: CHOICE_FUTURES,
    },
    context.signal,
  );
  return told(context, read, answer);
}

function told(context: OperationContext, read: ReadChoice, answer: ChooseAnswer) {
  const { currency } = context.shop;
  const money = (value: number): Decimal => roundAmount(new Decimal(value), currency);
  const day = (minutes: number | null): string | null => (minutes === null ? null : read.local.dayOf(minutes));
  const titleOf = (jobId: string): string => lookUp(read.titles, jobId);
  const gainOf = (gain: { mean: number; standardError: number }) => ({
    gain: money(gain.mean),
    gainStandardError: money(gain.standardError),
  });
  const machines = answer.machines.map(({ jobId, isBought, gain, ...one }, index) => {
    const candidate = lookUp(read.candidates, jobId);
    // At the price at which it adds nothing any more; what the bid allows stands beside it.
    const breakEven = candidate.price + gain.mean / (1 + candidate.feesPercent / 100);
    const payUpTo = Math.max(0, Math.min(breakEven, candidate.highestBid));
    return {
      position: index + 1,
      title: titleOf(jobId),
      kind: candidate.kind,
      buy: isBought,
      price: money(candidate.price),
      payUpTo: money(payUpTo),
      ...gainOf(gain),
      expectedProceeds: money(one.expectedProceeds),
      expectedMargin: money(one.expectedMargin),
      probabilityOfLoss: one.probabilityOfLoss,
      startDate: day(one.startMinutes),
      p50Date: day(one.p50Minutes),
      p80Date: day(one.p80Minutes),
      probabilityReady: one.probabilityReady,
      reasons: machineReasons({ isBought, gain, candidate, breakEven, currency, answer: one }),
    };
  });
  const changes = (choice: ChooseAnswer['choice']): string[] => changeWords(choice, read);
  return {
    answer: choiceWords(answer, read, currency),
    machines,
    jobs: answer.jobs
      .map(({ jobId, treatment, gain, p50Before, p50After, ...rest }) => ({
        jobId,
        ...lookUp(read.jobs, jobId),
        treatment,
        gain: gain && money(gain.mean),
        gainStandardError: gain && money(gain.standardError),
        p50Before: day(p50Before),
        p50After: day(p50After),
        ...rest,
      }))
      .sort(
        (a, b) =>
          Number(b.treatment !== 'asPlanned') - Number(a.treatment !== 'asPlanned') || a.jobNumber - b.jobNumber,
      ),
    orderOfWork: answer.orderOfWork.map(({ jobId, startMinutes, p50Minutes }) => ({
      jobId: read.candidates.has(jobId) ? null : jobId,
      title: titleOf(jobId),
      startDate: read.local.dayOf(startMinutes),
      p50Date: day(p50Minutes),
    })),
    expectedMargin: money(answer.expectedMargin),
    ...gainOf(answer.best.gain),
    probabilityOfLoss: answer.probabilityOfLoss,
    probabilityWorse: answer.best.probabilityWorse,
    cashNeeded: money(answer.cashNeeded.likely),
    cashNeededHigh: money(answer.cashNeeded.high),
    expectedReady: answer.expectedReady,
    expectedReadyUnchanged: answer.expectedReadyUnchanged,
    options: answer.options.map(({ choice, margin, gain, probabilityWorse }) => ({
      buys: choice.bought.map(titleOf),
      changes: changes(choice),
      expectedMargin: money(margin),
      ...gainOf(gain),
      probabilityWorse,
    })),
    setsScored: answer.setsScored,
    setsRuledOut: answer.setsRuledOut,
    exhaustive: answer.exhaustive,
    futures: answer.futures,
    seed: PLAN_SEED,
    reasons: [
      `${answer.setsScored} sets were scored and ${answer.setsRuledOut} ruled out by their bounds`,
      `the figures are from ${answer.futures} futures that the search had not seen, the same for every choice`,
      'a gain is over buying nothing and changing nothing; its standard error is that of the simulation alone',
      ...read.reasons,
    ],
  };
}

export const chooseQueries = [
  query({
    name: 'purchaseChoice',
    slow: true,
    summary: 'Which of several machines seen for sale to buy, up to what price, and what to do with the open jobs',
    roles: priceReaders,
    rest: { method: 'POST', path: '/purchase-choice', status: 200 },
    input: ChoiceQuestion,
    output: PurchaseChoice,
    run: (context, input) => purchaseChoice(context, input),
  }),
];

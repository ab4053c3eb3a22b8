/** What is scarce in the shop, and what a change would be worth. */
import { Decimal } from 'decimal.js';
import { roundAmount } from '../../engine/money/index.js';
import { PLAN_SEED } from '../../plan/background/plan-store.js';
import { type OperationContext, priceReaders, query } from '../../platform/operation/operation.js';
import { readChoice } from '../choose/read-choice.js';
import { workerTasks } from '../worker-tasks.js';
import { changeAnswer, changeCautions, changeReasons, changeWords } from './change-words.js';
import { ChangesQuestion, PlanChanges } from './changes.shapes.js';

const SIZES = { first: 24, told: 300 };
const HELPER_WEEKS = 4;
const HEATED_CELSIUS = 20;
/** A gain is told when it stands out of chance by so many standard errors. */
const CLEAR = 2;

export async function planChanges(
  context: OperationContext,
  asked: { helperWeeks?: number | null | undefined; heatedCelsius?: number | null | undefined },
) {
  const read = await readChoice(context, [], { hoursAWeek: null });
  const { currency } = context.shop;
  const answer = await context.compute(
    workerTasks.levers,
    {
      scoring: read.scoring,
      bought: [],
      helperWeeks: asked.helperWeeks ?? HELPER_WEEKS,
      heatedCelsius: asked.heatedCelsius ?? HEATED_CELSIUS,
      ...SIZES,
    },
    context.signal,
  );
  const money = (value: number): Decimal => roundAmount(new Decimal(value), currency);
  const isClear = ({ mean, standardError }: { mean: number; standardError: number }): boolean =>
    mean > 0 && mean > CLEAR * standardError;
  const rounded = ({ mean, standardError }: { mean: number; standardError: number }) => ({
    mean: money(mean).toNumber(),
    standardError: money(standardError).toNumber(),
  });
  const told = answer.levers
    // As it will be told: what is clear before it is rounded may not be so after.
    .filter(({ gain, readyGain }) => isClear(rounded(gain)) || isClear(readyGain))
    .sort((a, b) => b.gain.mean - a.gain.mean);
  return {
    answer: changeAnswer(told, answer, currency),
    changes: told.map((lever) => ({
      code: lever.code,
      resource: lever.thing,
      change: changeWords(lever),
      gain: money(lever.gain.mean),
      gainStandardError: money(lever.gain.standardError),
      // What stands within its error is not said.
      readyGain: isClear(lever.readyGain) ? lever.readyGain.mean : 0,
      readyGainStandardError: lever.readyGain.standardError,
      daysSooner: lever.daysSooner,
      cautions: changeCautions(lever.code),
      reasons: changeReasons(lever, currency),
    })),
    withoutClearGain: answer.levers.filter((one) => !told.includes(one)).map(changeWords),
    scarcity: answer.scarcity
      .map(({ thing, decidedShare, worth }) => ({
        resource: thing,
        decidedShare,
        worth: money(isClear(worth) ? worth.mean : 0),
        worthStandardError: money(worth.standardError),
      }))
      .sort((a, b) => b.decidedShare - a.decidedShare),
    expectedMargin: money(answer.margin),
    expectedReady: read.scoring.records.season ? answer.expectedReady : null,
    futures: SIZES.told,
    seed: PLAN_SEED,
    reasons: [
      `each change was played through in ${SIZES.told} futures beside the shop as it is, with the same luck`,
      'a gain is in margin over the open jobs, before what the change itself costs; nothing is said of a gain within two standard errors',
      'more of something can be left unused, so no change is told as a loss',
      ...read.reasons,
    ],
  };
}

export const changesQueries = [
  query({
    name: 'planChanges',
    slow: true,
    summary: 'What is scarce in the shop, what it is worth in money, and what a change would bring',
    roles: priceReaders,
    rest: { method: 'GET', path: '/plan-changes' },
    input: ChangesQuestion,
    output: PlanChanges,
    run: (context, input) => planChanges(context, input),
  }),
];
